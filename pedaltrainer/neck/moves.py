"""What the fingers do in a change from one shape to another."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pedaltrainer.neck.shapes import Shape


class Deed(StrEnum):
    """What one finger does in a change."""

    STAYS = "stays"
    """Same string, same fret."""
    SLIDES = "slides"
    """Same string, another fret: it may keep in touch with the string."""
    BLOCK = "block"
    """Moves together with another finger, both keeping their offsets: one movement, not two."""
    LIFTS = "lifts"
    """Lifted off one place and put down at another, on its own."""
    LEAVES = "leaves"
    """Pressed in the first shape only."""
    IS_ADDED = "is added"
    """Pressed in the second shape only."""


@dataclass(frozen=True, slots=True)
class FingerMove:
    """One finger's part of a change. Places are (strings held, fret); empty strings = not on the neck."""

    finger: int
    deed: Deed
    from_strings: tuple[int, ...]
    from_fret: int
    to_strings: tuple[int, ...]
    to_fret: int
    distance_mm: float


@dataclass(frozen=True, slots=True)
class HandMove:
    """A whole change. pattern: the fingers whose offsets to one another are the same in both shapes, with
    the (strings, frets) by which they all move; empty when fewer than two do."""

    here: Shape
    there: Shape
    fingers: tuple[FingerMove, ...]
    pattern: frozenset[int]
    pattern_shift: tuple[int, int]
    along_frets: int
    """The hand's move along the neck, in frets: the difference of the positions."""
    along_mm: float
    travel_mm: float
    """The sum of the fingers' distances."""
    cost: float
    """How hard the change is, in the units of the table of costs: what routes add up."""
