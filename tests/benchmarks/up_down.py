"""The up-down rules, to set beside `seek`: simple rules that settle at a chosen chance of a clean take.

Transformed: up after n clean takes in a row, down after every miss; it settles
where n in a row is as likely as not, at the chance 0.5 ** (1 / n): 70.7, 79.4,
84.1, 87.1, 89.1 % for n = 2 to 6 (H. Levitt, "Transformed up-down methods in
psychoacoustics", JASA 49, 1971; there "down" means harder, here harder is up).

Weighted: up after every clean take, down after every miss, with steps that
balance at the target p: step up * p = step down * (1 - p) (C. Kaernbach,
"Simple adaptive testing with the weighted up-down method", Perception &
Psychophysics 49, 1991).

Steps are shares of the tempo. Until the first turn every clean take climbs a
whole step; after it the step is half, after the third turn a quarter. What is
found is the geometric mean of the tempos halfway between turns, the first left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from pedaltrainer.practice.ladders.rungs import on_the_ladder
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

TURNS = 10
"""A measurement ends after this many turns."""
TARGET_CHANCE = 0.8


def passes_needed(target_chance: float) -> int:
    """The n of the transformed rule whose chance 0.5 ** (1 / n) is nearest to the target."""
    return min(range(1, 13), key=lambda n: abs(settles_at(n) - target_chance))


def settles_at(passes: int) -> float:
    """The chance of a pass at which a transformed rule with this many passes settles."""
    return float(0.5 ** (1 / passes))


def down_over_up(target_chance: float) -> float:
    """Kaernbach's ratio: the step down after a miss over the step up after a pass."""
    return target_chance / (1 - target_chance)


@dataclass(frozen=True, slots=True)
class UpDown:
    """An up-down rule after some takes.

    at_log: log of the exact tempo, of which tempo_bpm is the whole number. up and
    down: the first steps in log tempo. needed: clean takes in a row for a step up.
    turns: log tempos at which the heading changed.
    """

    at_log: float
    up: float
    down: float
    needed: int
    run: int = 0
    heading: int = 0
    turns: tuple[float, ...] = ()

    @property
    def tempo_bpm(self) -> int:
        return on_the_ladder(math.exp(self.at_log))

    @property
    def ended(self) -> bool:
        return len(self.turns) >= TURNS

    @property
    def found_bpm(self) -> float | None:
        """The tempo the rule has settled at so far; None before the second turn."""
        if len(self.turns) < 2:
            return None
        kept = self.turns[1:] if len(self.turns) > 2 else self.turns
        halfway = [(a + b) / 2 for a, b in pairwise(kept)]
        return math.exp(sum(halfway) / len(halfway))

    def answered(self, passed: bool) -> UpDown:
        run = self.run + 1 if passed else 0
        if passed and self.turns and run < self.needed:
            return replace(self, run=run)
        heading = 1 if passed else -1
        turned = self.heading == -heading
        turns = (*self.turns, self.at_log) if turned else self.turns
        finer = 1.0 if not turns else 0.5 if len(turns) < 3 else 0.25
        # Before the first turn a weighted rule climbs as fast as it would fall.
        up = self.up if turns else max(self.up, self.down)
        at_log = self.at_log + finer * (up if passed else -self.down)
        low, high = math.log(SLOWEST_BPM), math.log(FASTEST_BPM)
        return replace(self, at_log=min(max(at_log, low), high), run=0, heading=heading, turns=turns)


def transformed(start_bpm: float, step_bpm: float, target_chance: float = TARGET_CHANCE) -> UpDown:
    """Up after n clean takes in a row, down after every miss; n from the target chance."""
    step = math.log1p(step_bpm / start_bpm)
    return UpDown(math.log(start_bpm), step, step, passes_needed(target_chance))


def weighted(start_bpm: float, step_bpm: float, target_chance: float = TARGET_CHANCE) -> UpDown:
    """Up after every clean take, down further after every miss; the ratio from the target chance."""
    step = math.log1p(step_bpm / start_bpm)
    return UpDown(math.log(start_bpm), step / down_over_up(target_chance), step, 1)
