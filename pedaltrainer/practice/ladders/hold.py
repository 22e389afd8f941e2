"""The ladder of slow work: the tempo is held, and gives way when it was too fast."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pedaltrainer.practice.ladders.rungs import (
    TIME_UP,
    Ending,
    Finding,
    LadderResult,
    LadderStart,
    Rung,
    on_the_ladder,
    with_answer,
)
from pedaltrainer.practice.take import Outcome, Take

SLOWER = 0.9


@dataclass(frozen=True, slots=True)
class HeldTempo:
    """Stays at its tempo while takes are clean; a tenth slower after a miss, if it gives way. Measures
    nothing."""

    tempo_bpm: int
    gives_way: bool = True
    tried: tuple[Rung, ...] = ()

    @property
    def name(self) -> str:
        return "hold"

    @property
    def ended(self) -> Ending | None:
        return None

    def answered(self, take: Take) -> HeldTempo:
        if take.outcome is Outcome.VOID:
            return self
        passed = take.outcome is Outcome.PASS_
        stays = passed or not self.gives_way
        tempo_bpm = self.tempo_bpm if stays else on_the_ladder(take.tempo_bpm * SLOWER)
        return replace(
            self, tempo_bpm=tempo_bpm, tried=with_answer(self.tried, round(take.tempo_bpm), passed)
        )

    def result(self) -> LadderResult:
        return LadderResult(TIME_UP, self.tried, Finding.SLOW_WORK if self.tried else Finding.NONE)

    def reaches(self, tempo_bpm: float) -> bool:
        return False

    def rungs(self) -> tuple[Rung, ...]:
        return self.tried


def hold(start: LadderStart) -> HeldTempo:
    """A held tempo: the one the player named, or a slow one."""
    return HeldTempo(start.slow_bpm if start.first_bpm is None else start.first_bpm, start.gives_way)
