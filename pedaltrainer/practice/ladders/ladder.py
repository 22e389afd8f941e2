"""Ladders: the rule that turns answers into the next tempo.

A ladder is an immutable value. `answered` gives the ladder after one more
take, so undoing an answer is folding over the takes that remain. The
session knows ladders only through the protocol below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.ladders.hold import hold
from pedaltrainer.practice.ladders.rungs import Ladder, LadderResult, LadderStart, Rung
from pedaltrainer.practice.ladders.seek import seek
from pedaltrainer.practice.ladders.steps import Steps, _steps
from pedaltrainer.practice.take import Take

__all__ = [
    "LADDERS",
    "Ladder",
    "LadderResult",
    "LadderStart",
    "PastResult",
    "Rung",
    "Steps",
    "climb",
]


LADDERS: dict[str, Callable[[LadderStart], Ladder]] = {
    "steps": _steps,
    "seek": seek,
    "hold": hold,
}
"""Ladders by name: each makes one, before its first take, from what is known at the start."""


def climb(ladder: Ladder, takes: Iterable[Take]) -> Ladder:
    """The ladder after all of these takes, in order."""
    for take in takes:
        ladder = ladder.answered(take)
    return ladder
