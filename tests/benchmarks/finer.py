"""A finer answer, which the program does not have: clean, missed once, missed more often.

What it would tell is set beside what is asked today. Where a landing that follows a miss is missed more
easily, a single miss is rarer than independent landings would make it; TOGETHER is how strongly it is taken
to be so. It was chosen in the answer's favour, where it loses least on players whose misses cluster.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.seek import shape_of
from tests.benchmarks.players import Said
from tests.benchmarks.simulated import ASK, TAP_S, Way

Array = NDArray[np.float64]

TOGETHER = 0.4
MISCOUNTED = 0.1
"""The share of missed takes whose misses are counted wrong."""


@dataclass(frozen=True, slots=True)
class FinerWay(Way):
    """Every take is asked about, and a missed one again: more than once? Another tap says so."""

    @property
    def table(self) -> choosing.OutcomeTable:
        tempos = choosing.CANDIDATES_BPM.astype(np.float64)
        clean, one, _ = _chances(ct.log_keep(np.log(tempos)), self.start.landings)
        chances = np.stack([clean.reshape(len(tempos), -1), one.reshape(len(tempos), -1)], axis=1)
        full_s = shape_of(self.start).full_s(tempos)
        return choosing.OutcomeTable(
            np.ascontiguousarray(chances.reshape(2 * len(tempos), -1).T, np.float32),
            np.stack([full_s, full_s, full_s], axis=1),
            2,
        )

    def seconds(self, tempo_bpm: Array, said: Said, first: bool) -> tuple[Array, Array]:
        spent_s, answered_s = Way.seconds(self, tempo_bpm, said, first)
        # A double tap is known at its second way down; that no third tap comes, a tap later.
        more_s = np.where(said.passed | said.broke_off, 0.0, TAP_S)
        return spent_s + more_s, answered_s + more_s

    def likelihood(self, tempo_bpm: Array, said: Said) -> Array:
        clean, one, more = _chances(ct.log_keep(np.log(tempo_bpm)), self.start.landings)
        missed = np.where(said.one_miss[:, None, None], one, more)
        missed = np.where(said.broke_off[:, None, None], 1 - clean, missed)
        return np.where(said.passed[:, None, None], clean, missed)


def _chances(keep_log: Array, landings: int) -> tuple[Array, Array, Array]:
    """The chances of the three answers; they add up to one."""
    keep, clean = np.exp(keep_log), np.exp(landings * keep_log)
    single = (1 - keep) * np.exp((landings - 1) * keep_log) * ((landings - 1) * (1 - TOGETHER) + 1)
    several = np.maximum(1 - clean - single, 0.0)
    for_nothing = ct.LAPSE * clean / 2
    one = (1 - ct.LAPSE) * (single * (1 - MISCOUNTED) + several * MISCOUNTED) + for_nothing
    more = (1 - ct.LAPSE) * (several * (1 - MISCOUNTED) + single * MISCOUNTED) + for_nothing
    return ct.as_a_pass(clean, ct.LAPSE), one, more


FINER = FinerWay("ask, finer", ASK.start, ASK.breath_s, ASK.lead_s)
