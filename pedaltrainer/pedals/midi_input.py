"""One MIDI input, kept alive: edges go to a callback, comings and goings to another.

RtMidi neither reports that a device is pulled out nor reconnects when it is
back. So one watcher thread with one long-lived client looks at the list of
ports; a port is known by its name without the system's numbering.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from types import TracebackType
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.backend import (
    BackendChoice,
    Port,
    Ports,
    choose_backend,
    is_selectable,
    open_ports,
    plain_name,
)
from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.messages import SwitchState

POLL_S = 0.25
"""Well below the time a hand needs to push a plug back in: a replug inside one poll is not seen."""


class InputChange(StrEnum):
    FOUND = "found"
    LOST = "lost"
    BACK = "back"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class InputStatus:
    """The input came or went at t_s; words say so in one sentence for the stage.

    device is the name that its edges carry, empty when there is no input.
    """

    t_s: float
    change: InputChange
    device: str
    words: str


_WORDS = {
    InputChange.FOUND: "Listening to {}.",
    InputChange.LOST: "{} has gone; plug it back in, the keys work meanwhile.",
    InputChange.BACK: "{} is back.",
}


def list_inputs(choice: BackendChoice | None = None) -> list[str]:
    """The names of the MIDI inputs connected now, in the system's order; empty without MIDI."""
    choice = choice or choose_backend()
    if choice.module is None:
        return []
    try:
        ports = open_ports(choice)
        try:
            return ports.names()
        finally:
            ports.close()
    except (OSError, RuntimeError):
        return []


class MidiInput:
    """Listens from construction to `close`; also a context manager.

    on_edge is called from the MIDI library's thread, on_status from the
    constructor's thread first and from the watcher's later; both must be
    quick and may not call back into this object.

    wanted: part of an input's name, case ignored; None takes the first input
    that is not a loop port, now or as soon as one is plugged in.
    Raises InputError when wanted fits no input.
    """

    def __init__(
        self,
        on_edge: Callable[[SwitchEdge], None],
        on_status: Callable[[InputStatus], None],
        wanted: str | None = None,
        *,
        poll_s: float = POLL_S,
    ) -> None:
        self._on_edge = on_edge
        self._on_status = on_status
        self._wanted = wanted
        self._poll_s = poll_s
        self._ports: Ports | None = None
        self._port: Port | None = None
        self._port_name = ""
        self._device = ""
        self._closing = threading.Event()
        self._watcher: threading.Thread | None = None
        self.backend = choose_backend()
        self._start()

    @property
    def device(self) -> str | None:
        """The name of the input being listened to, None while there is none."""
        return self._device if self._port is not None else None

    def close(self) -> None:
        """Stop listening. No callback comes after this returns. Safe to call twice."""
        self._closing.set()
        if self._watcher is not None:
            self._watcher.join()
            self._watcher = None
        self._close_port()
        if self._ports is not None:
            self._ports.close()
            self._ports = None

    def __enter__(self) -> MidiInput:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _start(self) -> None:
        try:
            self._ports = open_ports(self.backend)
            names = self._ports.names()
        except (OSError, RuntimeError) as error:
            reason = (
                self.backend.reason if self.backend.module is None else f"There is no MIDI here ({error})."
            )
            if self._wanted is not None:
                raise InputError(f'No MIDI input "{self._wanted}": {reason}') from None
            self._report(InputChange.NONE, reason)
            return
        try:
            self._take_first(names)
        except InputError:
            self.close()
            raise
        self._watcher = threading.Thread(target=self._watch, name="midi watcher", daemon=True)
        self._watcher.start()

    def _take_first(self, names: list[str]) -> None:
        name = self._choose(names)
        if name is None and self._wanted is not None:
            there = ", ".join(f'"{name}"' for name in names)
            mend = f"there are {there}" if there else "no MIDI input is connected"
            raise InputError(f'No MIDI input has "{self._wanted}" in its name: {mend}.')
        if name is not None:
            self._open(name, InputChange.FOUND)
        if self._port is None:
            self._report(InputChange.NONE, "No pedal is connected; it is taken as soon as it is plugged in.")

    def _choose(self, names: list[str]) -> str | None:
        """Which of these inputs to listen to: the one lost, the one wanted, or the first."""
        assert self._ports is not None
        if self._device:
            same = [name for name in names if plain_name(name, self._ports.api) == self._device]
            return self._port_name if self._port_name in same else next(iter(same), None)
        if self._wanted is not None:
            return next((name for name in names if self._wanted.lower() in name.lower()), None)
        return next(filter(is_selectable, names), None)

    def _watch(self) -> None:
        assert self._ports is not None
        while not self._closing.wait(self._poll_s):
            try:
                names = self._ports.names()
            except (OSError, RuntimeError):
                names = []
            if self._port is not None and self._port_name not in names:
                self._close_port()
                self._report(InputChange.LOST)
            if self._port is None and (name := self._choose(names)) is not None:
                self._open(name, InputChange.BACK if self._device else InputChange.FOUND)

    def _open(self, name: str, change: InputChange) -> None:
        assert self._ports is not None
        device = plain_name(name, self._ports.api)
        try:
            self._port = self._ports.open(name, self._listener(device))
        except (OSError, RuntimeError):
            # Listed but not yet (or no longer) there, or held by another program: the watcher tries again.
            return
        self._port_name, self._device = name, device
        self._report(change)

    def _listener(self, device: str) -> Callable[[Any], None]:
        """A callback for one opening of the port: each starts with every switch up."""
        state = SwitchState()
        on_edge = self._on_edge

        def hear(message: Any) -> None:
            t_s = time.perf_counter()
            nonlocal state
            state, edges = state.step(message, t_s, device)
            for edge in edges:
                on_edge(edge)

        return hear

    def _close_port(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            port.close()

    def _report(self, change: InputChange, words: str = "") -> None:
        device = "" if change is InputChange.NONE else self._device
        words = words or _WORDS[change].format(device)
        self._on_status(InputStatus(time.perf_counter(), change, device, words))
