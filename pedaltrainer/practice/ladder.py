"""Ladders: the rule that turns answers into the next tempo.

A ladder is an immutable value. `answered` gives the ladder after one more
take, so undoing an answer is folding over the takes that remain. The
session knows ladders only through the protocol below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Protocol, Self

from pedaltrainer.practice.take import Outcome, Take

SLOWEST_BPM = 20
FASTEST_BPM = 300


@dataclass(frozen=True, slots=True)
class LadderResult:
    """What a ladder has found. best_bpm: the fastest rung passed; interval_bpm when it measures one."""

    best_bpm: int | None
    why_ended: str
    interval_bpm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Rung:
    """One tempo, and how often it was passed and failed."""

    tempo_bpm: int
    passes: int = 0
    fails: int = 0


class Ladder(Protocol):
    """What the session needs of a ladder."""

    @property
    def name(self) -> str: ...
    @property
    def tempo_bpm(self) -> int:
        """The tempo of the next take."""
        ...

    @property
    def ended(self) -> str | None:
        """Why the ladder needs no more takes, in words; None while it does."""
        ...

    def answered(self, take: Take) -> Self:
        """The ladder after one more take. A void take changes nothing."""
        ...

    def result(self) -> LadderResult: ...
    def rungs(self) -> tuple[Rung, ...]:
        """The rungs tried so far, slow to fast."""
        ...


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
            tried=_with_answer(self.tried, round(take.tempo_bpm), passed),
        )

    def result(self) -> LadderResult:
        passed = [rung.tempo_bpm for rung in self.tried if rung.passes]
        return LadderResult(max(passed, default=None), self.ended or "the time was up")

    def rungs(self) -> tuple[Rung, ...]:
        return self.tried


def _with_answer(tried: tuple[Rung, ...], tempo_bpm: int, passed: bool) -> tuple[Rung, ...]:
    by_tempo = {rung.tempo_bpm: rung for rung in tried}
    rung = by_tempo.get(tempo_bpm, Rung(tempo_bpm))
    by_tempo[tempo_bpm] = replace(rung, passes=rung.passes + passed, fails=rung.fails + (not passed))
    return tuple(by_tempo[tempo] for tempo in sorted(by_tempo))


LADDERS: dict[str, Callable[[int, int], Ladder]] = {"steps": Steps}
"""Ladders by name: each makes one from a starting tempo and a step, both in BPM."""


def climb(ladder: Ladder, takes: Iterable[Take]) -> Ladder:
    """The ladder after all of these takes, in order."""
    for take in takes:
        ladder = ladder.answered(take)
    return ladder
