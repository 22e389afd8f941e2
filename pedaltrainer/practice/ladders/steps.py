"""A ladder of fixed steps: the plainest there is."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pedaltrainer.practice.ladders.rungs import (
    TIME_UP,
    EndedBy,
    Ending,
    Finding,
    LadderResult,
    LadderStart,
    Rung,
    best_of,
    with_answer,
)
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM


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
    def ended(self) -> Ending | None:
        for rung in self.tried:
            if rung.fails >= 2:
                return Ending(EndedBy.MISSED_TWICE, rung.tempo_bpm)
            if rung.passes and rung.tempo_bpm == FASTEST_BPM:
                return Ending(EndedBy.TOP_REACHED)
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
        finding = Finding.NONE if best_of(self.tried) is None else Finding.FASTEST_RUNG
        return LadderResult(self.ended or TIME_UP, self.tried, finding)

    def reaches(self, tempo_bpm: float) -> bool:
        return False

    def rungs(self) -> tuple[Rung, ...]:
        return self.tried


def _steps(start: LadderStart) -> Steps:
    return Steps(start.start_bpm, start.step_bpm)
