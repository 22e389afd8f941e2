"""Is practice working? A line through the days, drawn from the takes themselves.

Every day's takes give a likelihood over the clean tempo of that day, with no prior and no history between, so
an uncertain day counts for little and a day of all passes says "at least". Near the line each day then is a
normal law of its own (expectation propagation; T. P. Minka 2001). A day far off the rest counts for less, by
how likely it is a bad one (a contaminated normal, J. W. Tukey, "A survey of sampling from contaminated
distributions", 1960), so that one bad day cannot turn the line. What the days say together, and why one may
look for "rising" every day, is in `lines`.

Days are counted in elapsed time (UTC), so gaps weigh as they should and neither
a journey nor a clock that was set back breaks anything: takes are put in order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from enum import Enum, StrEnum, auto

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.lines import (
    WIDEST_PER_DAY,
    below,
    chance_above,
    lines_through,
    log_evidence,
    moments,
)
from pedaltrainer.practice.take import Outcome, Take

Array = NDArray[np.float64]

SITTING_GAP_H = 5.0
"""Takes with no longer pause between them belong to one day's measurement."""
PROVEN = 20.0
"""The e-value from which a rise or a fall is told: of a hundred players who do not rise, five at most are
ever told "rising", however often they look."""
LEANING = 0.95
"""The chance from which it is told to lean a way. That claims nothing: who looks often may well be told
so."""
FLAT_PER_DAY, SURE_FLAT = 0.0025, 0.80
"""Within a quarter of a per cent a day either way is flat, when it is this likely."""
NINE_IN_TEN = 1.645
"""Standard deviations either side of the mean that hold 90 % of a normal law."""
USUALLY_OFF, BAD_DAY_SHARE, BAD_DAY_SD = 0.03, 0.08, 0.15
"""How far a day stands off the line, in log tempo; of twelve one is bad, and stands off so much further."""
NEAR_THE_LINE, TELLS_NOTHING, FARTHEST_OFF = 0.05, 3.0, 0.3
"""How near the line a day's likelihood is looked at; the sd of a day that tells nothing there, and how far
off the line it may be put: a day of all passes would be put anywhere."""
ROUNDS = 5
"""By then line and days agree to a hundredth of their errors."""
BENT = 2.5
"""How much steeper a straight line is than the bent curve it was laid through, at its end: 1.5 by the law
itself, more where the first days were the best. Chosen by trying made-up players who follow the law."""
FAR_AHEAD_DAYS = 2 * 365
FEWEST_DAYS = 3
TAKES_A_LOGARITHM = 16
"""Likelihoods are multiplied, which is quick, so many times before their logarithm is taken: no answer is
less likely than 1 in 100,000 anywhere, so the product stays far from where numbers end."""


class Verdict(StrEnum):
    RISING = "rising"
    LEANING_UP = "leaning up"
    FLAT = "flat"
    LEANING_DOWN = "leaning down"
    FALLING = "falling"
    TOO_EARLY = "too early to say"

    @property
    def claims(self) -> bool:
        """Is this told as known, and not only as how it looks so far?"""
        return self in {Verdict.RISING, Verdict.FLAT, Verdict.FALLING}


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
    """The verdict with its probability, and the rate in log tempo a day with its 90 % interval.

    line: mean [2] and covariance [2, 2] of (log tempo at the last day, gain a day); None before the third.
    """

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
    line: tuple[Array, Array] | None = field(default=None, repr=False)

    def at(self, days: float) -> tuple[float, float]:
        """The log tempo on the line so many days after the last one, and its standard deviation.

        Raises ValueError before the third day.
        """
        if self.line is None:
            raise ValueError("no line yet")
        (mean, covariance), along = self.line, np.array([1.0, days])
        return float(along @ mean), math.sqrt(float(along @ covariance @ along))

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
        if self.last is None or self.line is None:
            return Reach(Outlook.TOO_EARLY)
        is_there, was_clean = self._chance_reached(target_bpm, 0) >= 0.5, self.fastest_clean_bpm >= target_bpm
        # Takes that never failed say "at least": belief above them is no reason to say it is there.
        if not was_clean and (is_there or not self.verdict.claims):
            return Reach(Outlook.NEVER_CLEAN)
        if is_there:
            return Reach(Outlook.REACHED)
        early, late = (self._days_until(target_bpm, chance) for chance in (0.1, 0.9))
        if self.verdict is not Verdict.RISING or early is None:
            return Reach(Outlook.NOT_AT_THIS_RATE if self.verdict.claims else Outlook.TOO_EARLY)
        earliest = self.last.date() + timedelta(days=early)
        bent = math.inf if late is None else math.expm1(min(BENT * late / self.span_days, 50.0))
        if self.span_days * bent > FAR_AHEAD_DAYS:
            return Reach(Outlook.DATED, earliest)
        latest = self.last.date() + timedelta(days=math.ceil(self.span_days * bent))
        return Reach(Outlook.DATED, earliest, latest)

    def _chance_reached(self, target_bpm: float, days: int) -> float:
        middle, sd = self.at(days)
        return below((middle - math.log(target_bpm)) / sd)

    def _days_until(self, target_bpm: float, chance: float) -> int | None:
        """Whole days until the line has reached a target with this chance; None within two years."""
        ahead = range(FAR_AHEAD_DAYS + 1)
        return next((day for day in ahead if self._chance_reached(target_bpm, day) >= chance), None)


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
        wide = (0.0, -WIDEST_PER_DAY, WIDEST_PER_DAY)
        return Trend(Verdict.TOO_EARLY, 0.5, *wide, len(days), last, fastest_bpm)
    before_last = np.array([day.at_days for day in days]) - days[-1].at_days
    tempos, sds, shared = day_tempos(before_last, np.stack([day.likelihood for day in days]))
    lines = lines_through(before_last, tempos, sds)
    up = chance_above(lines, 0.0)
    flat = chance_above(lines, -FLAT_PER_DAY) - chance_above(lines, FLAT_PER_DAY)
    # The first that holds is told, with its chance.
    verdict, chance = next(
        (verdict, chance)
        for verdict, chance, holds in (
            (Verdict.RISING, up, log_evidence(lines, 1) >= math.log(PROVEN)),
            (Verdict.FALLING, 1 - up, log_evidence(lines, -1) >= math.log(PROVEN)),
            (Verdict.FLAT, flat, flat >= SURE_FLAT),
            (Verdict.LEANING_UP, up, up >= LEANING),
            (Verdict.LEANING_DOWN, 1 - up, 1 - up >= LEANING),
            (Verdict.TOO_EARLY, max(up, 1 - up), True),
        )
        if holds
    )
    mean, covariance = moments(lines)
    rate, off = float(mean[1]), NINE_IN_TEN * math.sqrt(float(covariance[1, 1]))
    rates, span_days = (rate, rate - off, rate + off), -float(before_last[0])
    covariance[0, 0] += shared
    return Trend(verdict, chance, *rates, len(days), last, fastest_bpm, span_days, (mean, covariance))


def as_utc(when: datetime) -> datetime:
    """The moment in UTC. Raises ValueError for one without a time zone."""
    if when.tzinfo is None:
        raise ValueError(f"{when.isoformat()} has no time zone")
    return when.astimezone(UTC)


def day_tempos(at_days: Array, likelihoods: Array) -> tuple[Array, Array, float]:
    """Each day's log clean tempo and its sd: the normal law that stands in for its likelihood near the line.

    Last, the variance that the days share: a player's spread is one, and shifts all days alike.
    likelihoods: [days, spreads, tempos]. One that is normal is told as it is, wherever the line.
    """
    told = np.maximum(np.moveaxis(likelihoods, 1, 0), 1e-300)
    tempos, variances = _moments(told)
    bad = np.zeros_like(tempos)
    for _ in range(ROUNDS):
        centres = _line(at_days, tempos, 1 / (variances + bad * BAD_DAY_SD**2 + USUALLY_OFF**2))
        near = told * np.exp(-0.5 * ((ct.LOG_TEMPOS - centres[..., None]) / NEAR_THE_LINE) ** 2)
        means, within = _moments(near)
        variances = 1 / np.maximum(1 / within - 1 / NEAR_THE_LINE**2, 1 / TELLS_NOTHING**2)
        # What the look round the line has pulled in is given back.
        back = (means - centres) * variances / within
        tempos = centres + np.clip(back, -FARTHEST_OFF, FARTHEST_OFF)
        usual, worse = variances + USUALLY_OFF**2, variances + BAD_DAY_SD**2
        log_odds = 0.5 * ((tempos - centres) ** 2 * (1 / usual - 1 / worse) - np.log(worse / usual))
        bad = 1 / (1 + (1 / BAD_DAY_SHARE - 1) * np.exp(-log_odds))
    log_share = np.log(ct.spread_prior() + 1e-300) + np.log(near.sum(axis=2)).sum(axis=1)
    share = np.exp(log_share - log_share.max())
    share /= share.sum()
    shared = share @ (centres[:, -1] - share @ centres[:, -1]) ** 2
    return share @ tempos, np.sqrt(share @ (variances + bad * BAD_DAY_SD**2)), float(shared)


def _line(at_days: Array, log_tempos: Array, weights: Array) -> Array:
    """Where weighted lines are on each day, within the tempos there are. All but at_days: [spreads, days]."""
    weights = weights / weights.sum(axis=1, keepdims=True)
    off = at_days - weights @ at_days[:, None]
    level, along, square = (
        (weights * each).sum(axis=1, keepdims=True) for each in (log_tempos, off * log_tempos, off**2)
    )
    line: Array = np.clip(level + along / square * off, ct.LOG_TEMPOS[0], ct.LOG_TEMPOS[-1])
    return line


def _moments(told: Array) -> tuple[Array, Array]:
    """Mean and variance over the log tempos, of rows that need not sum to 1."""
    share = told / told.sum(axis=-1, keepdims=True)
    mean = share @ ct.LOG_TEMPOS
    return mean, np.maximum(share @ ct.LOG_TEMPOS**2 - mean**2, 0.0) + ct.GRID_STEP**2 / 12
