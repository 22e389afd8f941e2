"""Straight lines through days that differ, and whether they rise: a proof that holds whenever one looks.

Model. A day's log clean tempo, as measured, is level + slope * t + u + e: e normal with the day's own known
sd, u the day's effect, normal too, with an sd and a share that is left of it a day later (an AR(1) in elapsed
time): good days and bad ones come in streaks. Which streak is a player's nobody knows; STREAKS are all that
are thought of. The level is integrated out under a flat prior, which leaves the density of the days'
differences (the restricted likelihood; D. A. Harville 1974).

Proof. Take any one line that does not rise: slope b <= 0, streak s, density p(b, s) of all days so far. Let q
be a mixture of such densities over rising slopes and over streaks, its weights fixed beforehand. Were the
player that line, q / p(b, s) would be a ratio of densities of data that grow from day to day: a martingale
that begins at 1, and so ever reaches 20 with a chance of 1 in 20 at most, however often one looks (J. Ville,
"Étude critique de la notion de collectif", 1939). Which line it is nobody knows: what is told divides q by
the largest p of all lines that do not rise, so it is never more than that ratio, whichever line holds. That
makes it an e-value for the whole composite null (L. Wasserman, A. Ramdas, S. Balakrishnan, "Universal
inference", PNAS 117, 2020; S. Howard, A. Ramdas, J. McAuliffe, J. Sekhon, "Time-uniform, nonparametric,
nonasymptotic confidence sequences", Annals of Statistics 49, 2021). Titles from memory.

The proof is of normal days with known sds; days told by takes are that nearly. docs/evidence/measuring.md has
what it comes to with the program's own takes, and with streaks that are not thought of here.
"""

from __future__ import annotations

import math
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STREAKS: Array = np.array(
    [(0.0, 0.0), *product((0.01, 0.02, 0.03, 0.04), (0.0, 0.35, 0.7)), (0.08, 0.0), (0.16, 0.0)]
)
"""(sd of a day's effect in log tempo, share left of it a day later): rows. The last two: days that tell
little."""
_weight = np.where(STREAKS[:, 0] <= 0.02, 1.0, 0.2)
LOG_WEIGHT: Array = np.log(_weight / _weight.sum())
"""What is believed of streaks, and what a rise is looked for with: days that differ little."""
STEEP_PER_DAY = 0.01
"""The sd of the half-normal law of slopes that a rise is looked for with. Chosen by simulation."""
WIDEST_PER_DAY = 0.05
"""Slopes are believed to be normal around none, this far with two standard deviations."""


class LineFits(NamedTuple):
    """The lines through the days, one a streak. Each array has the first axis [streaks].

    fit: log likelihood of the best line, the level integrated out, but for a constant. slope, variance: where
    that line is and how flat its peak. share: of the belief, which is normal over (level at time 0, slope)
    with mean [streaks, 2] and covariance [streaks, 2, 2].
    """

    fit: Array
    slope: Array
    variance: Array
    share: Array
    mean: Array
    covariance: Array


def lines_through(at_days: Array, log_tempos: Array, sds: Array) -> LineFits:
    """The lines through two days or more, in order of time. All arrays: [days]."""
    gram, log_size = _whitened(np.stack([np.ones_like(at_days), at_days, log_tempos], axis=1), sds)
    # The level first: what is left of time and tempo beside it.
    left = gram[:, 1:, 1:] - gram[:, 1:, :1] * gram[:, :1, 1:] / gram[:, :1, :1]
    slope, variance = left[:, 0, 1] / left[:, 0, 0], 1 / left[:, 0, 0]
    fit = -0.5 * (log_size + np.log(gram[:, 0, 0]) + left[:, 1, 1] - slope**2 / variance)
    prior = (WIDEST_PER_DAY / 2) ** 2
    covariance = np.linalg.inv(gram[:, :2, :2] + np.diag([0.0, 1 / prior])).astype(np.float64)
    mean: Array = (covariance @ gram[:, :2, 2:])[:, :, 0]
    wide = variance + prior
    log_share = LOG_WEIGHT + fit - 0.5 * slope**2 / wide + 0.5 * np.log(variance / wide)
    share: Array = np.exp(log_share - np.logaddexp.reduce(log_share))
    return LineFits(fit, slope, variance, share, mean, covariance)


def _whitened(columns: Array, sds: Array) -> tuple[Array, Array]:
    """columns' K^-1 columns and log |K| for the days' covariance K, each a streak: one pass over the days
    (the filter of R. E. Kalman, 1960), where a matrix of days by days would cost their third power."""
    streak_variance, keeps = STREAKS[:, 0] ** 2, STREAKS[:, 1]
    effect, variance = np.zeros((len(STREAKS), columns.shape[1])), streak_variance
    gram, log_size = np.zeros((len(STREAKS), columns.shape[1], columns.shape[1])), np.zeros(len(STREAKS))
    gaps = np.diff(columns[:, 1], prepend=-math.inf)
    for column, sd, gap in zip(columns, sds, gaps, strict=True):
        left = keeps**gap
        effect = left[:, None] * effect
        variance = left**2 * variance + (1 - left**2) * streak_variance
        seen = variance + sd**2
        off = column - effect
        gram += off[:, :, None] * (off / seen[:, None])[:, None, :]
        log_size += np.log(seen)
        gain = variance / seen
        effect = effect + gain[:, None] * off
        variance = variance * (1 - gain)
    return gram, log_size


def log_evidence(lines: LineFits, side: int) -> float:
    """Log of the e-value against every line that does not go to a side: 1 for a rise, -1 for a fall."""
    slope, variance = side * lines.slope, lines.variance
    wide = variance + STEEP_PER_DAY**2
    # The half-normal's integral: a normal law's, times twice the chance that its slope is on this side.
    there = [below(each) for each in slope * STEEP_PER_DAY / np.sqrt(variance * wide)]
    rises = lines.fit - 0.5 * slope**2 / wide + 0.5 * np.log(variance / wide) + np.log(2 * np.array(there))
    does_not = lines.fit - 0.5 * np.maximum(slope, 0.0) ** 2 / variance
    return float(np.logaddexp.reduce(rises + LOG_WEIGHT) - does_not.max())


def chance_above(lines: LineFits, per_day: float) -> float:
    """The belief that the slope is above a limit."""
    z = (lines.mean[:, 1] - per_day) / np.sqrt(lines.covariance[:, 1, 1])
    return float(lines.share @ [below(each) for each in z])


def moments(lines: LineFits) -> tuple[Array, Array]:
    """Mean [2] and covariance [2, 2] of (level at time 0, slope), over all streaks."""
    mean = lines.share @ lines.mean
    apart = lines.mean - mean
    spread = lines.covariance + apart[:, :, None] * apart[:, None, :]
    return mean, np.einsum("s,sij->ij", lines.share, spread)


def below(z: float) -> float:
    """The standard normal law's distribution function; never quite 0, so that it has a logarithm."""
    return max(0.5 * math.erfc(-z / math.sqrt(2)), 1e-300)
