"""How well a tapped tempo is told, by simulated feet.

    python -m tests.benchmarks.tapping [--players N]

Every tap is off by a normal error of 25 ms of its own: more than what is reported of fingers (from memory,
Repp 2005, Psychonomic Bulletin & Review 12, 969-992, tells of asynchronies with standard deviations of 2 % of
the interval in those who train and about 4 % in others), as much as an untrained foot may have. The other
feet also miss a beat, bounce once, or keep time as Wing & Kristofferson (1973) have it: intervals of a clock
that varies, and a limb's delay at each tap (from memory: some 10 to 20 ms, and some 5 to 10 ms).
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from tabulate import tabulate

from pedaltrainer.timing.tapped import tapped_bpm

TAP_SD_S = 0.025
CLOCK_SHARE = 0.02
"""What a clock's interval varies by, as a share of it."""
TEMPOS_BPM = (60, 80, 100, 120, 140, 160)
Array = NDArray[np.float64]
Taps = Callable[[Array, float, np.random.Generator], Array]


@dataclass(frozen=True)
class FootKind:
    """How a foot taps: from the beats, the seconds of one and chance to the taps, in order."""

    name: str
    taps_of: Taps
    one_more: bool = False
    """A beat is missed: one more is heard for as many taps."""


def steady(beats_s: Array, beat_s: float, chance: np.random.Generator) -> Array:
    return beats_s + chance.normal(0, TAP_SD_S, len(beats_s))


def missing(beats_s: Array, beat_s: float, chance: np.random.Generator) -> Array:
    return np.delete(steady(beats_s, beat_s, chance), chance.integers(1, len(beats_s) - 1))


def bouncing(beats_s: Array, beat_s: float, chance: np.random.Generator) -> Array:
    taps_s = steady(beats_s, beat_s, chance)
    return np.append(taps_s, chance.choice(taps_s) + chance.uniform(0.05, 0.12))


def with_a_clock(beats_s: Array, beat_s: float, chance: np.random.Generator) -> Array:
    ticks = chance.normal(beat_s, CLOCK_SHARE * beat_s, len(beats_s)).cumsum()
    return ticks + chance.normal(0, TAP_SD_S / 2, len(beats_s))


FEET = (
    FootKind("each tap by itself", steady),
    FootKind("misses one beat", missing, one_more=True),
    FootKind("bounces once", bouncing),
)
WITH_A_CLOCK = FootKind("a clock that varies by 2 %", with_a_clock)


def errors(foot: FootKind, bpm: float, taps: int, players: int, seed: int) -> Array:
    """By how much the tempo told is off, as shares of it."""
    chance = np.random.default_rng(seed)
    beat_s = 60 / bpm
    beats_s = beat_s * np.arange(taps + foot.one_more)
    told = (tapped_bpm(sorted(foot.taps_of(beats_s, beat_s, chance).tolist())) for _ in range(players))
    return np.array([0.0 if one is None else one / bpm - 1 for one in told])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=4000)
    players = parser.parse_args().players
    for taps in (4, 8, 16):
        rows = [
            [
                foot.name,
                *(
                    f"{100 * np.sqrt(np.mean(off**2)):.2f} ({100 * np.quantile(np.abs(off), 0.99):.1f})"
                    for off in (errors(foot, bpm, taps, players, seed=bpm) for bpm in TEMPOS_BPM)
                ),
            ]
            for foot in (*FEET, WITH_A_CLOCK)
        ]
        least = [
            f"{100 * TAP_SD_S / np.sqrt(np.var(np.arange(taps)) * taps) * bpm / 60:.2f}" for bpm in TEMPOS_BPM
        ]
        rows.append(["no linear rule is below", *least])
        print(f"{taps} taps: RMS error in per cent (99 of 100 within)")
        print(tabulate(rows, headers=["foot", *(f"{bpm} BPM" for bpm in TEMPOS_BPM)], tablefmt="github"))
        print()


if __name__ == "__main__":
    main()
