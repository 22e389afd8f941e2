"""A player for tests of the session: says things, lets time pass, and remembers all effects."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.causes import STAY, Choice, Transition
from pedaltrainer.session.effects import Effect, PlayRun, RecordTake, Run
from pedaltrainer.session.events import Due, Event, Given, Opened, Pressed
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase, State
from pedaltrainer.session.step import begin, pass_time, step
from pedaltrainer.session.transitions import pause_choices, row_of


def settings(*drills: str, style: AnswerStyle = AnswerStyle.ASK, **more: object) -> Settings:
    beats = int(more.pop("beats", 1))  # type: ignore[call-overload]
    made = Settings(tuple(parse_drill(words, beats) for words in drills or ("Am E",)), answer_style=style)
    return replace(made, **more)  # type: ignore[arg-type]


def foreseen(before: State, event: Event, phase: Phase) -> bool:
    """Does the table say that this event may lead from that state to this phase?"""
    return may_lead(row_of(pass_time(before, event.heard_s), event), before.phase, phase)


def may_lead(row: Transition | None, before: Phase, phase: Phase) -> bool:
    """Does this row say so?"""
    leads_to = STAY if row is None else row.leads_to
    return phase in leads_to.phases or (leads_to.stays and phase is before)


class Playing:
    """A session under way. `now_s` is the heard time; presses arrive at the same raw time plus 1000 s."""

    def __init__(self, chosen: Settings) -> None:
        self.state: State = begin(chosen)
        self.now_s = 0.0
        self.events: list[Event] = []
        self.effects: list[Effect] = []
        self.happen(Opened(0.0))

    def happen(self, event: Event) -> Sequence[Effect]:
        """An event comes; whatever it leads to is in the table of transitions."""
        self.events.append(event)
        before = self.state
        self.state, effects = step(before, event)
        assert foreseen(before, event, self.state.phase)
        self.effects += effects
        return effects

    def wait(self, seconds: float) -> None:
        """Let heard time pass, with everything that falls due in it."""
        self.until(self.now_s + seconds)

    def until(self, heard_s: float) -> None:
        while self.state.due_s is not None and self.state.due_s <= heard_s:
            self.happen(Due(self.state.due_s))
        self.now_s = heard_s

    def press(self, known_within_s: float = 0.0) -> Sequence[Effect]:
        """The foot goes down: no gesture is known yet."""
        return self.happen(Pressed(self.now_s, self.now_s + 1000, "foot", known_within_s=known_within_s))

    def give(self, control: Control, pressed_ago_s: float = 0.0) -> Sequence[Effect]:
        pressed_s = self.now_s - pressed_ago_s
        return self.happen(Given(self.now_s, pressed_s, pressed_s + 1000, control, "foot"))

    def choose(self, choice: Choice) -> Sequence[Effect]:
        """Open the menu, where it is not open, move to a row of it and take it."""
        if self.state.phase is not Phase.PAUSED:
            self.give(Control.PASS_ if self.state.phase is Phase.FINISHED else Control.PAUSE)
        for _ in pause_choices(self.state):
            if pause_choices(self.state)[self.state.chosen] is choice:
                return self.give(Control.PAUSE)
            self.give(Control.PASS_)
        raise AssertionError(f"the menu has no {choice}")

    def finish(self) -> None:
        """Ask to finish, and say yes."""
        self.give(Control.QUIT)
        self.give(Control.PASS_)

    def begin_take(self) -> Run:
        """From the ready stage, or the breath, into the first landing of a take."""
        if self.state.phase is Phase.READY:
            self.give(Control.PASS_)
        if self.state.phase is Phase.BREATH:
            self.until(self.state.due_s or self.now_s)
        assert self.state.run is not None
        self.until(self.state.run.beat_s(0))
        assert self.state.phase is Phase.TAKE
        return self.state.run

    def play_take(self) -> Run:
        """A whole take, up to where it ends by itself."""
        run = self.begin_take()
        self.until(self.state.due_s or self.now_s)
        return run

    def answer(self, control: Control) -> Run:
        """Play a take and answer it when asked."""
        run = self.play_take()
        self.wait(0.5)
        self.give(control)
        return run

    @property
    def runs(self) -> list[Run]:
        return [effect.run for effect in self.effects if isinstance(effect, PlayRun)]

    @property
    def records(self) -> list[RecordTake]:
        return [effect for effect in self.effects if isinstance(effect, RecordTake)]

    @property
    def outcomes(self) -> list[str]:
        return [record.answered.take.outcome.value for record in self.records]
