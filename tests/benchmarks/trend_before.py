"""The trend's verdict as it was told before: by today's chance alone, which holds on one day and not on
thirty.

The belief over (tempo now, gain a day) on a grid, from the days' likelihoods and a day effect of 0.3 or 3 %,
one day in twelve far off; rising or falling when the chance of it is 95 % at least, flat when that of a
quarter of a per cent a day at most is 80 %. Kept for the tables in docs/evidence/measuring.md alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.lines import WIDEST_PER_DAY
from pedaltrainer.practice.rules import FIRST
from pedaltrainer.practice.trend import BAD_DAY_SD, BAD_DAY_SHARE, FLAT_PER_DAY, SURE_FLAT, Sitting, Verdict

Array = NDArray[np.float64]
DAY_EFFECTS, SURE, STEPS = (0.003, 0.03), 0.95, 49


def verdict_before(days: Sequence[Sitting]) -> Verdict:
    """What would have been told over three days or more."""
    before_last = np.array([day.at_days for day in days]) - days[-1].at_days
    told = np.stack([day.likelihood for day in days])
    slopes, levels = _where_to_look(told, before_last)
    by_effect = np.stack([told @ _standing_off(effect) for effect in DAY_EFFECTS], axis=1)
    log_belief = _log_belief(by_effect, before_last, slopes, levels)
    over_slopes = np.exp(log_belief - log_belief.max()).sum(axis=(0, 1, 3))
    over_slopes /= over_slopes.sum()
    up, flat_up, flat_down = (_above(slopes, over_slopes, at) for at in (0.0, FLAT_PER_DAY, -FLAT_PER_DAY))
    if max(up, 1 - up) >= SURE:
        return Verdict.RISING if up >= SURE else Verdict.FALLING
    return Verdict.FLAT if flat_down - flat_up >= SURE_FLAT else Verdict.TOO_EARLY


@lru_cache
def _standing_off(effect_sd: float) -> Array:
    off = ct.LOG_TEMPOS[:, None] - ct.LOG_TEMPOS[None, :]
    offsets = np.arange(-len(ct.LOG_TEMPOS), len(ct.LOG_TEMPOS) + 1) * ct.GRID_STEP

    def normal(sd: float) -> Array:
        # Over its sum on the grid: a bell narrower than a step must not weigh more than a wide one.
        bell: Array = np.exp(-0.5 * (off / sd) ** 2) / np.exp(-0.5 * (offsets / sd) ** 2).sum()
        return bell

    return (1 - BAD_DAY_SHARE) * normal(effect_sd) + BAD_DAY_SHARE * normal(BAD_DAY_SD)


def _where_to_look(told: Array, before_last: Array) -> tuple[Array, Array]:
    by_day = told.sum(axis=1)
    weight = by_day / by_day.sum(axis=1, keepdims=True)
    mean = weight @ ct.LOG_TEMPOS
    variance = np.maximum(weight @ ct.LOG_TEMPOS**2 - mean**2, 0.0) + 0.02**2
    design = np.stack([np.ones_like(before_last), before_last], axis=1)
    spread = np.linalg.inv(design.T @ (design / variance[:, None]))
    level, slope = spread @ design.T @ (mean / variance)
    level_sd, slope_sd = 2 * np.sqrt(np.diag(spread))
    slopes = np.linspace(slope - 4 * slope_sd, slope + 4 * slope_sd, STEPS)
    levels = np.linspace(level - 4 * level_sd, level + 4 * level_sd, STEPS)
    return slopes, levels


def _log_belief(told: Array, before_last: Array, slopes: Array, levels: Array) -> Array:
    days_told, effects, spreads, tempos = told.shape
    log_told = np.log(np.maximum(told, 1e-300)).reshape(days_told, effects * spreads, tempos)
    rises = np.diff(log_told, axis=2)
    log_belief = np.zeros((effects * spreads, len(slopes), len(levels)))
    for likelihood, rise, days in zip(log_told, rises, before_last, strict=True):
        at = (levels[None, :] + slopes[:, None] * days - ct.LOG_TEMPOS[0]) / ct.GRID_STEP
        at = np.clip(at, 0, len(ct.LOG_TEMPOS) - 1.000001)
        index = at.astype(np.int64)
        log_belief += np.take(likelihood, index, axis=1, mode="clip")
        part = np.take(rise, index, axis=1, mode="clip")
        part *= at - index
        log_belief += part
    log_belief = log_belief.reshape(effects, spreads, len(slopes), len(levels))
    log_belief -= 0.5 * (slopes[:, None] / (WIDEST_PER_DAY / 2)) ** 2
    log_belief += np.log(np.maximum(ct.spread_prior(FIRST), 1e-300))[:, None, None]
    return log_belief


def _above(slopes: Array, over_slopes: Array, limit: float) -> float:
    step = slopes[1] - slopes[0]
    part = np.clip((slopes + step / 2 - limit) / step, 0.0, 1.0)
    return float((over_slopes * part).sum())
