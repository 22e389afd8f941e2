"""Whatever a clumsy foot does on whatever pedal: each press does what the stage showed, and nothing is lost.

The smaller sister of `tests.benchmarks.clumsy_foot`.
"""

from __future__ import annotations

import random
from collections import Counter
from datetime import UTC, datetime

import pytest
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from pedaltrainer.live.book import Book
from pedaltrainer.pedals.events import InputChange, InputStatus
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.rows import SessionRow, new_id, utc_text
from pedaltrainer.session.replay import settings_to_json
from pedaltrainer.session.settings import Settings
from tests.benchmarks.clumsy_foot import out_of_reach
from tests.session.clumsy import DEVICE, KINDS, ClumsyFoot, Watched, bindings_of
from tests.session.playing import settings


class Accepting:
    """A log that takes everything; what it does with it is tested with the log."""

    def add_missing(self, *rows: object) -> None:
        pass


def watched(chosen: Settings, kind: str) -> Watched:
    """A session on a pedal of this kind, just opened."""
    now = datetime(2026, 3, 1, tzinfo=UTC)
    row = SessionRow(new_id(), "clumsy", utc_text(now), "0", None, settings_to_json(chosen))
    book = Book(Accepting(), row, now, 0.0)  # type: ignore[arg-type]
    session = Watched(chosen, bindings_of(kind, chosen.grammar), book)
    session.open(0.0)
    return session


class ClumsySession(RuleBasedStateMachine):
    """A session under a clumsy foot, with pedals that go and come back under it."""

    @initialize(
        kind=st.sampled_from([*KINDS]),
        style=st.sampled_from(AnswerStyle),
        drills=st.lists(st.sampled_from(["Am E", "F"]), min_size=1, max_size=2),
        minutes=st.floats(0.2, 1.0),
        first_pages=st.booleans(),
        seed=st.integers(0, 2**32),
    )
    def open(
        self, kind: str, style: AnswerStyle, drills: list[str], minutes: float, first_pages: bool, seed: int
    ) -> None:
        chosen = settings(
            *drills,
            style=style,
            minutes=minutes,
            starts_bpm=(160, 160),
            rest_after_s=15.0,
            show_cautions=first_pages,
            ask_sight=first_pages,
        )
        self.session = watched(chosen, kind)
        self.foot = ClumsyFoot(self.session, random.Random(seed))

    def under_way(self) -> bool:
        return not self.session.closed

    @precondition(under_way)
    @rule()
    def the_foot_acts(self) -> None:
        self.foot.act()

    @rule(seconds=st.floats(0.0, 40.0))
    def nobody_acts(self, seconds: float) -> None:
        self.foot.wait(seconds)

    @precondition(under_way)
    @rule(change=st.sampled_from([InputChange.LOST, InputChange.BACK]))
    def the_pedal_goes_or_comes(self, change: InputChange) -> None:
        self.session.input_changed(InputStatus(self.foot.now_s, change, DEVICE, ""))

    @invariant()
    def every_press_did_what_was_shown(self) -> None:
        assert not +self.session.harm


TestClumsySession = ClumsySession.TestCase
TestClumsySession.settings = hypothesis_settings(max_examples=150, stateful_step_count=30)


@pytest.mark.parametrize("kind", KINDS)
def test_everything_that_some_pedal_can_do_each_kind_can_do(kind: str) -> None:
    """But for what holds on to a press, where no hold can be seen: there a miss is taken back in the menu."""
    without_hold = {"PAUSE_WAS_MEANT"} if kind in {"latching", "press-only"} else set()
    assert {action.name for action in out_of_reach(kind)} == without_hold


def test_the_watch_sees_what_the_first_grammar_did() -> None:
    """The same foot, the table of before: a watch that finds nothing there would find nothing at all."""
    chance = random.Random(1)
    found: Counter[str] = Counter()
    for _ in range(20):
        chosen = settings("Am E", "F", minutes=1.5, starts_bpm=(160, 160), grammar=1)
        session = watched(chosen, "two switches")
        foot = ClumsyFoot(session, chance)
        for _ in range(40):
            if not session.closed:
                foot.act()
        found += session.harm
    assert {"lost", "ended", "silent"} <= set(found)
