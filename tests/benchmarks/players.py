"""Made-up players of many kinds by the thousand: hands that miss and feet that answer.

Players are the first axis of every array. A player has a clean tempo (the tempo at which eight landings
come out clean four times in five, whatever law the hands follow) and a spread (how far, in natural log of
the tempo, a curve's steep part reaches; every law is as steep at the clean tempo as the logistic of that
spread). KINDS are the ways in which players differ from what the ladders take them for.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.ladders.rungs import LadderStart

Array = NDArray[np.float64]

SLOWEST, FASTEST = 50.0, 160.0
SPREADS = (0.03, 0.05, 0.08)
SLOPE = ct.CLEAN_CHANCE * (1 - ct.CLEAN_CHANCE)
"""How steep the chance falls at the clean tempo, in spreads: the logistic's p (1 - p)."""
TAKE_LUCK = 1.0
"""Sd, in logits, of the luck that all landings of a take share."""
HARDER = 0.15
"""How much slower, in log tempo, the hard one of the two directions is."""
CLUSTER = 0.5
"""The chance that a landing goes wrong because the one before did."""
QUICKEST_FOOT_S = 0.1


# --- curves: the log chance that a landing is kept, from distance in spreads ---------------


def logistic(z: Array | float) -> Array:
    return np.asarray(1 / (1 + np.exp(-np.asarray(z))))


def _of_logistic(distance: Array, spread: Array) -> Array:
    return logistic(distance / spread + ct.CLEAN_LOGIT)


def _of_normal(distance: Array, spread: Array) -> Array:
    normal = NormalDist()
    at = normal.inv_cdf(ct.CLEAN_CHANCE)
    steep = SLOPE / normal.pdf(at)
    return np.array([normal.cdf(at + steep * z) for z in distance / spread])


def _of_weibull(distance: Array, spread: Array) -> Array:
    """A survival curve: 1 - exp(-(tempo / scale) ** shape) misses, never a slow miss too many."""
    at = -math.log(ct.CLEAN_CHANCE)
    return np.exp(-at * np.exp(-distance / spread * SLOPE / (ct.CLEAN_CHANCE * at)))


def _of_heavy_tail(distance: Array, spread: Array) -> Array:
    """Student's t with two degrees of freedom: misses at slow tempos, clean takes at fast ones."""
    # Its distribution function is 1/2 + z / (2 sqrt(2 + z^2)), its density (2 + z^2) ** -1.5.
    share = 2 * ct.CLEAN_CHANCE - 1
    at = share * math.sqrt(2 / (1 - share**2))
    steep = SLOPE / (2 + at**2) ** -1.5
    z = at + steep * distance / spread
    return 0.5 + z / (2 * np.sqrt(2 + z**2))


CURVES: dict[str, Callable[[Array, Array], Array]] = {
    "logistic": _of_logistic,
    "normal": _of_normal,
    "Weibull": _of_weibull,
    "heavy tail": _of_heavy_tail,
}


# --- kinds of players ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Kind:
    """How a kind of player differs from the ladders' model. warm_up, a_take: of the log tempo."""

    name: str
    curve: str = "logistic"
    spreads: tuple[float, ...] = SPREADS
    lapse: float = 0.03
    luck: float = 0.0
    hard_direction: bool = False
    clusters: bool = False
    warm_up: float = 0.0
    """How far below the clean tempo the first take is; of what is missing a sixth comes with each take."""
    a_take: float = 0.0
    """How far the clean tempo moves from one take to the next."""
    miscounts: float = 0.1
    """The chance that one miss is taken for more, or more for one; of account where that is asked."""
    forgives: float = 0.0
    """The chance that a take with a single miss is called clean."""
    reaction_s: tuple[float, float] = (0.250, 0.080)
    breaks_off_s: float | None = None
    """In the ask style: how long after the foot could have spoken the player breaks off; None: never."""


USUAL = Kind("as assumed")
KINDS: tuple[Kind, ...] = (
    USUAL,
    Kind("normal curve", curve="normal"),
    Kind("Weibull curve", curve="Weibull"),
    Kind("heavy tails", curve="heavy tail"),
    Kind("hazy: spread 10 %", spreads=(0.10,)),
    Kind("one hard direction", hard_direction=True),
    Kind("landings share luck", luck=TAKE_LUCK),
    Kind("misses cluster", clusters=True),
    Kind("warm-up from -8 %", warm_up=0.08),
    Kind("fatigue, -0.4 % a take", a_take=-0.004),
    Kind("10 % of answers wrong", lapse=0.10),
    Kind("breaks off, 0.6 s late", breaks_off_s=0.6),
    Kind("slow feet, 400 +- 150 ms", reaction_s=(0.400, 0.150)),
    Kind("lenient: one miss in two forgiven", forgives=0.5),
)


@dataclass
class Said:
    """What one take each came to: arrays [players].

    passed: as answered. one_miss: said to be a single miss. broke_off: ended by the foot in the middle.
    press_s: from the first landing; of use where `passed` is false in speak-up, or where it broke off.
    played_s: from the first landing to where the take ended.
    """

    passed: NDArray[np.bool_]
    one_miss: NDArray[np.bool_]
    broke_off: NDArray[np.bool_]
    press_s: Array
    played_s: Array


@dataclass
class Players:
    """clean_log: [players], the log clean tempo at rest; where it is now, `now_log` tells."""

    clean_log: Array
    spread: Array
    rng: np.random.Generator
    kind: Kind = USUAL
    _offsets: dict[float, float] = field(default_factory=dict)

    @classmethod
    def drawn(cls, count: int, seed: int, kind: Kind = USUAL) -> Players:
        rng = np.random.default_rng(seed)
        clean_log = rng.uniform(math.log(SLOWEST), math.log(FASTEST), count)
        return cls(clean_log, rng.choice(kind.spreads, count), rng, kind)

    def now_log(self, takes: Array | float) -> Array:
        """The log clean tempo after so many takes of a sitting."""
        takes = np.asarray(takes, dtype=np.float64)
        cold = self.kind.warm_up * (5 / 6) ** takes
        return np.asarray(self.clean_log + self.kind.a_take * takes - cold)

    def keeps(self, who: NDArray[np.int64], tempo_bpm: Array, takes: int, landings: int) -> Array:
        """The chance that each landing is kept: [players, landings]."""
        kind, spread = self.kind, self.spread[who]
        distance = self.now_log(takes)[who] - np.log(tempo_bpm) + self._offset(spread) * spread
        if kind.luck:
            distance = distance + spread * self.rng.normal(0.0, kind.luck, len(who))
        curve = CURVES[kind.curve]
        a_landing = 1 / ct.CLEAN_LANDINGS
        keep = curve(distance, spread)[:, None] ** np.full(landings, a_landing)
        if kind.hard_direction:
            easy = curve(distance + HARDER, spread)
            keep[:, 1::2] = easy[:, None] ** a_landing
        return keep

    def _offset(self, spread: Array) -> Array:
        """In spreads: what makes a take clean four times in five at the clean tempo, whatever the kind."""
        if not (self.kind.luck or self.kind.hard_direction):
            return np.zeros(len(spread))
        for one in np.unique(spread):
            if float(one) not in self._offsets:
                self._offsets[float(one)] = self._calibrated(float(one))
        return np.array([self._offsets[float(one)] for one in spread])

    def _calibrated(self, spread: float) -> float:
        # Gauss-Hermite over the luck, bisection over the offset.
        nodes, weights = np.polynomial.hermite_e.hermegauss(40)
        curve, luck = CURVES[self.kind.curve], self.kind.luck * nodes

        def clean(offset: float) -> float:
            distance = spread * (offset + luck)
            chance = curve(distance, np.full(40, spread))
            if self.kind.hard_direction:
                chance = np.sqrt(chance * curve(distance + HARDER, np.full(40, spread)))
            return float((weights * chance).sum() / weights.sum())

        low, high = -6.0, 6.0
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if clean(middle) < ct.CLEAN_CHANCE else (low, middle)
        return low

    def play(self, who: NDArray[np.int64], tempo_bpm: Array, start: LadderStart, takes: int = 0) -> Said:
        """One take each, after so many others in this sitting."""
        count, kind, rng, landings = len(who), self.kind, self.rng, start.landings
        wrong = rng.random((count, landings)) >= self.keeps(who, tempo_bpm, takes, landings)
        first = np.where(wrong.any(axis=1), wrong.argmax(axis=1), landings)
        if kind.clusters:
            follows = rng.random((count, landings)) < CLUSTER
            for landing in range(1, landings):
                wrong[:, landing] |= wrong[:, landing - 1] & follows[:, landing]
        misses = wrong.sum(axis=1)
        missed = misses > 0
        forgiven = (misses == 1) & (rng.random(count) < kind.forgives)
        said_miss = (missed & ~forgiven) ^ (rng.random(count) < kind.lapse)
        landing_s = start.beats_per_chord * 60 / tempo_bpm
        full_s = landings * landing_s
        late_s = np.maximum(QUICKEST_FOOT_S, rng.normal(*kind.reaction_s, count))
        for_nothing_s = rng.random(count) * full_s
        press_s = np.where(missed, first * landing_s + late_s, for_nothing_s)
        # Who takes a miss for none, or none for a miss, says so of one as often as of more.
        one = np.where(missed, (misses == 1) ^ (rng.random(count) < kind.miscounts), rng.random(count) < 0.5)
        # Half a beat after the last beat a take is over: where the hand would lift.
        played_s, broke_off = full_s - 0.5 * 60 / tempo_bpm, np.zeros(count, bool)
        if start.speak_up:
            played_s = np.where(said_miss, press_s, played_s)
        elif kind.breaks_off_s is not None:
            press_s = press_s + kind.breaks_off_s
            broke_off = said_miss & missed & (press_s < played_s)
            played_s = np.where(broke_off, press_s, played_s)
        return Said(~said_miss, said_miss & one, broke_off, press_s, played_s)
