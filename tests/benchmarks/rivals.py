"""Other ways to find a clean tempo, one player at a time: the trade's habit, plain rules, and a library.

Each answers with errors of the tempo, as a share, on the stage's time with the pauses of today.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import scipy.special
import xarray as xr
from numpy.typing import NDArray
from questplus import QuestPlus

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.counted import LAPSE
from pedaltrainer.practice.ladders.choosing import CANDIDATES_BPM
from pedaltrainer.practice.ladders.ladder import LADDERS
from pedaltrainer.practice.ladders.rungs import Ladder
from pedaltrainer.practice.take import Outcome, Take
from tests.benchmarks.players import Players
from tests.benchmarks.simulated import ASK, DRILL
from tests.benchmarks.up_down import UpDown

Array = NDArray[np.float64]


class _Sitting:
    """One player who is asked about every take, on the stage's clock."""

    def __init__(self, players: Players, who: int) -> None:
        self.players, self.one, self.takes, self.clock_s = players, np.array([who]), 0, 0.0

    def passes(self, tempo_bpm: float) -> tuple[bool, float]:
        """The answer to a take, and the second at which it came."""
        said = self.players.play(self.one, np.array([tempo_bpm]), ASK.start, self.takes)
        spent_s, answered_s = ASK.seconds(np.array([tempo_bpm]), said, self.takes == 0)
        at_s = self.clock_s + float(answered_s[0])
        self.clock_s += float(spent_s[0])
        self.takes += 1
        return bool(said.passed[0]), at_s


def habit(players: Players) -> tuple[Array, Array]:
    """The trade's habit: up 5 BPM after a clean take, once more after a miss, over at two in a row.

    Common practice, no published source. The result is the last tempo that came out clean; whoever cannot do
    the first tempo goes down by 5 until one comes. Errors and seconds.
    """
    errors, seconds = [], []
    for who, clean_log in enumerate(players.clean_log):
        sitting, tempo_bpm, best, misses = _Sitting(players, who), 60.0, None, 0
        while tempo_bpm > 20:
            passed, _ = sitting.passes(tempo_bpm)
            if passed:
                went_down = best is None and tempo_bpm < 60
                best, misses = tempo_bpm, 0
                if went_down:
                    break
                tempo_bpm += 5
                continue
            misses += 1
            if misses == 2:
                if best is not None:
                    break
                tempo_bpm, misses = tempo_bpm - 5, 0
        errors.append((best or tempo_bpm) / math.exp(clean_log) - 1)
        seconds.append(sitting.clock_s)
    return np.array(errors), np.array(seconds)


def by_rule(players: Players, rule: UpDown, seconds: float) -> Array:
    """The error of an up-down rule after so many seconds; of its tempo where it has found none yet."""

    def found(sitting: _Sitting) -> float:
        after = rule
        while not after.ended:
            passed, at_s = sitting.passes(float(after.tempo_bpm))
            if at_s > seconds:
                break
            after = after.answered(passed)
        return after.found_bpm or after.tempo_bpm

    return _errors(players, found)


def steps(players: Players, seconds: float) -> Array:
    """The error of the program's ladder of fixed steps, which tells the fastest rung passed."""

    def found(sitting: _Sitting) -> float:
        ladder: Ladder = LADDERS["steps"](ASK.start)
        while ladder.ended is None:
            tempo_bpm = ladder.tempo_bpm
            passed, at_s = sitting.passes(float(tempo_bpm))
            if at_s > seconds:
                break
            ladder = ladder.answered(Take(DRILL, tempo_bpm, 8, Outcome.PASS_ if passed else Outcome.FAIL))
        return ladder.result().best_bpm or ladder.tempo_bpm

    return _errors(players, found)


def _errors(players: Players, found: Callable[[_Sitting], float]) -> Array:
    return np.array(
        [found(_Sitting(players, who)) / math.exp(at) - 1 for who, at in enumerate(players.clean_log)]
    )


def quest_plus_of_our_law() -> QuestPlus:
    """A. B. Watson's QUEST+ (2017) by the library of that name, on our law, grid and belief at the start.

    It knows no logistic with our lapse and offset, so its table of likelihoods is replaced, worked out with
    scipy alone. No bound on steps up: it may ask for any tempo.
    """
    of = QuestPlus(
        stim_domain={"intensity": CANDIDATES_BPM.astype(float)},
        param_domain={"mean": ct.LOG_TEMPOS, "sd": ct.SPREADS},
        outcome_domain={"response": ["miss", "clean"]},
        func="norm_cdf",
        stim_scale="linear",
    )
    distance = ct.LOG_TEMPOS[None, :, None] - np.log(CANDIDATES_BPM)[:, None, None]
    clean = scipy.special.expit(distance / ct.SPREADS + scipy.special.logit(0.8))
    said = LAPSE + (1 - 2 * LAPSE) * clean
    of.likelihoods = xr.DataArray(
        np.stack([1 - said, said]),
        dims=("response", "intensity", "mean", "sd"),
        coords={"response": ["miss", "clean"], "intensity": CANDIDATES_BPM.astype(float)}
        | {"mean": ct.LOG_TEMPOS, "sd": ct.SPREADS},
    )
    of.prior = of.posterior = xr.DataArray(ct.prior().mass.T, dims=("mean", "sd"), coords=of.prior.coords)
    return of


def quest_plus(players: Players, at_s: tuple[float, ...]) -> list[tuple[Array, Array]]:
    """Errors, and whether the 90 % interval holds the truth, at each of the times."""
    kept = [[] for _ in at_s]  # type: list[list[Array]]
    of = quest_plus_of_our_law()
    fresh = of.prior
    for who in range(len(players.clean_log)):
        of.posterior = fresh
        sitting, stands = _Sitting(players, who), [fresh for _ in at_s]
        while sitting.clock_s < at_s[-1]:
            tempo_bpm = float(of.next_stim["intensity"])
            passed, answered_s = sitting.passes(tempo_bpm)
            of.update(stim={"intensity": tempo_bpm}, outcome={"response": "clean" if passed else "miss"})
            stands = [
                of.posterior if answered_s <= limit_s else stand
                for stand, limit_s in zip(stands, at_s, strict=True)
            ]
        for one, stand in zip(kept, stands, strict=True):
            one.append(stand.transpose("sd", "mean").values)
    return [_as_told(players, np.stack(masses)) for masses in kept]


def _as_told(players: Players, mass: Array) -> tuple[Array, Array]:
    low, high = ct.quantile(mass, 0.05), ct.quantile(mass, 0.95)
    error = np.expm1(ct.moments(mass)[0] - players.clean_log)
    return error, (low <= players.clean_log) & (players.clean_log <= high)
