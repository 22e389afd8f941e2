"""Is practice working? A line through the days, drawn from the takes themselves.

Every day's takes give a likelihood over the clean tempo of that day, with no
prior and no point estimate between, so an uncertain day counts for little and a
day of all passes says "at least". The log clean tempo is a straight line in
time, from which each day stands off by a day effect: mostly small, now and then
large (a contaminated normal, J. W. Tukey, "A survey of sampling from contaminated
distributions", 1960), so that one bad day cannot turn the line. The belief over
(tempo now, gain a day) is kept on a grid; the verdicts are read off it.

Days are counted in elapsed time (UTC), so gaps weigh as they should and neither
a journey nor a clock that was set back breaks anything: takes are put in order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from enum import Enum, StrEnum, auto
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.rules import FIRST
from pedaltrainer.practice.take import Outcome, Take

Array = NDArray[np.float64]

SITTING_GAP_H = 5.0
"""Takes with no longer pause between them belong to one day's measurement."""
DAY_EFFECTS = (0.003, 0.03)
"""Usual sizes of a day's effect on the log clean tempo; which of them holds is learnt from the days."""
BAD_DAY_SHARE, BAD_DAY_SD = 0.08, 0.15
SURE = 0.95
"""The chance from which a rise or a fall is told: by simulation, so that of a hundred flat players
looked at on one day no more than five are told "rising", also when days differ by 2 %."""
FLAT_PER_DAY, SURE_FLAT = 0.0025, 0.80
"""Within a quarter of a per cent a day either way is flat, when it is this likely."""
WIDEST_PER_DAY = 0.05
BENT = 2.5
"""How much steeper a straight line is than the bent curve it was laid through, at its end: 1.5 by the law
itself, more where the first days were the best. Chosen by trying made-up players who follow the law."""
FAR_AHEAD_DAYS = 2 * 365
FEWEST_DAYS = 3

SLOPES, LEVELS = 49, 49
TAKES_A_LOGARITHM = 16
"""Likelihoods are multiplied, which is quick, so many times before their logarithm is taken: no answer is
less likely than 1 in 100,000 anywhere, so the product stays far from where numbers end."""


class Verdict(StrEnum):
    RISING = "rising"
    FALLING = "falling"
    FLAT = "flat"
    TOO_EARLY = "too early to say"


@dataclass(frozen=True, slots=True, eq=False)
class Sitting:
    """What one sitting's takes say: likelihood over (spread, log clean tempo), its largest value 1.

    fastest_clean_bpm: of the takes that were clean; 0 when none was, or when it is not asked for.
    """

    at_days: float
    likelihood: Array = field(repr=False)
    takes: int
    fastest_clean_bpm: float = 0.0


class Outlook(Enum):
    """What can be said of when a target is reached."""

    TOO_EARLY = auto()
    NEVER_CLEAN = auto()
    """Too early too: no take has been clean at that tempo yet."""
    NEARLY = auto()
    """The line through the days is there, and what was found last is not sure enough of it."""
    REACHED = auto()
    NOT_AT_THIS_RATE = auto()
    DATED = auto()


@dataclass(frozen=True, slots=True)
class Reach:
    """When a target would be reached at this rate.

    earliest: only of one that is DATED, where latest None means that it may take longer than two years.
    """

    outlook: Outlook
    earliest: date | None = None
    latest: date | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Trend:
    """The verdict with its probability, and the rate in log tempo a day with its 90 % interval."""

    verdict: Verdict
    probability: float
    per_day: float
    per_day_low: float
    per_day_high: float
    days: int
    last: datetime | None = None
    fastest_clean_bpm: float = 0.0
    span_days: float = 0.0
    """From the first day to the last."""
    belief: Array = field(default_factory=lambda: np.ones((1, 1)), repr=False)
    slopes: Array = field(default_factory=lambda: np.zeros(1), repr=False)
    levels: Array = field(default_factory=lambda: np.zeros(1), repr=False)

    def when_reached(self, target_bpm: float) -> Reach:
        """The range of dates at which a target is reached, or why there is none.

        The early date has the line go on as it is (one chance in ten of being earlier); the late one has it
        bend as practice does. By the power law (A. Newell and P. Rosenbloom, "Mechanisms of skill
        acquisition and the law of practice", 1981) log tempo grows with the logarithm of the time practised,
        so what a line reaches in d days takes T * (exp(BENT * d / T) - 1), T being the days so far.
        Raises ValueError unless target_bpm > 0.
        """
        if not 0 < target_bpm < math.inf:
            raise ValueError(f"{target_bpm} BPM is no target")
        if self.last is None or self.days < FEWEST_DAYS:
            return Reach(Outlook.TOO_EARLY)
        to_go = math.log(target_bpm) - self.levels[None, :]
        if self.belief[np.broadcast_to(to_go <= 0, self.belief.shape)].sum() >= 0.5:
            # Takes that never failed say "at least": belief above them is no reason to say it is there.
            if self.fastest_clean_bpm < target_bpm:
                return Reach(Outlook.NEVER_CLEAN)
            return Reach(Outlook.REACHED)
        with np.errstate(divide="ignore", invalid="ignore"):
            days = np.where(self.slopes[:, None] > 0, to_go / self.slopes[:, None], math.inf)
        days = np.where(to_go <= 0, 0.0, days)
        order = np.argsort(days, axis=None)
        below = np.cumsum(self.belief.ravel()[order])
        early, late = (
            float(days.ravel()[order[min(int(np.searchsorted(below, q)), len(order) - 1)]])
            for q in (0.1, 0.9)
        )
        if self.verdict is not Verdict.RISING or early > FAR_AHEAD_DAYS:
            early_days = self.verdict is Verdict.TOO_EARLY
            return Reach(Outlook.TOO_EARLY if early_days else Outlook.NOT_AT_THIS_RATE)
        late = self.span_days * math.expm1(min(BENT * late / self.span_days, 50.0))
        earliest = self.last.date() + timedelta(days=math.floor(early))
        if late > FAR_AHEAD_DAYS:
            return Reach(Outlook.DATED, earliest)
        return Reach(Outlook.DATED, earliest, self.last.date() + timedelta(days=math.ceil(late)))


def days_of(dated: Iterable[tuple[datetime, Take]]) -> tuple[Sitting, ...]:
    """The takes gathered into sittings, in order of time. at_days counts from the first take.

    Void takes are left out. Raises ValueError for a time without a time zone.
    """
    kept = [(as_utc(when), take) for when, take in dated if take.outcome is not Outcome.VOID]
    kept.sort(key=lambda pair: pair[0])
    days: list[Sitting] = []
    sitting: list[tuple[datetime, Take]] = []
    for when, take in kept:
        if sitting and when - sitting[-1][0] > timedelta(hours=SITTING_GAP_H):
            days.append(_day(sitting, kept[0][0]))
            sitting = []
        sitting.append((when, take))
    if sitting:
        days.append(_day(sitting, kept[0][0]))
    return tuple(days)


def _day(sitting: Sequence[tuple[datetime, Take]], start: datetime) -> Sitting:
    log_likelihood = np.zeros((len(ct.SPREADS), len(ct.LOG_TEMPOS)))
    for first in range(0, len(sitting), TAKES_A_LOGARITHM):
        product = np.ones_like(log_likelihood)
        for _, take in sitting[first : first + TAKES_A_LOGARITHM]:
            product *= ct.take_likelihood(take)
        log_likelihood += np.log(product)
    mean_s = sum((when - start).total_seconds() for when, _ in sitting) / len(sitting)
    fastest_bpm = max((take.tempo_bpm for _, take in sitting if take.outcome is Outcome.PASS_), default=0.0)
    return Sitting(mean_s / 86_400, np.exp(log_likelihood - log_likelihood.max()), len(sitting), fastest_bpm)


def trend_of(dated: Iterable[tuple[datetime, Take]]) -> Trend:
    """The trend of dated takes of one drill. Times carry their time zone."""
    dated = list(dated)
    last = max((as_utc(when) for when, take in dated if take.outcome is not Outcome.VOID), default=None)
    return trend(days_of(dated), last)


def trend(days: Sequence[Sitting], last: datetime | None = None) -> Trend:
    """The trend over days. With fewer than three days, or all within a day, too early to say."""
    fastest_bpm = max((day.fastest_clean_bpm for day in days), default=0.0)
    if len(days) < FEWEST_DAYS or days[-1].at_days - days[0].at_days < 1.0:
        return Trend(
            Verdict.TOO_EARLY, 0.5, 0.0, -WIDEST_PER_DAY, WIDEST_PER_DAY, len(days), last, fastest_bpm
        )
    before_last = np.array([day.at_days for day in days]) - days[-1].at_days
    told = np.stack([day.likelihood for day in days])
    slopes, levels = _where_to_look(told, before_last)
    by_effect = np.stack([told @ _standing_off(effect) for effect in DAY_EFFECTS], axis=1)
    log_belief = _log_belief(by_effect, before_last, slopes, levels)
    belief = np.exp(log_belief - log_belief.max()).sum(axis=(0, 1))
    belief /= belief.sum()
    over_slopes = belief.sum(axis=1)
    low, middle, high = (_quantile(slopes, over_slopes, q) for q in (0.05, 0.5, 0.95))
    verdict, chance = _verdict(slopes, over_slopes)
    span_days = -float(before_last[0])
    rate = (middle, low, high)
    return Trend(verdict, chance, *rate, len(days), last, fastest_bpm, span_days, belief, slopes, levels)


def _verdict(slopes: Array, over_slopes: Array) -> tuple[Verdict, float]:
    up = _above(slopes, over_slopes, 0.0)
    flat = _above(slopes, over_slopes, -FLAT_PER_DAY) - _above(slopes, over_slopes, FLAT_PER_DAY)
    if up >= SURE:
        return Verdict.RISING, up
    if 1 - up >= SURE:
        return Verdict.FALLING, 1 - up
    if flat >= SURE_FLAT:
        return Verdict.FLAT, flat
    return Verdict.TOO_EARLY, max(up, 1 - up)


def as_utc(when: datetime) -> datetime:
    """The moment in UTC. Raises ValueError for one without a time zone."""
    if when.tzinfo is None:
        raise ValueError(f"{when.isoformat()} has no time zone")
    return when.astimezone(UTC)


@lru_cache(maxsize=len(DAY_EFFECTS))
def _standing_off(effect_sd: float) -> Array:
    """The chance of a day's clean tempo given the line's: [tempos, tempos], a contaminated normal."""
    off = ct.LOG_TEMPOS[:, None] - ct.LOG_TEMPOS[None, :]
    offsets = np.arange(-len(ct.LOG_TEMPOS), len(ct.LOG_TEMPOS) + 1) * ct.GRID_STEP

    def normal(sd: float) -> Array:
        # Over its sum on the grid: a bell narrower than a step must not weigh more than a wide one.
        bell: Array = np.exp(-0.5 * (off / sd) ** 2) / np.exp(-0.5 * (offsets / sd) ** 2).sum()
        return bell

    return (1 - BAD_DAY_SHARE) * normal(effect_sd) + BAD_DAY_SHARE * normal(BAD_DAY_SD)


def _where_to_look(told: Array, before_last: Array) -> tuple[Array, Array]:
    """Slopes and levels (at the last day) wide enough to hold the belief, from a weighted line."""
    by_day = told.sum(axis=1)
    weight = by_day / by_day.sum(axis=1, keepdims=True)
    mean = weight @ ct.LOG_TEMPOS
    variance = np.maximum(weight @ ct.LOG_TEMPOS**2 - mean**2, 0.0) + 0.02**2
    design = np.stack([np.ones_like(before_last), before_last], axis=1)
    spread = np.linalg.inv(design.T @ (design / variance[:, None]))
    level, slope = spread @ design.T @ (mean / variance)
    # A bad day pulls this line and not the belief: look well beyond its errors.
    level_sd, slope_sd = 2 * np.sqrt(np.diag(spread))
    slopes = np.linspace(slope - 4 * slope_sd, slope + 4 * slope_sd, SLOPES)
    levels = np.linspace(level - 4 * level_sd, level + 4 * level_sd, LEVELS)
    return slopes, levels


def _log_belief(told: Array, before_last: Array, slopes: Array, levels: Array) -> Array:
    """Log of the likelihood of every (effect, spread, slope, level), times the priors of spread and slope.

    told: [days, effects, spreads, tempos]. A player's spread is the same on every day: what it does to
    the level it does to all days alike, and so not to the slope.
    """
    days_told, effects, spreads, tempos = told.shape
    log_told = np.log(np.maximum(told, 1e-300)).reshape(days_told, effects * spreads, tempos)
    rises = np.diff(log_told, axis=2)
    log_belief = np.zeros((effects * spreads, len(slopes), len(levels)))
    for likelihood, rise, days in zip(log_told, rises, before_last, strict=True):
        at = (levels[None, :] + slopes[:, None] * days - ct.LOG_TEMPOS[0]) / ct.GRID_STEP
        at = np.clip(at, 0, len(ct.LOG_TEMPOS) - 1.000001)
        index = at.astype(np.int64)
        # Clipped already; saying so spares a check of every place, a quarter of the time.
        log_belief += np.take(likelihood, index, axis=1, mode="clip")
        part = np.take(rise, index, axis=1, mode="clip")
        part *= at - index
        log_belief += part
    log_belief = log_belief.reshape(effects, spreads, len(slopes), len(levels))
    log_belief -= 0.5 * (slopes[:, None] / (WIDEST_PER_DAY / 2)) ** 2
    log_belief += np.log(np.maximum(ct.spread_prior(FIRST), 1e-300))[:, None, None]
    return log_belief


def _above(slopes: Array, over_slopes: Array, limit: float) -> float:
    """The belief in slopes above a limit; each slope's share lies evenly over its own step."""
    step = slopes[1] - slopes[0]
    part = np.clip((slopes + step / 2 - limit) / step, 0.0, 1.0)
    return float((over_slopes * part).sum())


def _quantile(slopes: Array, over_slopes: Array, share: float) -> float:
    step = slopes[1] - slopes[0]
    edges = np.append(slopes - step / 2, slopes[-1] + step / 2)
    return float(np.interp(share, np.concatenate([[0.0], np.cumsum(over_slopes)]), edges))
