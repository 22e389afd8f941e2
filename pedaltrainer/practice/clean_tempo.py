"""The clean tempo: the tempo at which a take of eight landings is clean four times in five.

Model. With z = (log clean tempo - log tempo) / spread + log 4, eight landings
come out clean with chance 1 / (1 + exp(-z)): a logistic in log tempo that
passes 0.8 at the clean tempo. Landings share one chance of going wrong, so a
take of n is clean with the n/8-th power, and the first miss is geometric. An
answer is pressed wrong with a small chance (the lapse). A foot that speaks up
is late by about a quarter of a second, so the press says only roughly which
landing was the first miss.

Belief. A grid over (spread, log clean tempo), multiplied by the likelihood of
each answer: Bayes' rule without approximation but the grid's own
(A. B. Watson, "QUEST+: a general multidimensional Bayesian adaptive
psychometric method", Journal of Vision 17(3), 2017). Between takes the belief
spreads a little, because a hand warms up and tires.

Arrays have the axes [players, spreads, tempos]; a single player is a batch of
one, so simulations run exactly this code. docs/inside/measuring.md tells the rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice.counted import LAPSE, as_a_pass, missed_more, missed_once
from pedaltrainer.practice.foot import fit_of_landing, fit_of_press
from pedaltrainer.practice.rules import NOW, Rules
from pedaltrainer.practice.take import Outcome, Take

TOO_WIDE = 0.25
"""An interval wider than this either way, in log tempo, is not told as a number."""


Array = NDArray[np.float64]

CLEAN_LANDINGS = 8
CLEAN_CHANCE = 0.8
READY_CHANCE = 0.80
"""A drill is ready for a tempo when its clean tempo is at least that with this chance."""
CLEAN_LOGIT = math.log(CLEAN_CHANCE / (1 - CLEAN_CHANCE))

GRID_STEP = 0.015
LOG_TEMPOS: Array = np.arange(math.log(15), math.log(400), GRID_STEP)
EDGES: Array = np.append(LOG_TEMPOS - GRID_STEP / 2, LOG_TEMPOS[-1] + GRID_STEP / 2)
"""Where the steps of the grid begin, and where the last one ends."""
SPREADS: Array = np.append(np.geomspace(0.02, 0.13, 6), 0.189)
"""Spreads of the logistic, in natural log of the tempo: from a sharp limit to a hazy one."""

TYPICAL_BPM, TYPICAL_SD = 85.0, 0.45
TYPICAL_SPREAD = 0.05
"""What is believed of a player and a drill never seen. Ours: no published source."""
SPREAD_CHANGES = 0.1
"""How far the logarithm of a spread may differ from one sitting to the next."""

DRIFT_SD = 0.005
"""How far the log clean tempo may wander from one take to the next in a session. Chosen by simulation."""

DAY_SD = 0.04
"""How far one day differs from the next, in log tempo, whatever the days between."""
WEEK_SD = 0.06
"""How far a clean tempo wanders in a week; it grows with the root of the days."""
RELATED_SD = 0.20
"""How far the clean tempos of two related drills lie apart."""
SURPRISE = 0.04
"""The share of belief that stays with a player never seen, whatever the history says."""


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """What is believed of a player's clean tempo and spread.

    mass: [spreads, tempos], summing to 1, over SPREADS and LOG_TEMPOS; read-only.
    """

    mass: Array = field(repr=False)
    takes: int = 0

    def __post_init__(self) -> None:
        self.mass.setflags(write=False)


class Estimate(NamedTuple):
    """A clean tempo in BPM between low and high, which hold the asked share of belief."""

    bpm: float
    low_bpm: float
    high_bpm: float

    @property
    def half_width(self) -> float:
        """Half of the interval as a share of the tempo: 0.05 when it is +-5 %."""
        return math.sqrt(self.high_bpm / self.low_bpm) - 1


# --- before the first take ------------------------------------------------------


def prior(history: Iterable[PastResult] = (), rules: Rules = NOW, surprise: float = SURPRISE) -> Posterior:
    """What is believed before the first take.

    Each past result counts with its interval, widened by the days since, and with
    what it tells of the spread; a related drill counts with far less. A time in
    the future (a clock that was set back) counts as today. surprise: the share of
    belief that stays with a player never seen. Raises ValueError for tempos that are
    not positive.
    """
    spread = spread_prior(rules)
    shape = _bell(LOG_TEMPOS, math.log(TYPICAL_BPM), TYPICAL_SD)
    typical = shape
    known = False
    for past in history:
        if not 0 < past.low_bpm <= past.bpm <= past.high_bpm < math.inf:
            raise ValueError(f"no past result: {past.bpm} BPM, {past.low_bpm} to {past.high_bpm}")
        shape = shape * _bell(LOG_TEMPOS, math.log(past.bpm), _past_sd(past))
        known = True
        if past.spread is not None:
            spread = _bell(np.log(SPREADS), math.log(past.spread), math.hypot(past.spread_sd, SPREAD_CHANGES))
    if known:
        shape = (1 - surprise) * shape / shape.sum() + surprise * typical / typical.sum()
    mass = spread[:, None] * shape
    return Posterior(mass / mass.sum())


def spread_prior(rules: Rules = NOW) -> Array:
    """What is believed of a spread never seen, but for a factor: [spreads]."""
    return _bell(np.log(SPREADS), math.log(TYPICAL_SPREAD), rules.spread_sd) * (
        rules.widest_spread >= SPREADS
    )


def _past_sd(past: PastResult) -> float:
    interval = math.log(past.high_bpm / past.low_bpm) / 2 / 1.645
    days = max(0.0, past.days_ago) if math.isfinite(past.days_ago) else 365.0
    related = RELATED_SD if past.related else 0.0
    return math.hypot(interval, DAY_SD, WEEK_SD * math.sqrt(days / 7), related)


def _bell(values: Array, mean: float, sd: float) -> Array:
    bell: Array = np.exp(-0.5 * ((values - mean) / sd) ** 2)
    return bell


# --- the model ------------------------------------------------------------------


def log_keep(log_tempo: Array | float) -> Array:
    """Log chance that one landing goes well: [..., spreads, tempos] for tempos of shape [...]."""
    distance = LOG_TEMPOS - np.asarray(log_tempo, dtype=np.float64)[..., None, None]
    z = distance / SPREADS[:, None] + CLEAN_LOGIT
    keep: Array = -np.logaddexp(0.0, -z) / CLEAN_LANDINGS
    return keep


@lru_cache(maxsize=1024)
def _log_keep_at(tempo_bpm: float) -> Array:
    return log_keep(math.log(tempo_bpm))


def answer_likelihood(
    keep_log: Array, landings: int, passed: NDArray[np.bool_], where: Array | None, lapse: float = LAPSE
) -> Array:
    """The likelihood of one answer a player: [players, spreads, tempos].

    keep_log: [players, spreads, tempos], from `log_keep`. passed: [players].
    where: [players, landings + 1], how well the press fits a first miss at each
    landing, and last how well it fits a press for nothing; None in the ask style,
    where a fail does not say where.
    """
    clean = np.exp(landings * keep_log)
    if passed.all():
        return as_a_pass(clean, lapse)
    if where is None:
        as_pass = as_a_pass(clean, lapse)
        return np.where(passed[:, None, None], as_pass, 1 - as_pass)
    keep = np.exp(keep_log)
    missed: Array = np.zeros_like(keep)
    for landing in reversed(range(landings)):
        missed *= keep
        missed += where[:, landing, None, None]
    missed *= (1 - lapse) * (1 - keep)
    missed += lapse * where[:, landings, None, None] * clean
    if not passed.any():
        return missed
    return np.where(passed[:, None, None], as_a_pass(clean, lapse), missed)


def take_likelihood(take: Take, lapse: float = LAPSE) -> Array:
    """The likelihood of a take's answer: [spreads, tempos], read-only. All ones for a void take.

    Raises ValueError for a take without landings or tempo.
    """
    if take.outcome is Outcome.VOID:
        return np.ones((len(SPREADS), len(LOG_TEMPOS)))
    if take.landings < 1 or not 0 < take.tempo_bpm < math.inf:
        raise ValueError(f"no take: {take.landings} landings at {take.tempo_bpm} BPM")
    passed = take.outcome is Outcome.PASS_
    beat_s = 60 / take.tempo_bpm
    landing_s = beat_s * take.drill.beats_per_landing
    if not passed and take.press_beat is not None:
        press_s = np.array([take.press_beat * beat_s])
        where = fit_of_press(press_s, landing_s, take.landings, take.taken_off_s)
        keep_log = _log_keep_at(float(take.tempo_bpm))
        likelihood: Array = answer_likelihood(keep_log[None], take.landings, _NOT, where, lapse)[0]
        return likelihood
    if take.misses is not None:
        return _likelihood_of_count(float(take.tempo_bpm), take.landings, take.misses, lapse)
    told = (
        (None, 0.0, 0.0)
        if passed or take.first_miss is None
        else (take.first_miss, landing_s, take.taken_off_s)
    )
    return _likelihood_of_answer(float(take.tempo_bpm), take.landings, passed, *told, lapse)


_NOT = np.array([False])


@lru_cache(maxsize=2048)
def _likelihood_of_answer(
    tempo_bpm: float,
    landings: int,
    passed: bool,
    first_miss: int | None,
    landing_s: float,
    off_s: float,
    lapse: float,
) -> Array:
    """A log holds thousands of takes and few different ones: whole tempos, and one of eight landings."""
    where = None
    if first_miss is not None:
        where = fit_of_landing(first_miss, landing_s, landings, off_s)[None]
    keep_log = _log_keep_at(tempo_bpm)
    likelihood: Array = answer_likelihood(keep_log[None], landings, np.array([passed]), where, lapse)[0]
    likelihood.setflags(write=False)
    return likelihood


@lru_cache(maxsize=512)
def _likelihood_of_count(tempo_bpm: float, landings: int, misses: int, lapse: float) -> Array:
    counted = missed_once if misses == 1 else missed_more
    likelihood = counted(_log_keep_at(tempo_bpm), landings, lapse)
    likelihood.setflags(write=False)
    return likelihood


# --- after a take -----------------------------------------------------------------


def wander(mass: Array, sd: float = DRIFT_SD) -> Array:
    """Belief after the clean tempo may have moved by a step of this size either way.

    mass: [..., tempos]. A step of the grid is larger than `sd`, so a share of the
    belief moves by one step of the grid: the same variance.
    """
    share = _share_that_wanders(sd)
    moved: Array = (1 - 2 * share) * mass
    _set_aside(moved, share * mass)
    return moved


def _share_that_wanders(sd: float) -> float:
    return 0.5 * (sd / GRID_STEP) ** 2


def _set_aside(moved: Array, aside: Array) -> None:
    """Add what moves by one step of the grid either way; at the ends it stays."""
    # Through views: an indexed += would copy the sum once more.
    up, down = moved[..., 1:], moved[..., :-1]
    up += aside[..., :-1]
    down += aside[..., 1:]
    moved[..., 0] += aside[..., 0]
    moved[..., -1] += aside[..., -1]


def weigh(mass: Array, likelihood: Array) -> Array:
    """Bayes' rule, a player at a time: [players, spreads, tempos]."""
    product: Array = mass * likelihood
    product /= product.sum(axis=(1, 2), keepdims=True)
    return product


def update(posterior: Posterior, take: Take) -> Posterior:
    """What is believed after one more take, in the order played. A void take changes nothing.

    Undoing a take is folding over the takes that remain: exact, since nothing else is kept.
    """
    if take.outcome is Outcome.VOID:
        return posterior
    mass = wander(posterior.mass) if posterior.takes else posterior.mass
    likelihood = take_likelihood(take)
    return Posterior(weigh(mass[None], likelihood[None])[0], posterior.takes + 1)


def update_all(posterior: Posterior, takes: Iterable[Take]) -> Posterior:
    """`update` for one take after the other, in the order played, without an array for each step between.

    A log is read by thousands of takes at a start: this is what that takes the time for.
    """
    mass, aside = posterior.mass.copy(), np.empty_like(posterior.mass)
    counted = posterior.takes
    share = _share_that_wanders(DRIFT_SD)
    for take in takes:
        if take.outcome is Outcome.VOID:
            continue
        if counted:
            np.multiply(mass, share, out=aside)
            mass *= 1 - 2 * share
            _set_aside(mass, aside)
        mass *= take_likelihood(take)
        counted += 1
        # An answer may be a thousand times less likely than another: far from where numbers end in so few.
        if counted % 16 == 0:
            mass /= mass.sum()
    mass /= mass.sum()
    return Posterior(mass, counted)


def moments(mass: Array) -> tuple[Array, Array]:
    """Mean and variance of the log clean tempo, each [players]. mass: [players, spreads, tempos]."""
    tempos = mass.sum(axis=1)
    mean = tempos @ LOG_TEMPOS
    return mean, np.maximum(tempos @ LOG_TEMPOS**2 - mean**2, 0.0)


def quantile(mass: Array, share: float) -> Array:
    """The log tempo below which a share of the belief lies: [players]."""
    tempos = mass.sum(axis=1)
    below = np.cumsum(tempos, axis=1)
    # The mass of a grid point is spread evenly over its own step of the grid.
    index = np.minimum((below < share).sum(axis=1), len(LOG_TEMPOS) - 1)
    rows = np.arange(len(mass))
    before = below[rows, index] - tempos[rows, index]
    part = (share - before) / np.maximum(tempos[rows, index], 1e-300)
    found: Array = LOG_TEMPOS[index] + (np.clip(part, 0.0, 1.0) - 0.5) * GRID_STEP
    return found


def estimate(posterior: Posterior, share: float = 0.90) -> Estimate:
    """The clean tempo with the interval that holds a share of the belief, tails alike.

    The tempo is the mean of the log. Raises ValueError unless 0 < share < 1.
    """
    if not 0 < share < 1:
        raise ValueError(f"no interval holds {share} of a belief")
    mass = posterior.mass[None]
    mean, _ = moments(mass)
    low, high = (float(quantile(mass, tail)[0]) for tail in ((1 - share) / 2, (1 + share) / 2))
    return Estimate(math.exp(float(mean[0])), math.exp(low), math.exp(high))


def chance_at_least(posterior: Posterior, tempo_bpm: float) -> float:
    """The chance that the clean tempo is at least this."""
    tempos = posterior.mass.sum(axis=0)
    chances = np.append(tempos[::-1].cumsum()[::-1], 0.0)
    return float(np.interp(math.log(tempo_bpm), EDGES, chances))


def past_result(posterior: Posterior, days_ago: float = 0.0) -> PastResult:
    """A belief as a ladder's history keeps it."""
    found, spreads = estimate(posterior), np.log(SPREADS)
    over = posterior.mass.sum(axis=1)
    mean = float(over @ spreads)
    sd = math.sqrt(max(0.0, float(over @ spreads**2) - mean**2))
    return PastResult(*found, days_ago, spread=math.exp(mean), spread_sd=sd)


@dataclass(frozen=True, slots=True)
class PastResult:
    """A clean tempo found before: the estimate, its 90 % interval, and how long ago."""

    bpm: float
    low_bpm: float
    high_bpm: float
    days_ago: float = 0.0
    related: bool = False
    """True when it was found on another drill that shares a shape."""
    spread: float | None = None
    """How hazy the limit was, as the mean of its logarithm tells; None where nothing is known of it."""
    spread_sd: float = 0.0
    """The standard deviation of that logarithm."""

    @property
    def tells(self) -> bool:
        """Is it sure enough to be told as a number? A wide interval is mostly what was believed before."""
        return math.log(self.high_bpm / self.low_bpm) / 2 <= TOO_WIDE

    @property
    def can_be(self) -> bool:
        """Is it a result at all? A record from elsewhere may be anything."""
        try:
            tempos = 0 < self.low_bpm <= self.bpm <= self.high_bpm < 10_000
            spreads = (self.spread is None or 0 < self.spread < 10) and 0 <= self.spread_sd < 100
            return bool(tempos and spreads and math.isfinite(self.days_ago))
        except TypeError:
            return False
