"""The smallest error that there can be: van Trees' inequality for a player whose spread is not known.

H. L. van Trees, "Detection, Estimation, and Modulation Theory", part I, 1968, section 2.4: the mean square
of an error is no less than the inverse of the information, that of the answers and that of what is believed
before them. Here the information has two rows, log clean tempo and log spread, so that what is not known of
the spread costs what it must. The takes are laid as well as anybody could who knew the player already; the
bound is worked out for players of each tempo and spread, and averaged over them.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from tests.benchmarks.players import FASTEST, SLOWEST, SPREADS, USUAL, logistic
from tests.benchmarks.simulated import ASKED_S, TAP_S, Way

Array = NDArray[np.float64]

LEVEL_SD = math.log(FASTEST / SLOWEST) / math.sqrt(12)
SPREAD_SD = float(np.std(np.log(SPREADS)))
ROUNDS = 200
TINY = 1e-5


def smallest_rms(way: Way, seconds: float) -> float:
    """The bound on the RMS error of the log clean tempo, over the usual players."""
    clean_logs = np.linspace(math.log(SLOWEST), math.log(FASTEST), 9)
    return math.sqrt(
        np.mean([_smallest(way, seconds, at, spread) for at in clean_logs for spread in SPREADS])
    )


def _smallest(way: Way, seconds: float, clean_log: float, spread: float) -> float:
    """The smallest mean square error for one tempo and spread, by the best shares of the best tempos."""
    before = np.diag([LEVEL_SD**-2, SPREAD_SD**-2])
    rates = _information_per_s(way, clean_log, spread)
    rate = np.zeros((2, 2))
    for number in range(ROUNDS):
        # M. Frank and P. Wolfe's steps (1956): towards the tempo that would lower the bound most.
        pull = np.linalg.inv(before + seconds * rate)[:, 0] if number else np.array([1.0, 0.0])
        best = np.einsum("i,tij,j->t", pull, rates, pull).argmax()
        rate += (rates[best] - rate) * 2 / (number + 2)
    return float(np.linalg.inv(before + seconds * rate)[0, 0])


def _information_per_s(way: Way, clean_log: float, spread: float) -> Array:
    """Fisher's information on log clean tempo and log spread, a second of the stage: [tempos, 2, 2]."""
    tempo_bpm = np.exp(np.linspace(clean_log - 0.35, clean_log + 0.5, 240))
    chance = _outcomes(way, clean_log, spread, tempo_bpm)
    by_level = _slope(way, tempo_bpm, (clean_log + TINY, spread), (clean_log - TINY, spread))
    by_spread = _slope(way, tempo_bpm, (clean_log, spread * (1 + TINY)), (clean_log, spread * (1 - TINY)))
    slopes = np.stack([by_level, by_spread])
    told = np.einsum("iot,jot,ot->tij", slopes, slopes, 1 / chance)
    cost_s = (chance * _seconds(way, tempo_bpm)).sum(axis=0)
    return np.asarray(told / cost_s[:, None, None])


def _slope(way: Way, tempo_bpm: Array, above: tuple[float, float], below: tuple[float, float]) -> Array:
    return (_outcomes(way, *above, tempo_bpm) - _outcomes(way, *below, tempo_bpm)) / (2 * TINY)


def _outcomes(way: Way, clean_log: float, spread: float, tempo_bpm: Array) -> Array:
    """The chances of what a take can tell, clean first: [outcomes, tempos]; the landing known exactly."""
    landings, lapse = way.start.landings, USUAL.lapse
    clean = logistic((clean_log - np.log(tempo_bpm)) / spread + ct.CLEAN_LOGIT)
    said = lapse + (1 - 2 * lapse) * clean
    if not way.start.speak_up:
        return np.stack([said, 1 - said])
    keep = clean ** (1 / landings)
    misses = [(1 - lapse) * keep**k * (1 - keep) + lapse * clean / landings for k in range(landings)]
    return np.stack([said, *misses])


def _seconds(way: Way, tempo_bpm: Array) -> Array:
    """What each of those costs on the stage: [outcomes, tempos]."""
    start, beat_s = way.start, 60 / tempo_bpm
    between_s = way.breath_s + way.lead_s + way.count_in_beats(tempo_bpm, first=False) * beat_s
    whole_s = between_s + (start.landings * start.beats_per_chord - 0.5) * beat_s
    if not start.speak_up:
        return np.stack([whole_s + ASKED_S + TAP_S, whole_s + ASKED_S])
    early = [between_s + k * start.beats_per_chord * beat_s + start.reaction_s for k in range(start.landings)]
    return np.stack([whole_s, *early])
