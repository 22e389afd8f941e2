"""Lines through days that differ: a rise is proven, or it is not told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice.lines import STREAKS, chance_above, lines_through, log_evidence, moments

LOOKS = (3, 4, 6, 8, 11, 15, 21, 30)


def days_in_streaks(rng, count, off, keeps, per_day=0.0, sd=0.04):
    """Measured log tempos of a player whose days differ as told."""
    effect, tempos = rng.normal(0, off), []
    for day in range(count):
        tempos.append(4.4 + per_day * day + effect + rng.normal(0, sd))
        effect = keeps * effect + rng.normal(0, off * math.sqrt(1 - keeps**2))
    return np.array(tempos)


def evidence_at(tempos, looks=LOOKS, sd=0.04, side=1):
    return [
        log_evidence(lines_through(np.arange(look) - (look - 1.0), tempos[:look], np.full(look, sd)), side)
        for look in looks
    ]


@pytest.mark.parametrize(("off", "keeps"), [(0.0, 0.0), (0.02, 0.0), (0.03, 0.35), (0.04, 0.7)])
def test_a_flat_player_is_proven_to_rise_or_fall_one_time_in_twenty_at_most_however_often_one_looks(
    off, keeps
):
    rng = np.random.default_rng(7)
    players = [days_in_streaks(rng, 30, off, keeps) for _ in range(150)]
    for side in (1, -1):
        ever = [max(evidence_at(tempos, side=side)) >= math.log(20) for tempos in players]
        assert np.mean(ever) <= 0.05


@pytest.mark.parametrize("look", [3, 10, 30])
def test_an_e_value_is_no_more_than_1_in_the_mean(look):
    rng = np.random.default_rng(8)
    found = [evidence_at(days_in_streaks(rng, look, 0.04, 0.7), (look,))[0] for _ in range(400)]
    assert np.mean(np.exp(found)) < 1


def test_who_gains_is_proven_to_in_weeks_and_the_more_the_sooner():
    rng = np.random.default_rng(9)

    def median_day(per_day):
        first = []
        for _ in range(15):
            found = evidence_at(days_in_streaks(rng, 30, 0.02, 0.7, per_day), range(3, 31))
            first.append(next((3 + look for look, one in enumerate(found) if one >= math.log(20)), 99))
        return np.median(first)

    assert median_day(0.02) < median_day(0.01) < 21


@given(st.integers(0, 10_000), st.floats(-0.02, 0.02), st.floats(-2, 2))
@settings(max_examples=50, deadline=None)
def test_the_level_does_not_matter_and_what_falls_is_what_rises_turned_over(seed, per_day, level):
    rng = np.random.default_rng(seed)
    tempos = days_in_streaks(rng, 8, 0.03, 0.35, per_day)
    (up,), (down,) = (evidence_at(tempos, (8,), side=side) for side in (1, -1))
    assert evidence_at(tempos + level, (8,))[0] == pytest.approx(up, abs=1e-6)
    assert evidence_at(-tempos, (8,), side=-1)[0] == pytest.approx(up, abs=1e-6)
    assert min(up, down) < 0, "both are never likely"


def test_days_that_do_not_tell_do_not_count():
    at_days, rng = np.arange(12) - 11.0, np.random.default_rng(3)
    tempos, sds = days_in_streaks(rng, 12, 0.0, 0.0, 0.01), np.full(12, 0.03)
    few = lines_through(at_days[4:], tempos[4:], sds[4:])
    sds[:4], tempos[:4] = 1e3, 9.0
    all_of_them = lines_through(at_days, tempos, sds)
    assert all_of_them.slope == pytest.approx(few.slope, abs=1e-5)
    assert log_evidence(all_of_them, 1) == pytest.approx(log_evidence(few, 1), abs=1e-3)


def test_the_belief_is_one_and_lies_round_the_gain():
    tempos = days_in_streaks(np.random.default_rng(5), 40, 0.01, 0.0, 0.01)
    found = lines_through(np.arange(40) - 39.0, tempos, np.full(40, 0.03))
    (level, slope), covariance = moments(found)
    assert found.share.shape == (len(STREAKS),)
    assert found.share.sum() == pytest.approx(1)
    assert slope == pytest.approx(0.01, abs=3 * math.sqrt(covariance[1, 1]))
    assert level == pytest.approx(4.4 + 0.39, abs=4 * math.sqrt(covariance[0, 0]))
    assert chance_above(found, 0.0) > 0.999
    assert chance_above(found, 0.02) < 0.001
