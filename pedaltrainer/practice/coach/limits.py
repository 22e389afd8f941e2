"""What holds a change back: its first shape, its second, or the travel between them.

Model, in air time at the same gap (a change, and re-landing each of its two shapes):

    first shape, second shape   log change = log slower shape + log ratio + noise, or hardly less
    travel                      much less: by MUCH at least and an excess beyond it

Before anything is measured a shape and the travel are as likely. `ratio` is the player's own: what a
change comes to of its slower shape when nothing but the shape holds it back; 5/6 to begin with (common
practice, no published source). A barred shape is given no prior of its own: alone it is often no slower
than an open one (common practice, no published source).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.coach.evidence import RULE_OF_THUMB, Known, same_air, shape_drill
from pedaltrainer.practice.drill import Drill, Kind

Array = NDArray[np.float64]

SURE = 0.55
"""The chance from which a limit is named. By simulation: docs/evidence/coaching.md."""
SETTLED = 0.90
"""The chance from which nothing more is to be measured."""
SHAPE_SHARE = 0.5
CHANGE_SD = 0.04
"""How far one change stands off the player's ratio when its shape is all that holds it back."""
MUCH = 0.07
"""A change that is slower than its shapes explain by less than this, in log tempo, is not put down to the
travel: half of the 15 % that makes a case clear."""
HARDLY_SHARE = 0.3
"""The share of the changes that shapes hold back which are slower by less than MUCH, evenly."""
EXCESSES, EXCESS_SHARES = (0.12, 0.5), (0.7, 0.3)
"""How much slower than MUCH says, in log tempo, a change is on the mean when the travel holds it back: mostly
a little, now and then a lot. The long tail keeps far travels from passing for a low ratio."""
RATIO_SD = 0.06
"""How far players' ratios lie from the rule of thumb, in log tempo. Ours: no published source."""
NEW_S, KNOWN_S = 60, 40
"""Seconds of measuring asked for: of a drill never played, and of one with a result from before."""


class Which(StrEnum):
    FIRST = "first shape"
    SECOND = "second shape"
    TRAVEL = "travel"
    UNSURE = "not sure yet"


NAMED = (Which.FIRST, Which.SECOND, Which.TRAVEL)


@dataclass(frozen=True, slots=True)
class Ratio:
    """The player's own ratio of a change to its slower shape; sd: of its log; from so many changes."""

    value: float = RULE_OF_THUMB
    sd: float = RATIO_SD
    changes: int = 0


USUAL_RATIO = Ratio()


@dataclass(frozen=True, slots=True)
class Limit:
    """What holds a change back, and how sure that is.

    chance: of `which`; of the likeliest when unsure. measure_first, seconds: what would tell most, and how
    long to measure it; None when nothing more is to be measured.
    """

    which: Which
    chance: float
    chances: Mapping[Which, float]
    measure_first: Drill | None = None
    seconds: int | None = None


def limit_of(change: Drill, known: Known, ratio: Ratio = USUAL_RATIO) -> Limit:
    """What holds a change back, from what is known of it and of its two shapes.

    Raises ValueError for a drill that is no change.
    """
    parts = _parts(change, known)
    joint = _Joint(parts, ratio)
    chances = dict(zip(NAMED, joint.chances(), strict=True))
    likeliest = max(NAMED, key=lambda which: chances[which])
    all_measured = all(part.is_measured for part in parts)
    which = likeliest if all_measured and chances[likeliest] >= SURE else Which.UNSURE
    if all_measured and chances[likeliest] >= SETTLED:
        return Limit(which, chances[likeliest], chances)
    part = parts[joint.most_telling()]
    return Limit(which, chances[likeliest], chances, part.drill, KNOWN_S if part.is_measured else NEW_S)


def ratio_of(changes: Iterable[Drill], known: Known) -> Ratio:
    """The player's ratio learnt from the changes of which both shapes are known too, shrunk to 5/6."""
    logs = np.linspace(math.log(0.6), 0.0, 41)
    log_belief = -0.5 * ((logs - math.log(RULE_OF_THUMB)) / RATIO_SD) ** 2
    used = 0
    for change in {change.key: change for change in changes}.values():
        parts = _parts(change, known)
        if not all(part.is_measured for part in parts):
            continue
        used += 1
        likelihood = _likelihood_of_ratio(parts, logs)
        log_belief += np.log(np.maximum(likelihood, 1e-300))
    belief = np.exp(log_belief - log_belief.max())
    belief /= belief.sum()
    mean = float(belief @ logs)
    return Ratio(math.exp(mean), math.sqrt(float(belief @ (logs - mean) ** 2)), used)


# --- the arithmetic ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """A drill, what is known of it, and the belief on its log clean tempo at the change's gap: [tempos]."""

    drill: Drill
    belief: Array
    is_measured: bool


def _parts(change: Drill, known: Known) -> tuple[_Part, _Part, _Part]:
    """First shape, second shape, change."""
    if change.kind is not Kind.CHANGE:
        raise ValueError(f"{change.title} is no change: it has no limit to name")
    drills = (*(shape_drill(change, chord) for chord in change.chords), change)
    first, second, whole = (_part(drill, known, change) for drill in drills)
    return first, second, whole


def _part(drill: Drill, known: Known, change: Drill) -> _Part:
    own = known.get(drill.key)
    tempos = (_typical() if own is None else own.belief).mass.sum(axis=0)
    shift = math.log(same_air(drill, change))
    return _Part(drill, moved(tempos, shift) if shift else tempos, own is not None and own.takes > 0)


@lru_cache(maxsize=1)
def _typical() -> ct.Posterior:
    return ct.prior()


def moved(tempos: Array, by: float) -> Array:
    """A function on the grid of log tempos, moved up by so much; [..., tempos]."""
    at = ct.LOG_TEMPOS - by
    if tempos.ndim == 1:
        along: Array = np.interp(at, ct.LOG_TEMPOS, tempos)
        return along
    return np.stack([np.interp(at, ct.LOG_TEMPOS, one) for one in tempos])


@lru_cache(maxsize=64)
def _kernels(sd: float) -> tuple[Array, Array]:
    """The density of a change's log tempo (columns) given its slower shape's, ratio left out (rows)."""
    tempos = len(ct.LOG_TEMPOS)
    off = np.arange(1 - tempos, tempos) * ct.GRID_STEP

    def less(by: Array, weight: Array) -> Array:
        bells = np.exp(-0.5 * ((off + by[:, None]) / sd) ** 2) / sd
        along: Array = weight / weight.sum() @ bells
        # Row i holds the offsets of every tempo from tempo i.
        return sliding_window_view(along, tempos)[::-1]

    hardly, beyond = np.linspace(0, MUCH, 6), np.arange(ct.GRID_STEP / 2, 1.5, ct.GRID_STEP)
    excess = np.array(EXCESS_SHARES) / EXCESSES @ np.exp(-beyond / np.array(EXCESSES)[:, None])
    sharp, blunt = less(np.zeros(1), np.ones(1)), less(hardly, np.ones_like(hardly))
    return (1 - HARDLY_SHARE) * sharp + HARDLY_SHARE * blunt, less(MUCH + beyond, excess)


class _Joint:
    """The three hypotheses against what is believed of the parts."""

    def __init__(self, parts: tuple[_Part, _Part, _Part], ratio: Ratio) -> None:
        self.first, self.second = parts[0].belief, parts[1].belief
        self.told = moved(_likelihood(parts[2]), -math.log(ratio.value))
        shape, travel = _kernels(round(math.hypot(ratio.sd, CHANGE_SD), 3))
        self.kernels = (SHAPE_SHARE * shape, (1 - SHAPE_SHARE) * travel)
        self.by_shape, self.by_travel = (kernel @ self.told for kernel in self.kernels)
        self.first_slower = self.first * _above(self.second)
        self.second_slower = self.second * _above(self.first)

    def chances(self) -> tuple[float, ...]:
        slower = self.first_slower + self.second_slower
        joint = np.array(
            [self.first_slower @ self.by_shape, self.second_slower @ self.by_shape, slower @ self.by_travel]
        )
        return tuple(float(one) for one in joint / joint.sum())

    def most_telling(self) -> int:
        """Which part, were it known, would make the limit surest on average: 0, 1 (shapes) or 2 (change)."""
        worth = [
            self._if_known(self.first, self.second),
            self._if_known(self.second, self.first),
            self._if_change_known(),
        ]
        return int(np.argmax(worth))

    def _if_known(self, this: Array, other: Array) -> float:
        above = _above(other)
        own = above * self.by_shape
        others = _below(other * self.by_shape)
        travel = above * self.by_travel + _below(other * self.by_travel)
        return float(this @ np.maximum(np.maximum(own, others), travel))

    def _if_change_known(self) -> float:
        slower = self.first_slower + self.second_slower
        by = np.stack(
            [
                self.first_slower @ self.kernels[0],
                self.second_slower @ self.kernels[0],
                slower @ self.kernels[1],
            ]
        )
        return float(self.told @ by.max(axis=0))


def _above(tempos: Array) -> Array:
    """The chance that another is faster, by tempo; a tie counts half."""
    above: Array = tempos[::-1].cumsum()[::-1] - 0.5 * tempos
    return above


def _below(values: Array) -> Array:
    below: Array = values.cumsum() - 0.5 * values
    return below


def _likelihood(change: _Part) -> Array:
    """What the takes of the change say, the prior divided out: [tempos], all alike when there are none."""
    if not change.is_measured:
        return np.ones_like(ct.LOG_TEMPOS)
    prior = np.maximum(_typical().mass.sum(axis=0), 1e-12)
    told: Array = change.belief / prior
    told /= told.max()
    return told


def _likelihood_of_ratio(parts: tuple[_Part, _Part, _Part], logs: Array) -> Array:
    slower = parts[0].belief * _above(parts[1].belief) + parts[1].belief * _above(parts[0].belief)
    shape, travel = _kernels(CHANGE_SD)
    expected = slower @ (SHAPE_SHARE * shape + (1 - SHAPE_SHARE) * travel)
    told = _likelihood(parts[2])
    return np.array([expected @ moved(told, -one) for one in logs])
