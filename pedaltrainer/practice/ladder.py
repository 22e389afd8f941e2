"""Ladders: the rule that turns answers into the next tempo.

A ladder is an immutable value. `answered` gives the ladder after one more
take, so undoing an answer is folding over the takes that remain. The
session knows ladders only through the protocol below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from pedaltrainer.practice.hold import hold
from pedaltrainer.practice.rungs import (
    FASTEST_BPM,
    SLOWEST_BPM,
    Ladder,
    LadderResult,
    LadderStart,
    PastResult,
    Rung,
    best_of,
    with_answer,
)
from pedaltrainer.practice.seek import seek
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.up_down import transformed, weighted

__all__ = [
    "FASTEST_BPM",
    "LADDERS",
    "SLOWEST_BPM",
    "Ladder",
    "LadderResult",
    "LadderStart",
    "PastResult",
    "Rung",
    "Steps",
    "climb",
]


@dataclass(frozen=True, slots=True)
class Steps:
    """Fixed steps: up on a pass, down on a fail, finer after the first turn.

    Ends when the same rung has been failed twice, when the top rung is
    passed, or when the bottom one will not come. Reports the fastest rung
    passed.
    """

    tempo_bpm: int
    step_bpm: int
    turned: bool = False
    heading: int = 0
    tried: tuple[Rung, ...] = ()

    @property
    def name(self) -> str:
        return "steps"

    @property
    def ended(self) -> str | None:
        for rung in self.tried:
            if rung.fails >= 2:
                return f"{rung.tempo_bpm} BPM was missed twice"
            if rung.passes and rung.tempo_bpm == FASTEST_BPM:
                return "the top of the ladder was reached"
        return None

    def answered(self, take: Take) -> Steps:
        if take.outcome is Outcome.VOID:
            return self
        passed = take.outcome is Outcome.PASS_
        heading = 1 if passed else -1
        first_turn = not self.turned and self.heading == -heading
        step_bpm = max(1, (self.step_bpm + 1) // 2) if first_turn else self.step_bpm
        tempo_bpm = min(max(round(take.tempo_bpm) + heading * step_bpm, SLOWEST_BPM), FASTEST_BPM)
        return replace(
            self,
            tempo_bpm=tempo_bpm,
            step_bpm=step_bpm,
            turned=self.turned or first_turn,
            heading=heading,
            tried=with_answer(self.tried, round(take.tempo_bpm), passed),
        )

    def result(self) -> LadderResult:
        return LadderResult(best_of(self.tried), self.ended or "the time was up")

    def rungs(self) -> tuple[Rung, ...]:
        return self.tried


def _steps(start: LadderStart) -> Steps:
    return Steps(start.start_bpm, start.step_bpm)


LADDERS: dict[str, Callable[[LadderStart], Ladder]] = {
    "steps": _steps,
    "up-down": transformed,
    "weighted": weighted,
    "seek": seek,
    "hold": hold,
}
"""Ladders by name: each makes one, before its first take, from what is known at the start."""


def climb(ladder: Ladder, takes: Iterable[Take]) -> Ladder:
    """The ladder after all of these takes, in order."""
    for take in takes:
        ladder = ladder.answered(take)
    return ladder
