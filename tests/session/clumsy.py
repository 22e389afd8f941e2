"""A clumsy foot, and a watch over what its presses do: for a benchmark and a state machine of the suite."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace

from pedaltrainer.live.book import Book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.foot import Foot
from pedaltrainer.pedals.bindings import Bindings, BoundEdge
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.taught.arranging import ORDER, TaughtSwitch, arranged
from pedaltrainer.pedals.ways import Way, said
from pedaltrainer.session.causes import Action, already_heard
from pedaltrainer.session.effects import CancelTake, Effect, RecordTake
from pedaltrainer.session.events import Event, Given, Pressed
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import CLICKING, LISTS, Phase, State
from pedaltrainer.session.step import begin, pass_time, step
from pedaltrainer.session.transitions import meaning, pause_choices, row_for, row_of

DEVICE = "clumsy board"
KINDS: Mapping[str, tuple[SwitchKind, int]] = {
    "one switch": (SwitchKind.MOMENTARY, 1),
    "two switches": (SwitchKind.MOMENTARY, 2),
    "three switches": (SwitchKind.MOMENTARY, 3),
    "latching": (SwitchKind.LATCHING, 1),
    "press-only": (SwitchKind.PRESS_ONLY, 1),
}
"""What is under the foot: the kind of switch, and how many."""

_ANSWERS = {Action.CLEAN, Action.MISSED, Action.MISSED_HERE, Action.MISSED_AFTER_ALL}
_TAKES_BACK = {Action.UNDO, Action.MISSED_AFTER_ALL}
_OTHER_DRILL = {Action.DROP, Action.OTHER_BEATS, Action.OTHER_GAP}
_DISCARDS = {Action.SKIP_TAKE, Action.SKIP, Action.REPEAT, Action.UNDO, Action.FINISH, *_OTHER_DRILL}
_SAID_SO = {Action.TOO_LATE, Action.OUT_OF_PLACE}
_ALIKE = {Action.MISSED_HERE: Action.MISSED}
"""A miss is a miss, in the take or at the question."""


def bindings_of(kind: str, grammar: int = 2) -> Bindings:
    """The rules of a pedal of this kind, as a lesson arranges them; with grammar 1, as it did before."""
    sort, switches = KINDS[kind]
    taught = [
        TaughtSwitch(control, f"controller {80 + number} on channel 1", SwitchProfile(sort))
        for number, control in enumerate(ORDER[:switches])
    ]
    rules = arranged(DEVICE, taught).rules("")
    if grammar == 1 and switches == 1:
        of_before = {Control.PAUSE: Control.NEXT}
        rules = tuple(
            replace(rule, controls={way: of_before.get(given, given) for way, given in rule.controls.items()})
            for rule in rules
        )
    return Bindings(rules)


def shown(state: State, control: Control) -> Action:
    """What the stage shows for a control; in a list what the marked row does."""
    action = meaning(state, control)
    if action is Action.CHOOSE:
        row = row_for(state, pause_choices(state)[state.chosen])
        action = Action.NOTHING if row is None else row.action
    return action


class Watched(Conductor):
    """A conductor that counts in `harm` what no press should ever do, and in `done` what was done."""

    def __init__(self, settings: Settings, bindings: Bindings, book: Book) -> None:
        super().__init__(begin(settings), SimulatedStream(), book, Foot(bindings=bindings))
        self.harm: Counter[str] = Counter()
        self.done: Counter[Action] = Counter()
        self.saw: dict[float, State] = {}

    def _happen(self, event: Event) -> None:
        before = pass_time(self.state, event.heard_s)
        if isinstance(event, Pressed):
            self.saw[event.t_s] = before
        row = row_of(before, event)
        did = Action.NOTHING if row is None else row.action
        self.done[did] += 1
        if isinstance(event, Given):
            promised = shown(self.saw.get(event.pressed_s, before), event.control)
            after, effects = step(self.state, event)
            self._compare(before, event, promised, did, said_so=after.ack != self.state.ack)
            self._losses(before, event, promised, effects)
            self.harm["ended"] += did not in _ANSWERS and _ended(before, after, did)
        super()._happen(event)

    def _compare(self, before: State, given: Given, promised: Action, did: Action, said_so: bool) -> None:
        # Where another foot has closed the stage meanwhile there is nowhere to say it.
        if already_heard(before, given) or did in _SAID_SO or before.phase is Phase.CLOSED:
            return
        if did is Action.NOTHING:
            self.harm["silent"] += promised is not Action.NOTHING and not said_so
        elif _ALIKE.get(did, did) is not _ALIKE.get(promised, promised):
            self.harm["otherwise"] += 1

    def _losses(self, before: State, given: Given, promised: Action, effects: tuple[Effect, ...]) -> None:
        held_on = already_heard(before, given)
        for effect in effects:
            if isinstance(effect, CancelTake) and promised not in _TAKES_BACK and not held_on:
                self.harm["lost"] += 1
            played_out = before.phase not in CLICKING and isinstance(effect, RecordTake)
            if played_out and effect.answered.take.outcome.value == "void" and promised not in _DISCARDS:
                self.harm["lost"] += 1


_ASKS_OR_LISTS = {Phase.PAUSED, Phase.FINISH_ASKED, Phase.HURTS, Phase.TEACHING}


def _ended(before: State, after: State, did: Action) -> bool:
    anew = did is Action.SAME_AGAIN
    over = after.phase in {Phase.FINISHED, Phase.CLOSED} and after.phase is not before.phase
    return (anew or over) and before.phase not in _ASKS_OR_LISTS


class ClumsyFoot:
    """Looks at the stage, waits, and presses something; what it means to press is not always what comes."""

    def __init__(self, conductor: Watched, chance: random.Random) -> None:
        self.conductor, self.chance = conductor, chance
        self.now_s = 0.0
        bindings = conductor.foot.bindings
        assert bindings is not None
        self.rules = {rule.switch: rule for rule in bindings.rules if rule.controls}
        self.said = said(bindings, DEVICE)
        self.first_grammar = conductor.state.settings.grammar == 1

    def act(self) -> None:
        """See, react, press; by accident something more."""
        chance, phase = self.chance, self.conductor.state.phase
        if phase is Phase.TEACHING:
            self.wait(3.0)
            self.conductor.taught("Learnt", self.now_s)
            return
        if phase in CLICKING and chance.random() < 0.8:
            # Most takes are played to their end.
            while self.conductor.state.phase in CLICKING:
                self.wait(0.25)
        elif phase in LISTS and not self.said.chooses and chance.random() < 0.4:
            self.wait(3.0)
        elif chance.random() < 0.05:
            self.wait(chance.uniform(5, 60))
        self.wait(chance.uniform(0.2, 0.9))
        edges = list(self.gesture(self.wished(), self.now_s))
        if chance.random() < 0.03:
            tap = Way(GestureKind.TAP, chance.choice([*self.rules]), 1, 1)
            edges += self.gesture(tap, self.now_s + chance.uniform(0, 1.5))
        for edge in sorted(edges, key=lambda edge: edge.t_s):
            self.wait(edge.t_s - self.now_s)
            if self.conductor.closed:
                return
            if self.first_grammar:
                self.conductor.foot.recogniser = replace(self.conductor.foot.recogniser, in_list=False)
            self.conductor.edge(edge)

    def wished(self) -> Way:
        """A gesture that the stage shows, and now and then any other."""
        state = pass_time(self.conductor.state, self.now_s)
        listed = state.phase in LISTS and not self.first_grammar
        ways = self.said.in_list if listed else self.said.usual
        offered = [way for control, way in ways.items() if shown(state, control) is not Action.NOTHING]
        if offered and self.chance.random() < 0.9:
            return self.chance.choice(offered)
        return self.chance.choice([*self.said.usual.values()])

    def gesture(self, way: Way, t_s: float) -> Iterator[BoundEdge]:
        """The edges of a gesture as this foot makes it."""
        uniform, rule = self.chance.uniform, self.rules[way.switch]
        spans = [(0.0, uniform(0.06, 0.35))]
        if way.gesture is GestureKind.DOUBLE:
            gap_s = uniform(0.09, 0.45)
            spans = [(0.0, min(spans[0][1], gap_s * 0.8)), (gap_s, gap_s + uniform(0.06, 0.35))]
        elif way.gesture is GestureKind.HOLD:
            spans = [(0.0, uniform(0.45, 1.5))]
        for down_s, up_s in spans:
            yield BoundEdge(t_s + down_s, DEVICE, way.switch, True, rule)
            lifted_s = up_s if rule.profile.offers_hold else down_s
            yield BoundEdge(t_s + lifted_s, DEVICE, way.switch, False, rule)

    def wait(self, seconds: float) -> None:
        """Let simulated time pass, with everything that falls due in it."""
        until_s = self.now_s + max(0.0, seconds)
        while (due_s := self.conductor.due_t_s()) is not None and due_s <= until_s:
            self.conductor.advance(due_s)
        self.now_s = until_s
