"""Foot and ear beside each other: what they agree on, and what a kind foot makes of the clean tempo."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from pedaltrainer.ear.verdicts import HeardTake
from pedaltrainer.practice.agreement import (
    FEWEST_TAKES,
    Agreement,
    TwiceJudged,
    agreement_of,
    by_day,
    flattery_of,
)
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take
from tests.benchmarks.players import logistic

DRILL = parse_drill("Am E")
EVENING = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
CLEAN, MISSED, UNSURE = HeardTake.CLEAN, HeardTake.MISSED, HeardTake.UNSURE


def judged(foot: Outcome, ear: HeardTake, at: datetime = EVENING, tempo_bpm: float = 80) -> TwiceJudged:
    return TwiceJudged(at, Take(DRILL, tempo_bpm, 8, foot), ear)


FIVE = [
    judged(Outcome.PASS_, CLEAN),
    judged(Outcome.PASS_, MISSED),
    judged(Outcome.FAIL, CLEAN),
    judged(Outcome.FAIL, MISSED),
    judged(Outcome.PASS_, UNSURE),
]


def played(kind: float, count: int = 60, clean_bpm: float = 90.0, seed: int = 4) -> list[TwiceJudged]:
    """By a player whose takes the ear judges rightly, and whose foot passes a share of the missed ones."""
    rng = np.random.default_rng(seed)
    found = []
    for number in range(count):
        tempo_bpm = float(rng.uniform(78, 110))
        clean = rng.random() < logistic(np.log(clean_bpm / tempo_bpm) / 0.05 + np.log(4))
        foot = Outcome.PASS_ if clean or rng.random() < kind else Outcome.FAIL
        at = EVENING + timedelta(minutes=number)
        found.append(judged(foot, CLEAN if clean else MISSED, at, tempo_bpm))
    return found


def test_takes_are_counted_by_who_called_them_missed():
    found = agreement_of(FIVE)
    assert found == Agreement(takes=5, unsure=1, only_ear=1, only_foot=1)
    assert (found.decided, found.alike) == (4, 2)


def test_days_are_local_and_an_evening_past_midnight_is_one():
    takes = [
        replace(one, at=EVENING + timedelta(hours=hours))
        for one, hours in zip(FIVE, (0, 3.9, 4.1, 30, 31), strict=True)
    ]
    assert {day: one.takes for day, one in by_day(takes, UTC).items()} == {
        date(2026, 3, 2): 3,
        date(2026, 3, 4): 2,
    }


def test_a_kind_foot_is_told_by_how_much_it_flatters():
    found = flattery_of(played(kind=0.4))
    assert found is not None
    assert found.takes == 60
    assert found.foot_bpm > found.both_bpm
    assert found.both_bpm == pytest.approx(90, rel=0.06)
    assert found.share == pytest.approx(found.foot_bpm / found.both_bpm - 1)


def test_a_foot_as_strict_as_the_ear_flatters_nobody():
    found = flattery_of(played(kind=0.0))
    assert found is not None
    assert found.share == 0


def test_what_the_foot_alone_calls_missed_stays_missed():
    takes = [replace(one, ear=CLEAN) if one.take.outcome is Outcome.FAIL else one for one in played(kind=0.0)]
    found = flattery_of(takes)
    assert found is not None
    assert found.share == 0


@pytest.mark.parametrize("takes", [[], FIVE * 3, [judged(Outcome.PASS_, CLEAN)] * FEWEST_TAKES])
def test_of_few_takes_or_of_one_side_of_the_answers_nothing_is_said(takes):
    assert flattery_of(takes) is None


def test_where_the_ear_was_unsure_a_take_is_left_out():
    takes = played(kind=0.4, count=40)
    assert flattery_of([one for take in takes for one in (take, replace(take, ear=UNSURE))]) == flattery_of(
        takes
    )
