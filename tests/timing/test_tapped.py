"""Tap tempo: a line through all taps, whatever one of them does."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.timing.tapped import FEWEST_TAPS, tapped_bpm
from tests.benchmarks.tapping import FEET, errors

TEMPOS_BPM = (60, 80, 100, 120, 140, 160)


def beats(bpm: float, count: int, first_s: float = 3.0) -> list[float]:
    return [first_s + number * 60 / bpm for number in range(count)]


def test_a_tempo_is_told_from_the_fourth_tap_on():
    taps_s = beats(96, 8)
    told = [tapped_bpm(taps_s[:count]) for count in range(9)]
    assert told[:FEWEST_TAPS] == [None] * 4
    assert told[FEWEST_TAPS:] == pytest.approx([96] * 5)


@pytest.mark.parametrize("missed", range(1, 7))
@pytest.mark.parametrize("bpm", TEMPOS_BPM)
def test_a_beat_that_was_missed_changes_nothing(bpm, missed):
    taps_s = beats(bpm, 8)
    del taps_s[missed]
    assert tapped_bpm(taps_s) == pytest.approx(bpm)


@pytest.mark.parametrize("doubled", range(8))
@pytest.mark.parametrize("bpm", TEMPOS_BPM)
def test_a_tap_that_bounced_changes_next_to_nothing(bpm, doubled):
    taps_s = beats(bpm, 8)
    taps_s.insert(doubled + 1, taps_s[doubled] + 0.08)
    assert tapped_bpm(taps_s) == pytest.approx(bpm, rel=0.002)


def test_the_line_is_that_of_least_squares():
    """NumPy's own fit as the reference."""
    taps_s = [0.02, 0.51, 0.97, 1.52, 1.99, 2.55]
    slope_s = np.polynomial.Polynomial.fit(range(6), taps_s, 1).convert().coef[1]
    assert tapped_bpm(taps_s) == pytest.approx(60 / slope_s)


@given(st.lists(st.floats(0, 100, allow_nan=False), max_size=12).map(sorted))
def test_any_taps_at_all_have_a_tempo_between_the_quickest_and_the_slowest_gap_or_none(taps_s):
    bpm = tapped_bpm(taps_s)
    if bpm is not None:
        gaps_s = [there - here for here, there in pairwise(taps_s) if there > here]
        assert 60 / bpm >= min(gaps_s) * 0.5
        assert 60 / bpm <= max(gaps_s) * 2


@pytest.mark.parametrize("bpm", [60, 160])
@pytest.mark.parametrize("foot", FEET, ids=lambda foot: foot.name)
def test_eight_taps_of_an_unsteady_foot_tell_its_tempo_to_one_and_a_half_per_cent(bpm, foot):
    rms = float(np.sqrt(np.mean(errors(foot, bpm, taps=8, players=300, seed=4) ** 2)))
    assert rms <= 0.015
