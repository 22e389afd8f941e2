"""The changes that players begin with, the easiest first."""

from __future__ import annotations

from functools import lru_cache

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.moves import move
from pedaltrainer.practice.coach.pieces import hold_cost
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.hands import hand_for

_COMMON = (
    "C Am", "E Am", "Em Am", "Am Dm", "A D", "C Em", "A E", "C D", "Em G", "E D", "D Em",
    "C G", "D G", "Am G",
)  # fmt: skip
"""Between the open chords that are taught first (common practice, no published source)."""


@lru_cache(maxsize=8)
def common_changes(book: ShapeBook) -> tuple[Drill, ...]:
    """The common changes, by what the hand's way and the two holds cost together; those without a shape in
    the book's tuning are left out."""
    drills = (parse_drill(words) for words in _COMMON)
    costs = {drill: cost for drill in drills if (cost := _cost(drill, book)) is not None}
    return tuple(sorted(costs, key=costs.__getitem__))


def _cost(drill: Drill, book: ShapeBook) -> float | None:
    here, there = (hand_for(chord, book).shape for chord in drill.chords)
    if here is None or there is None:
        return None
    return move(here, there).cost + sum(hold_cost(chord, book) for chord in drill.chords)
