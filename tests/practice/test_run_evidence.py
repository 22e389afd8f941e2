"""What a run-through tells of single changes: shares of a press, what is void, what silence is worth."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.run_evidence import (
    ChangeHeard,
    heard_in,
    heard_in_take,
    levels,
    likelihood_of_all,
)
from pedaltrainer.practice.run_through import PassLanding, pass_of
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.songs.chart import parse_chart

SONG = parse_chart("title: Slack\ntempo: 60\n| C / G / | Am / F / | Em | Dm |\n", "slack")
"""A landing every two seconds, but for the third bar, where one chord lasts."""


def landings() -> list[PassLanding]:
    return list(pass_of(SONG, 100).landings)


def evenly(drill: Drill, tempo_bpm: float) -> float:
    return 0.2


def told(marks: tuple[float, ...], goes_wrong=evenly, said: bool = False) -> dict[str, tuple[float, ...]]:
    return {" ".join(one.drill.chords): one.missed for one in heard_in(landings(), marks, said, goes_wrong)}


def belief(heard: list[ChangeHeard]) -> ct.Estimate:
    mass = ct.prior().mass * likelihood_of_all(heard)
    return ct.estimate(ct.Posterior(mass / mass.sum(), 1))


def test_a_press_is_a_miss_of_the_landing_a_reaction_before_it_and_the_others_went_by():
    missed = told((2.0 + 0.25,))
    assert missed["C G"] == (pytest.approx(0.98, abs=0.001),)
    assert missed["G Am"] == (0.0,)
    assert missed["Am F"] == (0.0,)


def test_what_lands_after_a_miss_in_the_same_bar_tells_nothing():
    missed = told((4.0 + 0.25,))
    assert missed["G Am"][0] > 0.9
    assert "Am F" not in missed
    assert missed["F Em"] == (0.0,)


def test_a_press_between_two_landings_is_shared_by_how_late_it_is_for_each_and_by_what_is_hard():
    near = [
        PassLanding(0.0, 0, parse_drill("Am F"), 0.25, 120),
        PassLanding(0.4, 0, parse_drill("F C"), 0.25, 120),
    ]

    def f_is_hard(drill: Drill, tempo_bpm: float) -> float:
        return 0.4 if drill.chords == ("Am", "F") else 0.01

    at_s = 0.55
    alike, hard = (heard_in(near, (at_s,), False, wrong)[0].missed[0] for wrong in (evenly, f_is_hard))
    assert 0.1 < alike < 0.9
    assert hard > alike + 0.05
    assert hard > 0.9


def test_a_slow_foot_that_is_known_is_believed():
    quick, slow = (heard_in(landings(), (2.75,), False, evenly, reaction_s)[0] for reaction_s in (0.25, 0.75))
    assert slow.missed[0] == pytest.approx(0.98, abs=0.001)
    assert quick.missed[0] == pytest.approx(0.98, abs=0.001)
    near = [
        PassLanding(0.0, 0, parse_drill("Am F"), 0.25, 120),
        PassLanding(0.5, 1, parse_drill("F C"), 0.25, 120),
    ]
    quick, slow = (heard_in(near, (0.75,), False, evenly, reaction_s)[0] for reaction_s in (0.25, 0.75))
    assert quick.missed[0] < 0.3 < 0.7 < slow.missed[0]


def test_a_press_long_after_the_last_landing_is_about_none():
    assert all(share == 0.0 for missed in told((11.9,)).values() for share in missed)


def test_what_is_flagged_again_and_again_is_believed_slower_than_the_song_and_the_rest_not():
    drill, tempo = parse_drill("Am F"), 80.0
    hard = belief([ChangeHeard(drill, tempo, (0.98, 0.0, 0.98))] * 6)
    easy = belief([ChangeHeard(drill, tempo, (0.0, 0.0, 0.0))] * 6)
    assert hard.high_bpm < tempo < easy.bpm
    assert easy.low_bpm > 0.85 * tempo


def test_silence_says_more_where_the_player_says_that_all_else_was_clean():
    drill = parse_drill("Am F")
    still, said = (belief([ChangeHeard(drill, 80.0, (0.0,) * 4, one)] * 4) for one in (False, True))
    assert said.low_bpm > still.low_bpm


def test_a_single_flag_is_no_proof_and_leaves_the_song_s_tempo_possible():
    found = belief([ChangeHeard(parse_drill("Am F"), 80.0, (0.98, 0.0, 0.0, 0.0, 0.0, 0.0))])
    assert found.low_bpm < 80 < found.high_bpm


def test_a_change_that_says_nothing_itself_is_judged_from_the_others_of_the_song():
    changes = [parse_drill(words) for words in ("C G", "G Am", "Am F", "F C")]
    *others, silent = changes
    slow = {drill: [ChangeHeard(drill, 60.0, (0.98, 0.98, 0.0))] * 5 for drill in others}
    fast = {drill: [ChangeHeard(drill, 60.0, (0.0, 0.0, 0.0), True)] * 5 for drill in others}
    nothing = {silent: [ChangeHeard(silent, 60.0, ())]}
    after_slow, after_fast = (levels(heard | nothing, {})[silent] for heard in (slow, fast))
    assert after_slow.related
    assert after_fast.related
    assert after_slow.bpm < 60 < after_fast.bpm


def test_what_is_known_of_the_others_from_before_tells_of_the_player_too():
    one, other = parse_drill("C G"), parse_drill("G Am")
    heard = {drill: [ChangeHeard(drill, 60.0, ())] for drill in (one, other)}
    known = ct.PastResult(120.0, 115.0, 125.0)
    found = levels(heard, {one: known})
    assert found[other].bpm > 1.2 * found[one].bpm


def test_the_likelihood_of_nothing_is_flat_and_none_is_ever_zero():
    nothing = likelihood_of_all([])
    assert np.allclose(nothing, 1.0, atol=0.5)
    all_missed = likelihood_of_all([ChangeHeard(parse_drill("Am F"), 80.0, (1.0,) * 20)] * 10)
    assert np.isfinite(all_missed).all()
    assert all_missed.max() > 0
    assert math.isfinite(belief([ChangeHeard(parse_drill("Am F"), 80.0, (1.0,) * 20)] * 10).bpm)


# --- takes of several chords in turn ------------------------------------------------------


def passage(outcome: Outcome, first_miss: int | None = None) -> dict[str, tuple[float, ...]]:
    take = Take(parse_drill("passage Am:2 G F:2"), 60, 6, outcome, first_miss)
    return {" ".join(one.drill.chords): one.missed for one in heard_in_take(take, evenly)}


def test_a_clean_passage_speaks_for_every_change_in_it():
    assert passage(Outcome.PASS_) == {"Am G": (0.0, 0.0), "G F": (0.0, 0.0), "F Am": (0.0,)}


def test_a_miss_in_a_passage_is_about_the_change_that_landed_then_and_the_rest_tells_nothing():
    missed = passage(Outcome.FAIL, 3)
    assert missed["Am G"][0] < 0.1
    assert missed["G F"][0] > 0.85
    assert "F Am" not in missed


def test_a_miss_that_is_only_said_at_the_end_is_shared_among_all_landings():
    missed = passage(Outcome.FAIL)
    assert sum(sum(one) for one in missed.values()) == pytest.approx(1.0, abs=0.01)
    assert passage(Outcome.VOID) == {}


def test_a_loop_counts_at_its_tempo_and_by_its_own_gap():
    take = Take(parse_drill("loop C G Am instant"), 72, 6, Outcome.PASS_)
    heard = heard_in_take(take, evenly)
    assert {one.tempo_bpm for one in heard} == {72}
    assert all(one.drill.key.endswith(" instant") for one in heard)
