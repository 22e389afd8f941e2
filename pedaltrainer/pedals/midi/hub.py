"""All MIDI inputs at once, each kept alive: edges go to one callback, comings and goings to another.

RtMidi neither reports that a device is pulled out nor reconnects when it is
back. So one watcher thread with one long-lived client looks at the list of
ports; a port is known by its name without the system's numbering (see
`roster` for two that are alike).
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.bindings import BoundEdge, default_bindings
from pedaltrainer.pedals.contacts import RuleOf
from pedaltrainer.pedals.events import InputChange, InputStatus
from pedaltrainer.pedals.midi import backend
from pedaltrainer.pedals.midi.backend import choose_backend, open_ports
from pedaltrainer.pedals.midi.guitar_port import GuitarPort
from pedaltrainer.pedals.midi.input import WORDS, Listener, OnRaw, OnSlide, moving_statuses, status
from pedaltrainer.pedals.midi.ports import Output, Port, Ports, Statuses, is_selectable, plain_name
from pedaltrainer.pedals.midi.roster import Place, Roster

POLL_S = 0.1
"""Well below the time a hand needs to push a plug back in: a replug inside one poll is not seen."""
TRY_AGAIN_S = 0.5
"""How often a port that would not open, or a MIDI system that is gone, is tried again."""
UNTAUGHT_RULES = default_bindings()
BLIND = " Plug in others before you start: from now on they are not seen."
"""Said where the MIDI library cannot look for devices while it listens to one."""


class InputHub:
    """Listens from construction to `close`; also a context manager.

    on_edge and on_raw are called from threads of the MIDI library, on_status
    from the constructor's thread first and from the watcher's later; all must
    be quick and may not call back into this object.

    on_raw gets every message of every device, clock and active sensing
    included; without it, what cannot move a switch costs next to nothing.
    wanted: part of an input's name, case ignored: that one alone is listened
    to. None takes every input that is not a loop port, now or as soon as it
    is plugged in.
    rule_of: asked with every message for the rule of its switch, from the library's threads.
    on_slide: called from there too, for pedals and knobs that scroll.
    guitar: the input that is no pedal, since the ear hears its notes.
    Raises InputError when wanted fits no input.
    """

    def __init__(
        self,
        on_edge: Callable[[BoundEdge], None],
        on_status: Callable[[InputStatus], None],
        on_raw: OnRaw | None = None,
        wanted: str | None = None,
        *,
        rule_of: RuleOf = UNTAUGHT_RULES.find,
        on_slide: OnSlide | None = None,
        guitar: GuitarPort | None = None,
        poll_s: float = POLL_S,
    ) -> None:
        self._on_edge, self._on_status, self._on_raw = on_edge, on_status, on_raw
        self._rule_of, self._on_slide = rule_of, on_slide
        self._wanted = wanted
        self._guitar = self._guitar_wanted = guitar
        self._only: str | None = None
        self._poll_s = poll_s
        self._ports: Ports | None = None
        self._roster = Roster()
        self._live: dict[str, tuple[Port, Listener]] = {}
        self._seen: set[str] = set()
        self._not_before_s: dict[str, float] = {}
        self._closing = threading.Event()
        self._watcher: threading.Thread | None = None
        self.backend = choose_backend()
        self._start()

    @property
    def devices(self) -> tuple[str, ...]:
        """The names of the inputs being listened to, in the order in which they came."""
        return tuple(self._live)

    @property
    def inputs(self) -> tuple[str, ...]:
        """The names of all inputs that are connected, listened to or not."""
        return tuple(
            place.device for place in self._roster.places if place.here and is_selectable(place.plain)
        )

    def give_up(self, guitar: GuitarPort | None) -> None:
        """From the watcher's next look on this input is no pedal, and the one before it is one again."""
        self._guitar_wanted = guitar

    def watch(self, on_raw: OnRaw | None) -> None:
        """From now on, hand every message to on_raw as well; None to stop. No port is closed for it."""
        self._on_raw = on_raw
        for port, listener in tuple(self._live.values()):
            self._tune(port, listener)

    def open_output(self, device: str) -> Output:
        """The MIDI output of a device by its name here, for its lights; OSError when it has none.

        Close it before this hub. For the second of two alike devices it is
        the first one's: their outputs cannot be paired with their inputs.
        """
        ports = self._ports
        place = next((place for place in self._roster.places if place.device == device), None)
        if ports is None or place is None:
            raise OSError(f'"{device}" is not connected')
        return ports.open_output(place.plain)

    def close(self) -> None:
        """Stop listening. No callback comes after this returns. Safe to call twice."""
        self._closing.set()
        if self._watcher is not None:
            self._watcher.join()
            self._watcher = None
        self._close_all()

    def __enter__(self) -> InputHub:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- opening --------------------------------------------------------------

    def _start(self) -> None:
        trouble = self._open_system()
        if trouble is not None:
            if self._wanted is not None:
                raise InputError(f'No MIDI input "{self._wanted}": {trouble}')
            self._on_status(status(InputChange.NONE, words=trouble))
        elif not self._live:
            self._on_status(status(InputChange.NONE))
        self._watcher = threading.Thread(target=self._watch, name="midi watcher", daemon=True)
        self._watcher.start()

    def _open_system(self) -> str | None:
        """Open the MIDI system and take what there is; a sentence when there is none."""
        try:
            self._ports = open_ports(self.backend)
            names = self._ports.names()
        except (OSError, RuntimeError) as error:
            self._close_all()
            return self.backend.reason if self.backend.module is None else f"There is no MIDI here ({error})."
        try:
            self._look(names)
        except InputError:
            self.close()
            raise
        return None

    # --- the watcher's thread ---------------------------------------------------

    def _watch(self) -> None:
        tried_s = time.perf_counter()
        while not self._closing.wait(self._poll_s):
            if self._ports is not None:
                try:
                    names = self._ports.names()
                except (OSError, RuntimeError):
                    self._lose_all()
                else:
                    self._look(names)
            elif time.perf_counter() - tried_s >= TRY_AGAIN_S:
                tried_s = time.perf_counter()
                self._try_again()

    def _try_again(self) -> None:
        if self.backend.module is None:
            # The first MIDI device plugged into a Linux computer may bring the sequencer with it.
            if not backend.ALSA_SEQUENCER.exists():
                return
            self.backend = choose_backend()
        if self.backend.module is not None:
            self._open_system()

    def _look(self, names: list[str]) -> None:
        assert self._ports is not None
        api = self._ports.api
        self._roster, gone, _ = self._roster.step((name, plain_name(name, api)) for name in names)
        if self._wanted is not None and self._only is None:
            self._only = self._choose(self._wanted, names)
        for place in gone:
            self._lose(place.device)
        self._look_for_the_guitar(self._ports)
        for place in self._roster.places:
            if place.here and place.device not in self._live and self._is_ours(place):
                self._take(place)

    def _look_for_the_guitar(self, ports: Ports) -> None:
        if self._guitar is not self._guitar_wanted:
            if self._guitar is not None:
                self._guitar.close()
            self._guitar = self._guitar_wanted
        place = None if self._guitar is None else self._guitar.find(self._roster.places, self._only)
        if self._guitar is None or place is None:
            return
        self._lose(place.device, InputChange.TO_THE_EAR)
        self._guitar.open(ports, place)

    def _choose(self, wanted: str, names: list[str]) -> str:
        name = next((name for name in names if wanted.lower() in name.lower()), None)
        if name is None:
            there = ", ".join(f'"{name}"' for name in names)
            mend = f"there are {there}" if there else "no MIDI input is connected"
            raise InputError(f'No MIDI input has "{wanted}" in its name: {mend}.')
        return next(place.device for place in self._roster.places if place.port == name)

    def _tune(self, port: Port, listener: Listener) -> None:
        listener.on_raw = self._on_raw
        port.want(self._statuses())

    def _statuses(self) -> Statuses:
        return None if self._on_raw is not None else moving_statuses()

    def _is_ours(self, place: Place) -> bool:
        if self._guitar is not None and place.device == self._guitar.device:
            return False
        return is_selectable(place.plain) if self._wanted is None else place.device == self._only

    def _take(self, place: Place) -> None:
        assert self._ports is not None
        if time.perf_counter() < self._not_before_s.get(place.device, 0.0):
            return
        listener = Listener(place.device, self._rule_of, self._on_edge, self._on_raw, self._on_slide)
        try:
            port = self._ports.open(place.port, listener, self._statuses())
        except (OSError, RuntimeError):
            # Listed but not yet (or no longer) there, or held by another program.
            self._not_before_s[place.device] = time.perf_counter() + TRY_AGAIN_S
            return
        self._not_before_s.pop(place.device, None)
        self._live = {**self._live, place.device: (port, listener)}
        # Once more: `watch` may have been called while the port was being opened.
        self._tune(port, listener)
        change = InputChange.BACK if place.device in self._seen else InputChange.FOUND
        self._seen.add(place.device)
        words = WORDS[change].format(place.device)
        self._on_status(status(change, place.device, words if self._ports.sees_changes else words + BLIND))

    def _lose(self, device: str, change: InputChange = InputChange.LOST) -> None:
        live = self._live.get(device)
        self._not_before_s.pop(device, None)
        if self._guitar is not None:
            self._guitar.lose(device)
        if live is not None:
            self._live = {name: other for name, other in self._live.items() if name != device}
            live[0].close()
            self._on_status(status(change, device))

    def _lose_all(self) -> None:
        """The MIDI system itself has gone, and every port with it."""
        for device in self.devices:
            self._lose(device)
        self._roster = self._roster.emptied()
        self._close_all()

    def _close_all(self) -> None:
        for port, _ in self._live.values():
            port.close()
        self._live = {}
        if self._guitar is not None:
            self._guitar.close()
        if self._ports is not None:
            with contextlib.suppress(OSError, RuntimeError):
                self._ports.close()
            self._ports = None
