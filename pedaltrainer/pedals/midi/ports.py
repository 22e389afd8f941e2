"""What a MIDI library must offer, and the names it gives its ports."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any, Protocol

CLIENT_NAME = "pedaltrainer"

OnMessage = Callable[[Any, float], None]
"""Called with a mido message and the time.perf_counter() at which it arrived."""
Statuses = frozenset[int] | None
"""Status bytes (channel messages: without their channel) that are wanted; None for every one."""

_NUMBERING = {
    "LINUX_ALSA": re.compile(r" \d+:\d+$"),
    "UNIX_JACK": re.compile(r"-\d\d(?=:)|(?<=\S) \[\d+\]"),
    "WINDOWS_MM": re.compile(r" \d+$"),
}
"""What each system puts into a port's name that changes when it is plugged in again."""


class Port(Protocol):
    """An open input."""

    def want(self, statuses: Statuses) -> None:
        """Hand over these messages from now on; may be called while messages come."""

    def close(self) -> None: ...


class Output(Protocol):
    def send(self, message: Any) -> None: ...
    def send_bytes(self, data: bytes) -> None:
        """The bytes of one message."""

    def close(self) -> None: ...


class Ports(Protocol):
    """The MIDI ports of this computer. Every method may raise OSError or RuntimeError."""

    api: str | None
    sees_changes: bool
    """Whether `names` tells the truth while a port is open."""

    def names(self) -> list[str]:
        """Inputs there are now, in the system's order and words."""

    def open(self, name: str, on_message: OnMessage, statuses: Statuses = None) -> Port:
        """Open one; on_message is called from a thread of the library."""

    def open_output(self, device: str) -> Output:
        """Open the output of the device whose input has this plain name; OSError when it has none."""

    def output_names(self) -> list[str]:
        """Outputs there are now, whether they are inputs too or not."""

    def open_output_named(self, name: str | None) -> Output:
        """Open an output by its own name; None for a virtual one. OSError when that cannot be."""

    def close(self) -> None: ...


def plain_name(name: str, api: str | None) -> str:
    """A port's name without the system's numbering, so that it is the same after a replug."""
    pattern = _NUMBERING.get(api or "")
    return pattern.sub("", name) if pattern else name


def output_of(device: str, outputs: Sequence[str], api: str | None) -> str | None:
    """The output that belongs to the input with this plain name, None when there is none.

    Most systems give both ends the same name. Where an end says which one it
    is ("capture" and "playback", "out" and "in"), those words are left out.
    """
    plain = {name: plain_name(name, api) for name in outputs}
    for alike in (str, _without_direction):
        for name in outputs:
            if alike(plain[name]) == alike(device):
                return name
    return None


def _without_direction(name: str) -> str:
    return re.sub(
        r"\b(capture|playback|midi out|midi in|out|in)\b|[^\w]+", " ", name.lower().replace("_", " ")
    )


def is_selectable(name: str) -> bool:
    """Whether a port may be taken without being asked for by name.

    "Midi Through" is the ALSA kernel's loop port: it is on every Linux
    computer and no foot is ever on it. Our own ports are none either.
    """
    return not name.lower().startswith(("midi through", f"{CLIENT_NAME}:", f"{CLIENT_NAME} "))
