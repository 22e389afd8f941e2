"""Everything a foot can press, live at once: MIDI inputs, keys, game controllers; and what lights up.

The pedal room's devices behind one door. Window events are given from the
thread that reads them, everything else from the decider's; what was pressed
goes into one queue.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pygame

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.bindings import KEYBOARD, Bindings, default_bindings
from pedaltrainer.pedals.events import InputStatus, SwitchEdge
from pedaltrainer.pedals.game_controllers import GameControllers
from pedaltrainer.pedals.keys import KeysHeld
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.lights import Lights, Moment
from pedaltrainer.pedals.midi.messages import EdgeState, Observation, SwitchState, observe, observe_edge
from pedaltrainer.pedals.taught import lesson
from pedaltrainer.pedals.taught.files import load_bindings, load_lights, save_binding
from pedaltrainer.pedals.taught.lesson import TeachState

Put = Callable[[SwitchEdge | InputStatus | Observation], None]

LEAVES_TEACHING = frozenset({"key escape", "key q"})
"""The keys that end a lesson; every other one can be taught."""
SHOWN_FOR_S = 4.0
"""How long the lesson's last page stays."""


@dataclass(slots=True)
class Pedalboard:
    """Open from `open` to `close`. data_folder holds the player's bindings, configs_folder the presets."""

    put: Put
    data_folder: Path
    configs_folder: Path
    wanted: str | None = None
    lesson: TeachState | None = None
    _hub: InputHub | None = None
    _lights: Lights | None = None
    _controllers: GameControllers | None = None
    _keys: KeysHeld = field(default_factory=KeysHeld)
    _edges: EdgeState = field(default_factory=EdgeState)
    _bindings: Bindings = field(default_factory=default_bindings)
    _lesson_done_s: float | None = None

    def open(self) -> None:
        """Listen to everything. Raises InputError for an input that is not there or a binding file amiss.

        Call from the main thread, after the window was opened.
        """
        self._lights = Lights(load_lights(self.data_folder), self._open_output)
        self._use(load_bindings(self.data_folder, self.configs_folder))
        self._hub = InputHub(
            self.put,
            self.put,
            self._look if self.lesson is not None else None,
            self.wanted,
            switches=lambda device: SwitchState(self._bindings),
        )
        self._controllers = GameControllers()

    def close(self) -> None:
        """Put the lights out and let go of every device."""
        if self._lights is not None:
            self._lights.close()
        if self._hub is not None:
            self._hub.close()
        if self._controllers is not None:
            self._controllers.close()

    def window_event(self, event: pygame.event.Event, t_s: float) -> None:
        """Take a pygame event read at t_s: keys and game controllers."""
        self._keys, edges = self._keys.step(event, t_s)
        for edge in edges:
            self._put_edge(edge)
        for happening in self._controllers.step(event, t_s) if self._controllers is not None else ():
            if isinstance(happening, SwitchEdge):
                self._put_edge(happening)
            else:
                self.put(happening)

    def input_changed(self, status: InputStatus) -> tuple[Bindings, str | None]:
        """A device came or went: its lights follow. Returns what `read_bindings` does."""
        if self._lights is not None:
            self._lights.input_changed(status)
        return self.read_bindings()

    def read_bindings(self) -> tuple[Bindings, str | None]:
        """Read the binding files anew: the rules from now on, and a sentence when a file is amiss.

        A file that was edited wrongly meanwhile leaves the old rules standing.
        """
        devices = self._hub.devices if self._hub is not None else ()
        try:
            self._use(load_bindings(self.data_folder, self.configs_folder, devices))
        except InputError as trouble:
            return self._bindings, str(trouble)
        return self._bindings, None

    def show(self, moment: Moment | None) -> None:
        """Let the lights say how the last take was answered, or that the stage listens for an answer."""
        if self._lights is not None:
            self._lights.show(moment)

    # --- teaching -----------------------------------------------------------------

    def start_teaching(self) -> None:
        """Begin a lesson: from now on every message is looked at whole."""
        self.lesson, self._lesson_done_s = TeachState(), None
        if self._hub is not None:
            self._hub.watch(self._look)

    def stop_teaching(self) -> None:
        """End the lesson, done or not, and listen as usual."""
        self.lesson = None
        if self._hub is not None:
            self._hub.watch(None)

    def teaches(self, edge: SwitchEdge) -> bool:
        """Does this edge belong to the lesson rather than to the session? MIDI is looked at as messages."""
        if self.lesson is None or (edge.device == KEYBOARD and edge.switch in LEAVES_TEACHING):
            return False
        if self._hub is None or edge.device not in self._hub.devices:
            self.observe(observe_edge(edge))
        return True

    def observe(self, seen: Observation) -> None:
        """A switch had a value: the lesson looks at it."""
        self._lesson_step(seen)

    def teach_until(self, t_s: float) -> str | None:
        """Let the lesson's time pass; what was learnt, in words, once its last page has been shown."""
        if self.lesson is None:
            return None
        self._lesson_step(t_s)
        if self._lesson_done_s is None:
            if self.lesson.station is lesson.Station.DONE:
                self._lesson_done_s = t_s
            return None
        return self.lesson.title if t_s - self._lesson_done_s >= SHOWN_FOR_S else None

    def _lesson_step(self, event: Observation | float) -> None:
        if self.lesson is None:
            return
        self.lesson, learnt = lesson.step(self.lesson, event)
        if learnt is not None:
            save_binding(self.data_folder, learnt)

    # --- devices --------------------------------------------------------------------

    def _put_edge(self, edge: SwitchEdge) -> None:
        """A lesson wants edges as they are; the session, as the taught kind of switch makes them."""
        if self.lesson is not None:
            self.put(edge)
            return
        self._edges, edges = self._edges.step(edge)
        for clean in edges:
            self.put(clean)

    def _use(self, bindings: Bindings) -> None:
        if bindings == self._bindings:
            # What is held down stays known: a device that comes or goes is no reason to forget it.
            return
        self._bindings, self._edges = bindings, EdgeState(bindings)
        if self._hub is not None:
            self._hub.use(lambda device: SwitchState(bindings))

    def _look(self, message: Any, t_s: float, device: str) -> None:
        seen = observe(message, t_s, device)
        if seen is not None:
            self.put(seen)

    def _open_output(self, device: str) -> Any:
        if self._hub is None:
            raise OSError("no MIDI here")
        return self._hub.open_output(device)
