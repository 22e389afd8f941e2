"""Tapping along, held against the published figures and a general-purpose reference.

B. H. Repp, "Sensorimotor synchronization: a review of the tapping literature", Psychonomic Bulletin & Review
12 (2005): taps are 20 to 50 ms early on the whole and spread by 20 to 30 ms.
"""

from __future__ import annotations

import random
from statistics import fmean

import pytest
from scipy import stats

from pedaltrainer.practice.tapping_along import (
    _QUANTILES,
    BEATS,
    DROPPED,
    TEMPO_BPM,
    asynchronies,
    sound_late,
    steadiness,
)

BEAT_S = 60 / TEMPO_BPM
CLICKS_S = [4 * BEAT_S + beat * BEAT_S for beat in range(BEATS)]


def tapped(chance: random.Random, late_s: float, lead_s: float, sd_s: float) -> list[float]:
    """Taps to clicks that reach the ear late_s later than is reckoned, by somebody with a lead of their own.

    The first ones find in: they are late by up to a fifth of a second.
    """
    finding_in = [0.2, 0.1, 0.05]
    return [
        click + late_s - lead_s + chance.gauss(0, sd_s) + (finding_in[beat] if beat < DROPPED else 0.0)
        for beat, click in enumerate(CLICKS_S)
    ]


def test_the_tables_of_t_and_chi_square_are_those_of_a_reference():
    for free, (student, low, high) in _QUANTILES.items():
        assert student == pytest.approx(stats.t.ppf(0.975, free), abs=0.0006)
        assert low == pytest.approx(stats.chi2.ppf(0.025, free), abs=0.0006)
        assert high == pytest.approx(stats.chi2.ppf(0.975, free), abs=0.0006)
    assert set(_QUANTILES) == set(range(7, BEATS - DROPPED))


@pytest.mark.parametrize("delay_ms", [10, 21, 60, 180, 279, 400])
def test_people_who_tap_as_is_published_find_a_delay_to_within_what_is_said(delay_ms):
    chance = random.Random(delay_ms)
    reckoned_s, inside, withins = 0.021, 0, []
    for _ in range(500):
        lead_s, sd_s = chance.gauss(0.035, 0.025), chance.uniform(0.02, 0.03)
        found = sound_late(
            asynchronies(CLICKS_S, tapped(chance, delay_ms / 1000 - reckoned_s, lead_s, sd_s)), reckoned_s
        )
        assert found is not None
        inside += abs(found.delay_s - delay_ms / 1000) <= found.within_s
        withins.append(found.within_s)
    assert inside / 500 >= 0.93
    assert fmean(withins) == pytest.approx(0.05, abs=0.004)


def test_a_foot_as_is_published_is_measured_as_such_and_its_intervals_hold():
    chance = random.Random(5)
    means = sds = 0
    for _ in range(1000):
        found = steadiness(asynchronies(CLICKS_S, tapped(chance, 0.0, 0.035, 0.025), -BEAT_S / 2))
        assert found is not None
        means += found.mean_low_ms <= -35 <= found.mean_high_ms
        sds += found.sd_low_ms <= 25 <= found.sd_high_ms
    assert 0.93 <= means / 1000 <= 0.97
    assert 0.93 <= sds / 1000 <= 0.97


def test_the_mean_of_a_trial_has_the_interval_of_a_reference():
    late_s = [-0.04, -0.02, -0.055, -0.01, -0.03, -0.035, -0.06, -0.02, -0.03, -0.01]
    found = steadiness(late_s)
    low, high = stats.t.interval(0.95, 9, fmean(late_s), stats.sem(late_s))
    assert (found.mean_low_ms, found.mean_high_ms) == pytest.approx((1000 * low, 1000 * high), abs=0.01)
