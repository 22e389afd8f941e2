"""Slow work: the tempo is held, and no clean tempo is claimed for it."""

from __future__ import annotations

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.kinds import SLOW_BPM
from pedaltrainer.practice.ladders.hold import hold
from pedaltrainer.practice.ladders.ladder import LadderStart, climb
from pedaltrainer.practice.ladders.rungs import Finding
from pedaltrainer.practice.take import Outcome, Take

DRILL = parse_drill("pressure F")


def takes(*outcomes: str, tempo_bpm: float = 50) -> list[Take]:
    return [Take(DRILL, tempo_bpm, 8, Outcome(outcome)) for outcome in outcomes]


def test_it_begins_slowly_or_where_the_player_said():
    assert hold(LadderStart(90)).tempo_bpm == SLOW_BPM
    assert hold(LadderStart(90, first_bpm=44)).tempo_bpm == 44


def test_clean_takes_do_not_make_it_faster():
    assert climb(hold(LadderStart(60)), takes("pass", "pass", "pass")).tempo_bpm == SLOW_BPM


def test_a_miss_makes_it_a_tenth_slower_but_never_slower_than_the_ladder_goes():
    ladder = hold(LadderStart(60))
    assert climb(ladder, takes("fail")).tempo_bpm == 45
    assert climb(ladder, takes("fail", tempo_bpm=20)).tempo_bpm == 20


def test_a_void_take_changes_nothing():
    ladder = hold(LadderStart(60))
    assert climb(ladder, takes("void")) == ladder


def test_it_tells_how_often_it_was_clean_and_no_clean_tempo():
    found = climb(hold(LadderStart(60)), takes("pass", "fail", "pass")).result()
    assert found.finding is Finding.SLOW_WORK
    assert [(rung.passes, rung.fails) for rung in found.tried] == [(2, 1)]
    assert found.clean_bpm is None
    assert hold(LadderStart(60)).result().finding is Finding.NONE
