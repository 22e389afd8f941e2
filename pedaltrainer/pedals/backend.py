"""Which MIDI library is used, and its ports behind one small interface.

MIDO_BACKEND in the environment wins. Otherwise python-rtmidi, on the first
system it can open (ALSA before JACK on Linux); where it is missing, PortMidi
in pygame's wheel, through mido's own backend for it; else none, with a reason.

RtMidi delivers by callback. PortMidi must be asked, so a thread asks it every
millisecond; and it reads the list of devices only when it starts, so it is
started afresh while no port is open. While one is open it cannot see that
another was plugged in, nor that its own was pulled out.
"""

from __future__ import annotations

import os
import re
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import mido
from mido.backends.backend import Backend

from pedaltrainer.quiet import quiet_stderr

RTMIDI, PORTMIDI = "mido.backends.rtmidi", "mido.backends.pygame"
CLIENT_NAME = "pedaltrainer"
ASK_S = 0.001
ALSA_SEQUENCER = Path("/dev/snd/seq")

OnMessage = Callable[[Any], None]

_NUMBERING = {
    "LINUX_ALSA": re.compile(r" \d+:\d+$"),
    "UNIX_JACK": re.compile(r"-\d\d(?=:)|(?<=\S) \[\d+\]"),
    "WINDOWS_MM": re.compile(r" \d+$"),
}
"""What each system puts into a port's name that changes when it is plugged in again."""


@dataclass(frozen=True, slots=True)
class BackendChoice:
    """module is mido's name for the backend, None when there is none; api is RtMidi's system.

    reason is one sentence: why there is none, or what was chosen.
    """

    module: str | None
    api: str | None
    reason: str


class Port(Protocol):
    def close(self) -> None: ...


class Ports(Protocol):
    """The MIDI inputs of this computer. Every method may raise OSError or RuntimeError."""

    api: str | None

    def names(self) -> list[str]:
        """Inputs there are now, in the system's order and words."""

    def open(self, name: str, on_message: OnMessage) -> Port:
        """Open one; on_message is called with mido messages from a thread of the library."""

    def close(self) -> None: ...


def plain_name(name: str, api: str | None) -> str:
    """A port's name without the system's numbering, so that it is the same after a replug."""
    pattern = _NUMBERING.get(api or "")
    return pattern.sub("", name) if pattern else name


def is_selectable(name: str) -> bool:
    """Whether a port may be taken without being asked for by name.

    "Midi Through" is the ALSA kernel's loop port: it is on every Linux
    computer and no foot is ever on it. Our own ports are none either.
    """
    return not name.lower().startswith(("midi through", f"{CLIENT_NAME}:", f"{CLIENT_NAME} "))


def choose_backend() -> BackendChoice:
    """Find a MIDI library that works here. Never raises and prints nothing."""
    wished = os.environ.get("MIDO_BACKEND")
    reasons = []
    for module, api in [_parsed(wished)] if wished else _candidates():
        where = module.rpartition(".")[2] + (f" on {api}" if api else "")
        try:
            open_ports(BackendChoice(module, api, "")).close()
        except (ImportError, AttributeError, ValueError, OSError, RuntimeError) as error:
            reasons.append(f"{where}: {str(error).rstrip('.?')}")
        else:
            chosen = " (set by MIDO_BACKEND)" if wished else ""
            return BackendChoice(module, api, f"MIDI through {where}{chosen}.")
    return BackendChoice(None, None, f"There is no MIDI here ({'; '.join(reasons)}).")


def _parsed(wished: str) -> tuple[str, str | None]:
    """mido's own notation: the module, and after a slash the system."""
    module, _, api = wished.partition("/")
    return module, api or None


def _candidates() -> list[tuple[str, str | None]]:
    return [*((RTMIDI, api) for api in _rtmidi_systems()), (PORTMIDI, None)]


def open_ports(choice: BackendChoice) -> Ports:
    """The chosen backend's ports. Raises ImportError, ValueError, OSError or RuntimeError."""
    if choice.module is None:
        raise OSError(choice.reason)
    if choice.module == RTMIDI:
        return _RtMidiPorts(choice.api)
    return _AskedPorts(choice.module, choice.api)


def _rtmidi_systems() -> list[str | None]:
    """The systems python-rtmidi was built for, best first; [None] when it is not installed."""
    try:
        import rtmidi
    except ImportError:
        return [None]
    names = _rtmidi_system_names()
    compiled = [names[number] for number in rtmidi.get_compiled_api()]
    return [name for name in compiled if name != "RTMIDI_DUMMY"]


def _rtmidi_system_names() -> dict[int, str]:
    import rtmidi

    return {
        value: name.removeprefix("API_") for name, value in vars(rtmidi).items() if name.startswith("API_")
    }


class _RtMidiPorts:
    """One long-lived client lists the ports; each open port is a client of its own."""

    def __init__(self, api: str | None) -> None:
        import rtmidi

        number = getattr(rtmidi, f"API_{api}") if api else rtmidi.API_UNSPECIFIED
        with quiet_stderr():
            self._lister = rtmidi.MidiIn(number, name=CLIENT_NAME)
        system = self._lister.get_current_api()
        self.api = next(
            name[4:] for name, value in vars(rtmidi).items() if name[:4] == "API_" and value == system
        )
        self._backend = Backend(RTMIDI, api=self.api, use_environ=False)

    def names(self) -> list[str]:
        return list(self._lister.get_ports())

    def open(self, name: str, on_message: OnMessage) -> Port:
        with quiet_stderr():
            port: Port = self._backend.open_input(name, callback=on_message)
        return port

    def close(self) -> None:
        self._lister.delete()


class _AskedPorts:
    """A backend without callbacks: one thread per open port asks it."""

    def __init__(self, module: str, api: str | None) -> None:
        self.api = api
        self._restarts = module == PORTMIDI
        self._lock = threading.Lock()
        self._open: list[_AskedPort] = []
        self._backend = Backend(module, api=api, use_environ=False)
        if self._restarts:
            os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
            if sys.platform == "linux" and not ALSA_SEQUENCER.exists():
                # PortMidi would start all the same, and never see a device.
                raise OSError("the ALSA sequencer is missing (kernel module snd-seq)")
        with quiet_stderr():
            self._backend.load()
            self._backend.get_input_names()

    def names(self) -> list[str]:
        with self._lock, quiet_stderr():
            self._open = [port for port in self._open if not port.closed]
            if self._restarts and not self._open:
                import pygame.midi

                pygame.midi.quit()
            return list(self._backend.get_input_names())

    def open(self, name: str, on_message: OnMessage) -> Port:
        with self._lock, quiet_stderr():
            port = _AskedPort(self._backend.open_input(name), on_message)
            self._open.append(port)
            return port

    def close(self) -> None:
        for port in self._open:
            port.close()


class _AskedPort:
    def __init__(self, port: mido.ports.BaseInput, on_message: OnMessage) -> None:
        self._port = port
        self._on_message = on_message
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._ask, name="midi reader", daemon=True)
        self._thread.start()

    @property
    def closed(self) -> bool:
        return self._stop.is_set()

    def close(self) -> None:
        if self._stop.is_set():
            return
        self._stop.set()
        self._thread.join()
        self._port.close()

    def _ask(self) -> None:
        while not self._stop.wait(ASK_S):
            for message in self._port.iter_pending():
                self._on_message(message)
