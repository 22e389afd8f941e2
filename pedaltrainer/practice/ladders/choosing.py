"""Which tempo to ask for next: the one that tells most per second of playing.

A take at tempo x has a few possible outcomes: clean, or missed (in the
speak-up style: missed at about the first, the second, ... landing). For each
outcome the belief afterwards is known now, and so is the variance of the log
clean tempo that would be left, on average over outcomes. What is gained, over
the seconds the take is expected to cost with its count-in, is what the choice
maximises. (Expected variance: D. A. Cohn, Z. Ghahramani and M. I. Jordan,
"Active learning with statistical models", JAIR 4, 1996; per second: ours.)

Arrays have players first: a single player is a batch of one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.counted import LAPSE, missed_once
from pedaltrainer.practice.foot import fit_of_landing
from pedaltrainer.practice.rules import NOW, Rules
from pedaltrainer.practice.take import REACTION_S
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM, short_count_in

Array = NDArray[np.float64]

CANDIDATES_BPM: NDArray[np.int64] = np.unique(
    np.rint(np.geomspace(SLOWEST_BPM, FASTEST_BPM, 150)).astype(np.int64)
)
"""The tempos that are weighed: whole BPM, about 2 % apart; finer would tell nothing more."""


@dataclass(frozen=True, slots=True)
class TakeShape:
    """What a take costs and can tell, whatever its tempo.

    count_in_beats: of a whole count-in; by the rules of today all takes but the first have a short one.
    pause_s: from the end of the take to the next count-in. counts_misses: a missed take tells whether it was
    missed once or more often.
    """

    landings: int = 8
    beats_per_chord: int = 1
    count_in_beats: int = 4
    speak_up: bool = False
    reaction_s: float = REACTION_S
    pause_s: float = 0.0
    rules: Rules = NOW
    counts_misses: bool = False

    def count_in_s(self, tempo_bpm: Array) -> Array:
        """Seconds of the count-in: [tempos] for [tempos]."""
        whole = np.full(len(tempo_bpm), self.count_in_beats)
        short = np.array([short_count_in(one) for one in tempo_bpm])
        beats = np.minimum(short, whole) if self.rules.short_count_in else whole
        return np.asarray(beats * 60 / tempo_bpm)

    def full_s(self, tempo_bpm: Array) -> Array:
        """Seconds of a take that is played to its end, count-in and pause included: [tempos]."""
        played_s = self.landings * self.beats_per_chord * 60 / tempo_bpm
        return np.asarray(self.count_in_s(tempo_bpm) + played_s + self.pause_s)


@dataclass(frozen=True, slots=True, eq=False)
class OutcomeTable:
    """Every candidate's outcomes but the last, over the grid; the last is what the others leave.

    chances: [grid, candidates * outcomes], outcome fastest; seconds: the cost of each
    outcome, [candidates, outcomes + 1]. Single precision: it halves the time and only ranks tempos.
    """

    chances: NDArray[np.float32] = field(repr=False)
    seconds: Array = field(repr=False)
    outcomes: int


@lru_cache(maxsize=8)
def table(shape: TakeShape) -> OutcomeTable:
    """The table of a kind of take; made once, some tens of milliseconds."""
    tempos = CANDIDATES_BPM.astype(np.float64)
    full_s = shape.full_s(tempos)
    players = len(tempos)
    keep_log = ct.log_keep(np.log(tempos))
    if not shape.speak_up:
        passed = ct.answer_likelihood(keep_log, shape.landings, np.ones(players, bool), None)
        told = [passed, *((missed_once(keep_log, shape.landings),) if shape.counts_misses else ())]
        chances = np.stack([one.reshape(players, -1) for one in told], axis=1)
        return OutcomeTable(
            np.ascontiguousarray(chances.reshape(players * len(told), -1).T, np.float32),
            np.stack([full_s] * (len(told) + 1), 1),
            len(told),
        )
    columns, seconds = [], []
    landing_s = shape.beats_per_chord * 60 / tempos
    law = shape.rules.law(shape.reaction_s)
    count_in_s = shape.count_in_s(tempos)
    for first_miss in range(1, shape.landings + 1):
        where = np.stack(
            [
                fit_of_landing(first_miss, one, shape.landings, shape.rules.off_s(shape.reaction_s, one), law)
                for one in landing_s
            ]
        )
        missed = ct.answer_likelihood(keep_log, shape.landings, np.zeros(players, bool), where)
        columns.append(missed.reshape(players, -1))
        # A press counted for a landing comes, on the mean, in the middle of its beat.
        spoke_s = count_in_s + (first_miss - 0.5) * landing_s + shape.reaction_s
        seconds.append(np.minimum(spoke_s + shape.pause_s, full_s))
    chances = np.stack(columns, axis=1).reshape(players * shape.landings, -1).T
    return OutcomeTable(
        np.ascontiguousarray(chances, np.float32), np.stack([*seconds, full_s], axis=1), shape.landings
    )


def gains(mass: Array, of: OutcomeTable) -> tuple[Array, Array]:
    """What each candidate is expected to take off the variance, and its expected seconds.

    mass: [players, spreads, tempos]. Both results: [players, candidates].
    """
    mean, _ = ct.moments(mass)
    players = len(mass)
    flat = mass.reshape(players, -1)
    off_mean = np.tile(ct.LOG_TEMPOS, len(ct.SPREADS)) - mean[:, None]
    stacked = np.concatenate([flat, flat * off_mean]).astype(np.float32)
    sums = (stacked @ of.chances).astype(np.float64).reshape(2, players, -1, of.outcomes)
    chance, first = sums
    rest, rest_first = 1 - chance.sum(axis=2), -first.sum(axis=2)
    tiny = 1e-7
    gain = (first**2 / np.maximum(chance, tiny)).sum(axis=2) + rest_first**2 / np.maximum(rest, tiny)
    cost_s = (chance * of.seconds[:, :-1]).sum(axis=2) + np.maximum(rest, 0) * of.seconds[:, -1]
    return gain, cost_s


def most_telling(mass: Array, of: OutcomeTable, fastest_bpm: Array) -> Array:
    """The tempo to ask each player for next, none above fastest_bpm. All [players]."""
    gain, cost_s = gains(mass, of)
    worth = gain / cost_s
    worth[CANDIDATES_BPM[None, :] > fastest_bpm[:, None]] = -math.inf
    worth[:, 0] = np.maximum(worth[:, 0], 0.0)
    best: Array = CANDIDATES_BPM[np.argmax(worth, axis=1)].astype(np.float64)
    return best


def clean_at(mass: Array, chance: float, landings: int, fastest_bpm: Array) -> Array:
    """The tempo whose next take is clean with about this chance, none above fastest_bpm. [players]."""
    of = table(TakeShape(landings=landings))
    lapse = LAPSE
    said = mass.reshape(len(mass), -1).astype(np.float32) @ of.chances
    clean = (said.astype(np.float64) - lapse) / (1 - 2 * lapse)
    off = np.abs(clean - chance)
    off[CANDIDATES_BPM[None, :] > fastest_bpm[:, None]] = math.inf
    off[:, 0] = np.minimum(off[:, 0], 2.0)
    found: Array = CANDIDATES_BPM[np.argmin(off, axis=1)].astype(np.float64)
    return found
