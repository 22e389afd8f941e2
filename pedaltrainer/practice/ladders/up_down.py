"""The up-down ladders: simple rules that settle at a chosen chance of a clean take.

Transformed: up after n clean takes in a row, down after every miss; it settles
where n in a row is as likely as not, at the chance 0.5 ** (1 / n): 70.7, 79.4,
84.1, 87.1, 89.1 % for n = 2 to 6 (H. Levitt, "Transformed up-down methods in
psychoacoustics", JASA 49, 1971; there "down" means harder, here harder is up).

Weighted: up after every clean take, down after every miss, with steps that
balance at the target p: step up * p = step down * (1 - p) (C. Kaernbach,
"Simple adaptive testing with the weighted up-down method", Perception &
Psychophysics 49, 1991).

Steps are shares of the tempo. Until the first turn every clean take climbs a
whole step; after it the step is half, after the third turn a quarter. The
estimate is the geometric mean of the tempos halfway between turns, the first left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from pedaltrainer.practice.ladders.rungs import (
    FASTEST_BPM,
    SLOWEST_BPM,
    TIME_UP,
    Cause,
    Ending,
    Finding,
    LadderResult,
    LadderStart,
    Rung,
    on_the_ladder,
    with_answer,
)
from pedaltrainer.practice.take import Outcome, Take

TURNS = 10
"""A measurement ends after this many turns."""


def passes_needed(target_chance: float) -> int:
    """The n of the transformed rule whose chance 0.5 ** (1 / n) is nearest to the target."""
    if not 0 < target_chance < 1:
        raise ValueError(f"no rule settles at a chance of {target_chance}")
    return min(range(1, 13), key=lambda n: abs(settles_at(n) - target_chance))


def settles_at(passes: int) -> float:
    """The chance of a pass at which a transformed rule with this many passes settles."""
    return float(0.5 ** (1 / passes))


def down_over_up(target_chance: float) -> float:
    """Kaernbach's ratio: the step down after a miss over the step up after a pass."""
    if not 0 < target_chance < 1:
        raise ValueError(f"no rule settles at a chance of {target_chance}")
    return target_chance / (1 - target_chance)


@dataclass(frozen=True, slots=True)
class UpDown:
    """An up-down ladder after some takes.

    at_log: log of the exact tempo, of which tempo_bpm is the whole number. up and
    down: the first steps in log tempo. needed: clean takes in a row for a step up.
    turns: log tempos at which the heading changed.
    """

    name: str
    at_log: float
    up: float
    down: float
    needed: int
    practise: bool = False
    run: int = 0
    heading: int = 0
    turns: tuple[float, ...] = ()
    tried: tuple[Rung, ...] = ()

    @property
    def tempo_bpm(self) -> int:
        return on_the_ladder(math.exp(self.at_log))

    @property
    def ended(self) -> Ending | None:
        for rung in self.tried:
            if rung.tempo_bpm >= FASTEST_BPM and rung.passes >= max(2, self.needed):
                return Ending(Cause.TOP_REACHED)
            if rung.tempo_bpm <= SLOWEST_BPM and rung.fails >= 2:
                return Ending(Cause.BOTTOM_MISSED, SLOWEST_BPM)
        if len(self.turns) >= TURNS and not self.practise:
            return Ending(Cause.TURNED_OFTEN, TURNS)
        return None

    @property
    def clean_log(self) -> float | None:
        """The log tempo the rule has settled at so far; None before the second turn."""
        if len(self.turns) < 2:
            return None
        kept = self.turns[1:] if len(self.turns) > 2 else self.turns
        halfway = [(a + b) / 2 for a, b in pairwise(kept)]
        return sum(halfway) / len(halfway)

    def answered(self, take: Take) -> UpDown:
        if take.outcome is Outcome.VOID:
            return self
        passed = take.outcome is Outcome.PASS_
        tried = with_answer(self.tried, round(take.tempo_bpm), passed)
        run = self.run + 1 if passed else 0
        if passed and self.turns and run < self.needed:
            return replace(self, run=run, tried=tried)
        heading = 1 if passed else -1
        turned = self.heading == -heading
        turns = (*self.turns, self.at_log) if turned else self.turns
        finer = 1.0 if not turns else 0.5 if len(turns) < 3 else 0.25
        # Before the first turn a weighted rule climbs as fast as it would fall.
        up = self.up if turns else max(self.up, self.down)
        at_log = self.at_log + finer * (up if passed else -self.down)
        low, high = math.log(SLOWEST_BPM), math.log(FASTEST_BPM)
        return replace(
            self,
            at_log=min(max(at_log, low), high),
            run=0,
            heading=heading,
            turns=turns,
            tried=tried,
        )

    def result(self) -> LadderResult:
        ending = self.ended or TIME_UP
        if self.clean_log is None:
            return LadderResult(ending, self.tried, Finding.NOT_TURNED if self.tried else Finding.NONE)
        return LadderResult(ending, self.tried, Finding.ABOUT, clean_bpm=math.exp(self.clean_log))

    def rungs(self) -> tuple[Rung, ...]:
        return self.tried


def transformed(start: LadderStart) -> UpDown:
    """Up after n clean takes in a row, down after every miss; n from the target chance."""
    target, step = _target(start), _step(start)
    return UpDown("up-down", _log_start(start), step, step, passes_needed(target), start.mode == "practise")


def weighted(start: LadderStart) -> UpDown:
    """Up after every clean take, down further after every miss; the ratio from the target chance."""
    target, step = _target(start), _step(start)
    return UpDown(
        "weighted", _log_start(start), step / down_over_up(target), step, 1, start.mode == "practise"
    )


def _log_start(start: LadderStart) -> float:
    return math.log(on_the_ladder(start.start_bpm))


def _target(start: LadderStart) -> float:
    return start.practise_chance if start.mode == "practise" else start.target_chance


def _step(start: LadderStart) -> float:
    if start.step_bpm <= 0:
        raise ValueError(f"a step of {start.step_bpm} BPM leads nowhere")
    return math.log1p(start.step_bpm / on_the_ladder(start.start_bpm))
