"""The lines through the days against general-purpose libraries.

`statsmodels` (GLS): the best line of each streak. `scipy.stats` (multivariate normal): how likely each is, as
the density of the days' differences. `scipy.integrate`: the e-value, written out as its definition says.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.integrate
import scipy.stats
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice.lines import LOG_WEIGHT, STEEP_PER_DAY, STREAKS, lines_through, log_evidence


def covariance(at_days, sds, off, keeps):
    """Of the days, written out: each day's own error, and an effect that is left to a share a day later."""
    gaps = np.abs(at_days[:, None] - at_days)
    return np.diag(sds**2) + off**2 * (keeps**gaps)


def log_density(at_days, tempos, cov, slope):
    """Of the days' differences, whatever the level."""
    differences = np.diff(np.eye(len(at_days)), axis=0)
    mean = differences @ (slope * at_days)
    return scipy.stats.multivariate_normal(mean, differences @ cov @ differences.T).logpdf(
        differences @ tempos
    )


def made_up_days(seed, count=9, per_day=0.004):
    rng = np.random.default_rng(seed)
    at_days = np.cumsum(rng.integers(1, 5, count)) + rng.uniform(0, 0.4, count)
    at_days -= at_days[-1]
    return at_days, 4.4 + per_day * at_days + rng.normal(0, 0.04, count), rng.uniform(0.02, 0.09, count)


def test_each_line_is_that_of_generalised_least_squares():
    at_days, tempos, sds = made_up_days(1)
    found = lines_through(at_days, tempos, sds)
    for number, (off, keeps) in enumerate(STREAKS):
        cov = covariance(at_days, sds, off, keeps)
        expected = sm.GLS(tempos, sm.add_constant(at_days), sigma=cov).fit(cov_type="fixed scale")
        assert found.slope[number] == pytest.approx(expected.params[1])
        assert math.sqrt(found.variance[number]) == pytest.approx(expected.bse[1])


def test_how_likely_a_line_is_is_the_density_of_the_days_differences():
    at_days, tempos, sds = made_up_days(2)
    found = lines_through(at_days, tempos, sds)
    expected = [
        log_density(at_days, tempos, covariance(at_days, sds, *streak), slope)
        for streak, slope in zip(STREAKS, found.slope, strict=True)
    ]
    assert found.fit - found.fit[0] == pytest.approx(np.array(expected) - expected[0], abs=1e-8)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("per_day", [-0.004, 0.0, 0.012])
def test_the_e_value_is_the_mixture_over_the_largest_of_what_does_not_rise(side, per_day):
    at_days, tempos, sds = made_up_days(3, per_day=per_day)

    def likely(streak, slope):
        return math.exp(log_density(at_days, tempos, covariance(at_days, sds, *streak), slope))

    def weighed(size, streak):
        law = scipy.stats.halfnorm(scale=STEEP_PER_DAY)
        return law.pdf(size) * likely(streak, side * size)

    mixture = sum(
        math.exp(weight) * scipy.integrate.quad(weighed, 0, 0.08, args=(streak,), limit=200)[0]
        for weight, streak in zip(LOG_WEIGHT, STREAKS, strict=True)
    )
    against = max(likely(streak, -side * size) for streak in STREAKS for size in np.linspace(0, 0.03, 301))
    found = log_evidence(lines_through(at_days, tempos, sds), side)
    assert found == pytest.approx(math.log(mixture / against), abs=0.01)


@given(st.integers(0, 10_000), st.integers(0, len(STREAKS) - 1), st.floats(-0.03, 0), st.floats(-0.02, 0.02))
@settings(max_examples=60, deadline=None)
def test_it_is_never_more_than_the_ratio_to_any_one_line_that_does_not_rise(seed, number, slope, per_day):
    """That ratio is a martingale when the line is the true one: so Ville's inequality holds for the
    e-value."""
    at_days, tempos, sds = made_up_days(seed, count=6, per_day=per_day)
    found = lines_through(at_days, tempos, sds)
    wide = found.variance + STEEP_PER_DAY**2
    rises = (
        found.fit
        - 0.5 * found.slope**2 / wide
        + 0.5 * np.log(found.variance / wide)
        + scipy.stats.norm.logcdf(found.slope * STEEP_PER_DAY / np.sqrt(found.variance * wide))
        + math.log(2)
    )
    mixture = scipy.special.logsumexp(rises + LOG_WEIGHT)
    one_line = found.fit[number] - 0.5 * (slope - found.slope[number]) ** 2 / found.variance[number]
    assert log_evidence(found, 1) <= mixture - one_line + 1e-9
