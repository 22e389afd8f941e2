"""The up-down ladders: when they move, how far, and where they settle."""

from __future__ import annotations

import numpy as np
import pytest

from pedaltrainer.practice.ladders.rungs import Cause, Ending, Finding, LadderStart
from pedaltrainer.practice.ladders.up_down import TURNS, transformed, weighted
from tests.practice.answers import played, take


def climbed(make, answers, start=100, step=10):
    ladder = make(LadderStart(start, step))
    tempos = [ladder.tempo_bpm]
    for answer in answers:
        ladder = ladder.answered(take(ladder.tempo_bpm, answer == "p"))
        tempos.append(ladder.tempo_bpm)
    return tempos


def test_until_the_first_turn_every_clean_take_climbs():
    assert climbed(transformed, "pp") == [100, 110, 121]
    assert climbed(weighted, "pp") == [100, 110, 121]


def test_after_the_first_turn_three_in_a_row_are_needed_for_four_in_five():
    tempos = climbed(transformed, "pfpppppp")
    assert tempos[2] == tempos[3] == tempos[4] < tempos[5] == tempos[6] == tempos[7] < tempos[8]


def test_a_miss_goes_down_at_once_and_the_count_starts_again():
    tempos = climbed(transformed, "pfppfppp")
    assert tempos[5] < tempos[4] == tempos[3]
    assert tempos[7] == tempos[6] == tempos[5] < tempos[8]


def test_the_weighted_rule_falls_four_times_as_far_as_it_climbs():
    start = LadderStart(100, 10)
    ladder = weighted(start)
    for passed in (True, False, True, False, True, False):
        ladder = ladder.answered(take(ladder.tempo_bpm, passed))
    before = ladder.at_log
    up = ladder.answered(take(100, True)).at_log - before
    down = before - ladder.answered(take(100, False)).at_log
    assert down / up == pytest.approx(4)


@pytest.mark.parametrize("make", [transformed, weighted])
def test_it_ends_after_its_turns_near_the_clean_tempo(make):
    lasts = [played(make(LadderStart(70, 8)), 90, 400, seed)[-1] for seed in range(40)]
    assert all(last.ended == Ending(Cause.TURNED_OFTEN, TURNS) for last in lasts)
    assert np.mean([last.result().clean_bpm for last in lasts]) == pytest.approx(90, rel=0.04)


@pytest.mark.parametrize("make", [transformed, weighted])
def test_practise_does_not_end_and_stays_easier(make):
    measuring = played(make(LadderStart(70, 8, mode="measure", target_chance=0.7)), 90, 10)[-1]
    practising = played(make(LadderStart(70, 8, mode="practise")), 90, 300)
    assert len(practising) == 301
    settled = np.mean([ladder.tempo_bpm for ladder in practising[60:]])
    assert settled < 90
    assert measuring.needed <= practising[-1].needed


@pytest.mark.parametrize("make", [transformed, weighted])
def test_the_ends_of_the_ladder_end_it(make):
    top, bottom = make(LadderStart(280, 8)), make(LadderStart(24, 8))
    for _ in range(12):
        top, bottom = top.answered(take(top.tempo_bpm, True)), bottom.answered(take(bottom.tempo_bpm, False))
    assert top.ended == Ending(Cause.TOP_REACHED)
    assert bottom.ended == Ending(Cause.BOTTOM_MISSED, 20)
    assert bottom.result().clean_bpm is None


@pytest.mark.parametrize("make", [transformed, weighted])
def test_before_it_has_turned_twice_it_says_so(make):
    assert make(LadderStart(60)).result().finding is Finding.NONE
    assert make(LadderStart(60)).answered(take(60, True)).result().finding is Finding.NOT_TURNED


@pytest.mark.parametrize("make", [transformed, weighted])
@pytest.mark.parametrize("more", [{"target_chance": 0.0}, {"target_chance": 1.0}, {"step_bpm": 0}])
def test_a_start_that_is_none_is_refused(make, more):
    with pytest.raises(ValueError, match=r"settles|leads"):
        make(LadderStart(60, **more))
