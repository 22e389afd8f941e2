"""The up-down rules that the benchmark of measuring sets beside `seek`: they are what was published.

Levitt, H. (1971), "Transformed up-down methods in psychoacoustics", JASA 49(2), 467-477, table I:
where transformed rules settle. Kaernbach, C. (1991), "Simple adaptive testing with the weighted
up-down method", Perception & Psychophysics 49(3), 227-229: the ratio of steps.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.benchmarks.up_down import (
    TURNS,
    UpDown,
    down_over_up,
    passes_needed,
    settles_at,
    transformed,
    weighted,
)
from tests.practice.answers import is_clean


def climbed(make, answers, start_bpm=100, step_bpm=10):
    rules = [make(start_bpm, step_bpm)]
    for answer in answers:
        rules.append(rules[-1].answered(answer == "p"))
    return [rule.tempo_bpm for rule in rules]


def played(rule: UpDown, clean_bpm: float, seed: int) -> UpDown:
    rng = np.random.default_rng(seed)
    while not rule.ended:
        rule = rule.answered(is_clean(rng, rule.tempo_bpm, clean_bpm))
    return rule


@pytest.mark.parametrize(("passes", "chance"), [(1, 0.500), (2, 0.707), (3, 0.794), (4, 0.841), (6, 0.891)])
def test_transformed_rules_settle_where_levitt_says(passes, chance):
    assert settles_at(passes) == pytest.approx(chance, abs=0.0005)
    assert passes_needed(chance) == passes


@pytest.mark.parametrize(("target", "ratio"), [(0.50, 1.0), (0.75, 3.0), (0.80, 4.0), (0.90, 9.0)])
def test_weighted_steps_balance_as_kaernbach_says(target, ratio):
    # S_up * p = S_down * (1 - p); his own example: 75 % with steps of 1 and 3.
    assert down_over_up(target) == pytest.approx(ratio)


@pytest.mark.parametrize("target", [0.707, 0.794, 0.841, 0.891])
@pytest.mark.parametrize("make", [transformed, weighted])
def test_played_for_long_with_fine_steps_they_pass_at_the_rate_of_their_target(make, target):
    rule = make(88, 2, target)
    rng = np.random.default_rng(12)
    chances = []
    for n in range(3000):
        z = (math.log(90) - rule.at_log) / 0.05 + math.log(4)
        chances.append(1 / (1 + math.exp(-z)))
        # The exact tempo is played here: whole BPM are coarser than these steps.
        rule = rule.answered(is_clean(rng, math.exp(rule.at_log), 90))
        assert n < 100 or rule.turns
    # Transformed rules visit both sides of a curve that bends: a per cent or two is theirs.
    assert np.mean(chances[200:]) == pytest.approx(target, abs=0.02)


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
    rule = weighted(100, 10)
    for passed in (True, False, True, False, True, False):
        rule = rule.answered(passed)
    up = rule.answered(True).at_log - rule.at_log
    down = rule.at_log - rule.answered(False).at_log
    assert down / up == pytest.approx(4)


@pytest.mark.parametrize("make", [transformed, weighted])
def test_after_its_turns_it_has_found_the_clean_tempo(make):
    lasts = [played(make(70, 8), 90, seed) for seed in range(40)]
    assert all(len(last.turns) == TURNS for last in lasts)
    assert np.mean([last.found_bpm for last in lasts]) == pytest.approx(90, rel=0.04)


@pytest.mark.parametrize("make", [transformed, weighted])
def test_it_has_found_nothing_before_it_has_turned_twice_and_leaves_no_end_of_the_ladder(make):
    top, bottom = make(280, 8), make(24, 8)
    for _ in range(12):
        top, bottom = top.answered(True), bottom.answered(False)
    assert (top.tempo_bpm, bottom.tempo_bpm) == (300, 20)
    assert top.found_bpm is None
    assert bottom.found_bpm is None
