"""Drills that get harder by steps at one tempo: two clean takes in a row lead on, two missed ones back. Pure.

Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable

from pedaltrainer.practice.kinds import KindRow
from pedaltrainer.practice.take import Outcome, Take

IN_A_ROW = 2


def step_after(takes: Iterable[Take], row: KindRow, start: int = 0) -> int:
    """The step (0-based) at which the next take is played. start: that of the first of these takes.

    A void take changes nothing. 0 where the drill has no steps.
    """
    last = len(row.steps) - 1
    step, alike = min(start, max(last, 0)), 0
    for take in takes:
        if take.outcome is Outcome.VOID or last < 0:
            continue
        by = 1 if take.outcome is Outcome.PASS_ else -1
        alike = alike + by if alike * by > 0 else by
        if abs(alike) == IN_A_ROW:
            step, alike = min(max(step + by, 0), last), 0
    return step


def step_words(row: KindRow, step: int) -> str:
    """A step in words: "fret 5", "half a beat later"; "" where the drill has none."""
    return row.steps[min(step, len(row.steps) - 1)] if row.steps else ""
