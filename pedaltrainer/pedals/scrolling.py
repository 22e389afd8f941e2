"""A pedal or a knob that travels, as the hand on a list: where it stands is where the marker is. Pure.

It takes the marker only by being moved: a page that comes with its marker on a row keeps it there however
the pedal lies, and so does one whose marker a switch has moved since. Near the edge between two rows the
marked one is kept (hysteresis).
"""

from __future__ import annotations

from dataclasses import dataclass

TREMBLE = 3.5 / 127
"""What a pedal that nobody moves may wander, as a share of its way: a few of 127 steps (ours)."""
OVERLAP = 0.25
"""How far beyond the edge of the marked row the next one begins, in rows."""


@dataclass(frozen=True, slots=True)
class Scroll:
    """rest: where it stood when it last had the marker, or was found first. row, rows: the row that it
    marked, and of how many."""

    rest: float | None = None
    row: int | None = None
    rows: int = 0


def scroll(before: Scroll, place: float, rows: int, marker: int) -> Scroll:
    """It stands at a share of its way now, 0 to 1; `row` is the one to mark, None while it is not its turn.

    rows: of the list that is shown; 0 where none is.
    """
    if not rows:
        return Scroll(place)
    is_its_own = (before.row, before.rows) == (marker, rows)
    rest = place if before.rest is None else before.rest
    if not is_its_own and abs(place - rest) < TREMBLE:
        return Scroll(rest)
    return Scroll(place, _row_at(place, rows, marker), rows)


def _row_at(place: float, rows: int, marker: int) -> int:
    at = place * rows
    if marker - OVERLAP <= at <= marker + 1 + OVERLAP:
        return marker
    return min(rows - 1, int(at))
