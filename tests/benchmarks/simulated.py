"""Made-up players by the thousand, measured with the product's own functions.

Players are the first axis of every array. What the ladder believes and asks
for comes from pedaltrainer.practice (clean_tempo, choosing, seek); only the
players' hands and feet are simulated here. tests/practice/test_simulated.py
holds a batch of these against single ladders, answer by answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.rungs import LadderStart
from pedaltrainer.practice.ladders.seek import highest_next, shape_of

SLOWEST, FASTEST = 50.0, 160.0
SPREADS = (0.03, 0.05, 0.08)
REACTION_S = (0.250, 0.080)
PROBIT_OVER_LOGIT = 1.702
"""A normal ogive this much narrower runs along the logistic (D. C. Haley, 1952)."""
TAKE_LUCK = 1.0
"""Correlated landings: sd, in logits, of the luck that all landings of a take share."""


@dataclass
class Players:
    """clean_log: [players], the log clean tempo now; truth: which law their hands follow."""

    clean_log: np.ndarray
    spread: np.ndarray
    rng: np.random.Generator
    truth: str = "logistic"
    lapse: float = 0.03

    @classmethod
    def drawn(cls, count: int, seed: int, truth: str = "logistic", lapse: float = 0.03) -> Players:
        rng = np.random.default_rng(seed)
        clean_log = rng.uniform(math.log(SLOWEST), math.log(FASTEST), count)
        return cls(clean_log, rng.choice(SPREADS, count), rng, truth, lapse)

    def clean_chance(self, who: np.ndarray, tempo_bpm: np.ndarray, moved: float) -> np.ndarray:
        """The chance that 8 landings come out clean, 0.8 at the clean tempo whatever the law."""
        distance = (self.clean_log[who] + moved - np.log(tempo_bpm)) / self.spread[who]
        if self.truth == "probit":
            z = distance / PROBIT_OVER_LOGIT + NormalDist().inv_cdf(ct.CLEAN_CHANCE)
            return np.array([NormalDist().cdf(one) for one in z])
        if self.truth == "correlated":
            luck = self.rng.normal(0.0, TAKE_LUCK, len(who))
            return logistic(distance + lucky_logit() + luck)
        return logistic(distance + ct.CLEAN_LOGIT)

    def play(self, who: np.ndarray, tempo_bpm: np.ndarray, start: LadderStart, moved: float):
        """One take each: said pass [bool], press_s from the first landing, seconds spent."""
        keep = self.clean_chance(who, tempo_bpm, moved) ** (1 / ct.CLEAN_LANDINGS)
        wrong = self.rng.random((len(who), start.landings)) >= keep[:, None]
        missed, first = wrong.any(axis=1), wrong.argmax(axis=1)
        said_miss = missed ^ (self.rng.random(len(who)) < self.lapse)
        beat_s = 60 / tempo_bpm
        landing_s = beat_s * start.beats_per_chord
        full_s = shape_of(start).full_s(tempo_bpm)
        if not start.speak_up:
            return ~said_miss, None, full_s
        late_s = np.maximum(0.1, self.rng.normal(*REACTION_S, len(who)))
        for_nothing_s = self.rng.random(len(who)) * start.landings * landing_s
        press_s = np.where(missed, first * landing_s + late_s, for_nothing_s)
        spoke_s = start.count_in_beats * beat_s + press_s
        return ~said_miss, press_s, np.where(said_miss, spoke_s, full_s)


def logistic(z: np.ndarray) -> np.ndarray:
    return 1 / (1 + np.exp(-z))


def lucky_logit() -> float:
    """The logit whose average over the luck of a take is four in five (Gauss-Hermite, bisection)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    low, high = 0.0, 6.0
    for _ in range(60):
        middle = (low + high) / 2
        chance = (weights * logistic(middle + TAKE_LUCK * nodes)).sum() / weights.sum()
        low, high = (middle, high) if chance < ct.CLEAN_CHANCE else (low, middle)
    return low


@dataclass
class Found:
    """What was believed at a time: arrays [players]. error: of the tempo, as a share."""

    estimate_log: np.ndarray
    low_log: np.ndarray
    high_log: np.ndarray
    clean_log: np.ndarray
    takes: np.ndarray
    ended_s: np.ndarray
    log_likelihood: np.ndarray | None = None

    @property
    def error(self) -> np.ndarray:
        return np.expm1(self.estimate_log - self.clean_log)

    @property
    def covers(self) -> np.ndarray:
        return (self.low_log <= self.clean_log) & (self.clean_log <= self.high_log)


def past_results(players: Players, off: float, days_ago: float) -> list[PastResult]:
    """A previous result each, this far off, to either side by the toss of a coin."""
    side = players.rng.choice((-1.0, 1.0), len(players.clean_log))
    bpm = np.exp(players.clean_log + side * math.log1p(off))
    return [PastResult(one, one / 1.05, one * 1.05, days_ago) for one in bpm]


def measure(
    players: Players,
    start: LadderStart,
    seconds: float,
    *,
    history: list[PastResult] | None = None,
    drift: float = 0.0,
    keep_likelihood: bool = False,
    until_tight: bool = False,
    trace: list | None = None,
) -> Found:
    """Seek's measurement of every player for so many seconds; takes that end later do not count.

    drift: how far the log clean tempo moves, evenly, over the seconds; the truth is where it ends.
    """
    count = len(players.clean_log)
    if history is None:
        mass = np.repeat(ct.prior().mass[None], count, axis=0)
        before = np.full(count, math.nan)
    else:
        mass = np.stack([ct.prior([past]).mass for past in history])
        before = np.exp(ct.moments(mass)[0])
    of = choosing.table(shape_of(start))
    best, failed = np.full(count, math.nan), np.zeros(count, bool)
    clock_s, takes = np.zeros(count), np.zeros(count, np.int64)
    seen = np.zeros(mass.shape, np.float32) if keep_likelihood else None
    ended_s = np.full(count, seconds)
    active = np.arange(count)
    while len(active):
        # Every active player has answered as often as the others: all began together.
        now = ct.wander(mass[active]) if takes[active[0]] else mass[active]
        highest = highest_next(start, best[active], failed[active], before[active])
        tempo_bpm = choosing.most_telling(now, of, highest)
        moved = 0.0
        if drift:
            moved = drift * np.minimum(clock_s[active] / seconds, 1.0)
        passed, press_s, spent_s = players.play(active, tempo_bpm, start, moved)
        in_time = clock_s[active] + spent_s <= seconds
        keep_log = ct.log_keep(np.log(tempo_bpm))
        where = None
        if press_s is not None:
            landing_s = start.beats_per_chord * 60 / tempo_bpm
            where = ct.fit_of_press(press_s, landing_s, start.landings, start.reaction_s, ct.REACTION_SD_S)
        likelihood = ct.answer_likelihood(keep_log, start.landings, passed, where)
        after = ct.weigh(now, likelihood)
        done = active[in_time]
        mass[done] = after[in_time]
        if seen is not None:
            seen[done] += np.log(likelihood[in_time])
        if trace is not None:
            trace.append((active, tempo_bpm, passed, press_s))
        clock_s[active] += spent_s
        takes[done] += 1
        best[active] = np.where(passed, np.fmax(best[active], tempo_bpm), best[active])
        failed[active] |= ~passed
        if until_tight:
            low, high = ct.quantile(mass[done], 0.05), ct.quantile(mass[done], 0.95)
            tight = np.sqrt(np.exp(high - low)) - 1 <= start.tight
            ended_s[done[tight]] = clock_s[done[tight]]
            done = done[~tight]
        active = done
    mean, _ = ct.moments(mass)
    return Found(
        mean,
        ct.quantile(mass, 0.05),
        ct.quantile(mass, 0.95),
        players.clean_log + drift,
        takes,
        ended_s,
        seen,
    )


# --- the smallest error there can be ------------------------------------------------


def information_per_s(clean_bpm: float, spread: float, start: LadderStart, lapse: float = 0.03) -> float:
    """Fisher information on the log clean tempo per second, at the most telling tempo.

    Spread and lapse known, and in the speak-up style the landing known exactly: no ladder
    can know more, so the Cramér-Rao bound from it is a lower bound for all of them.
    """
    tempo_bpm = np.linspace(clean_bpm * 0.7, clean_bpm * 1.6, 400)

    def outcomes(shift: float) -> np.ndarray:
        z = (math.log(clean_bpm) + shift - np.log(tempo_bpm)) / spread + ct.CLEAN_LOGIT
        clean = logistic(z)
        if not start.speak_up:
            said = lapse + (1 - 2 * lapse) * clean
            return np.stack([said, 1 - said])
        keep = clean ** (1 / start.landings)
        missed = [
            (1 - lapse) * keep**k * (1 - keep) + lapse * clean / start.landings for k in range(start.landings)
        ]
        return np.stack([lapse + (1 - 2 * lapse) * clean, *missed])

    tiny = 1e-5
    chance = outcomes(0.0)
    slope = (outcomes(tiny) - outcomes(-tiny)) / (2 * tiny)
    told = (slope**2 / chance).sum(axis=0)
    beat_s = 60 / tempo_bpm
    full_s = shape_of(start).full_s(tempo_bpm)
    cost_s = full_s
    if start.speak_up:
        landing_s = beat_s * start.beats_per_chord
        early = [start.count_in_beats * beat_s + k * landing_s + REACTION_S[0] for k in range(start.landings)]
        cost_s = (chance * np.stack([full_s, *early])).sum(axis=0)
    return float((told / cost_s).max())


def smallest_rms(players: Players, start: LadderStart, seconds: float, prior_sd: float = math.inf) -> float:
    """The Cramér-Rao bound on the RMS error over these players; with a prior, van Trees' form of it."""
    bpm = np.exp(np.linspace(math.log(SLOWEST), math.log(FASTEST), 12))
    rates = {
        spread: np.array([information_per_s(one, spread, start, players.lapse) for one in bpm])
        for spread in SPREADS
    }
    rate = np.array(
        [
            np.interp(clean_log, np.log(bpm), rates[spread])
            for clean_log, spread in zip(players.clean_log, players.spread, strict=True)
        ]
    )
    return float(np.sqrt(np.mean(1 / (rate * seconds + prior_sd**-2))))
