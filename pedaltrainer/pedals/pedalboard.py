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
from pedaltrainer.pedals.bindings import KEYBOARD, Binding, Bindings, BoundEdge, default_bindings
from pedaltrainer.pedals.contacts import Contacts
from pedaltrainer.pedals.events import InputStatus, Slid, SwitchEdge
from pedaltrainer.pedals.game_controllers import GameControllers
from pedaltrainer.pedals.keys import KeysHeld
from pedaltrainer.pedals.midi.guitar_port import GuitarPort
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.lights import Lights, Moment
from pedaltrainer.pedals.midi.messages import Observation, observe, observe_edge
from pedaltrainer.pedals.taught import lesson
from pedaltrainer.pedals.taught.files import load_bindings, load_lights, save_binding
from pedaltrainer.pedals.taught.form import DeviceBinding
from pedaltrainer.pedals.taught.teach_state import Station, TeachState

Put = Callable[[BoundEdge | Slid | InputStatus | Observation], None]

LEAVES_TEACHING = frozenset({"key escape", "key q"})
"""The keys that end a lesson; every other one can be taught."""
SHOWN_FOR_S = 4.0
"""How long the lesson's last page stays."""


@dataclass(slots=True)
class Pedalboard:
    """Open from `open` to `close`. data_folder holds the player's bindings, configs_folder the presets.

    bindings: the rules that hold now, kept nowhere else. Every device's thread
    asks for its switches' rules here, once an edge, and the edge carries its
    rule into the queue.
    """

    put: Put
    data_folder: Path
    configs_folder: Path
    wanted: str | None = None
    guitar: GuitarPort | None = None
    """The MIDI input that is no pedal."""
    lesson: TeachState | None = None
    bindings: Bindings = field(default_factory=default_bindings)
    _hub: InputHub | None = None
    _lights: Lights | None = None
    _controllers: GameControllers | None = None
    _keys: KeysHeld = field(default_factory=KeysHeld)
    _contacts: Contacts = field(init=False)
    _lesson_done_s: float | None = None

    def __post_init__(self) -> None:
        self._contacts = Contacts(self._rule_of)

    def open(self) -> None:
        """Listen to everything. Raises InputError for an input that is not there or a binding file amiss.

        Call from the main thread, after the window was opened.
        """
        self._lights = Lights(load_lights(self.data_folder), self._open_output)
        self.bindings = load_bindings(self.data_folder, self.configs_folder)
        # A session may begin with a lesson.
        look = self._look if self.lesson is not None else None
        self._hub = InputHub(
            self._put_midi, self.put, look, self.wanted, rule_of=self._rule_of, on_slide=self._put_midi,
            guitar=self.guitar,
        )  # fmt: skip
        self._controllers = GameControllers()
        self.read_bindings()

    def close(self) -> None:
        """Put the lights out and let go of every device."""
        if self._lights is not None:
            self._lights.close()
        if self._hub is not None:
            self._hub.close()
        if self._controllers is not None:
            self._controllers.close()

    def give_up(self, guitar: GuitarPort | None) -> None:
        """From now on this input is no pedal, and the one before it is one again."""
        self.guitar = guitar
        if self._hub is not None:
            self._hub.give_up(guitar)

    @property
    def midi_inputs(self) -> tuple[str, ...]:
        """The names of all MIDI inputs that are connected."""
        return () if self._hub is None else self._hub.inputs

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

    def input_changed(self, status: InputStatus) -> tuple[bool, str | None]:
        """A device came or went: its lights follow. Returns what `read_bindings` does."""
        if self._lights is not None:
            self._lights.input_changed(status)
        return self.read_bindings()

    def read_bindings(self) -> tuple[bool, str | None]:
        """Read the binding files anew: whether the rules changed, and a sentence when a file is amiss.

        A file that was edited wrongly meanwhile leaves the old rules standing.
        """
        devices = self._hub.devices if self._hub is not None else ()
        try:
            found = load_bindings(self.data_folder, self.configs_folder, devices)
        except InputError as trouble:
            return False, str(trouble)
        if found == self.bindings:
            # What is held down stays known: a device that comes or goes is no reason to forget it.
            return False, None
        self.bindings = found
        return True, None

    def show(self, moment: Moment | None) -> None:
        """Let the lights say how the last take was answered, or that the stage listens for an answer."""
        if self._lights is not None:
            self._lights.show(moment)

    # --- teaching -----------------------------------------------------------------

    def start_teaching(self, first: bool = False) -> None:
        """Begin a lesson, or the short first one: from now on every message is looked at whole."""
        self.lesson, self._lesson_done_s = TeachState(first), None
        if self._hub is not None:
            self._hub.watch(self._look)

    def stop_teaching(self) -> None:
        """End the lesson, done or not, and listen as usual."""
        self.lesson = None
        if self._hub is not None:
            self._hub.watch(None)

    def teach(self, event: Observation | float) -> None:
        """A switch had a value, or time has come to `event` seconds: the lesson looks at it."""
        if self.lesson is None:
            return
        self.lesson, learnt = lesson.step(self.lesson, event)
        if learnt is not None and not (self.lesson.first and self._is_known(learnt)):
            save_binding(self.data_folder, learnt)

    def teach_until(self, t_s: float) -> str | None:
        """Let the lesson's time pass; what was learnt, in words, once its last page has been shown."""
        self.teach(t_s)
        if self.lesson is None:
            return None
        if self._lesson_done_s is None:
            if self.lesson.station is Station.DONE:
                self._lesson_done_s = t_s
            return None
        return self.lesson.title if t_s - self._lesson_done_s >= SHOWN_FOR_S else None

    def _is_known(self, learnt: DeviceBinding) -> bool:
        """Do the rules that hold take the one switch of a first lesson as it is, or as it was taught before?

        Nothing is written then: a rule for one switch would silence the others of its device.
        """
        (switch,) = learnt.switches
        rule = self._rule_of(learnt.device, switch.name)
        if rule is None or not rule.controls:
            return False
        return bool(rule.source) or rule.profile == switch.profile

    # --- devices --------------------------------------------------------------------

    def _rule_of(self, device: str, switch: str) -> Binding | None:
        return self.bindings.find(device, switch)

    def _put_edge(self, edge: SwitchEdge) -> None:
        """A lesson wants switches as they are; the session, what the foot on them does."""
        if self.lesson is not None and not (edge.device == KEYBOARD and edge.switch in LEAVES_TEACHING):
            self.put(observe_edge(edge))
            return
        self._contacts, edges = self._contacts.move(edge)
        for bound in edges:
            self.put(bound)

    def _put_midi(self, edge: BoundEdge | Slid) -> None:
        # A lesson looks at MIDI as messages.
        if self.lesson is None:
            self.put(edge)

    def _look(self, message: Any, t_s: float, device: str) -> None:
        seen = observe(message, t_s, device)
        if seen is not None:
            self.put(seen)

    def _open_output(self, device: str) -> Any:
        if self._hub is None:
            raise OSError("no MIDI here")
        return self._hub.open_output(device)
