"""Metres: how many beats a bar has, and which note is a beat.

The upper number counts notes of the lower one. Where it is 6, 9, 12 or more by threes and the lower one is 8
or 16, three of them are a beat (compound time, the common rule of music notation): 6/8 has two beats, dotted
quarters. "6/8 in 6" says otherwise.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

MOST_BEATS = 32
UNITS = (1, 2, 4, 8, 16, 32)
_METRE = re.compile(r"(?P<count>\d{1,2}) ?/ ?(?P<unit>\d{1,2})(?: +in +(?P<beats>\d{1,2}))?")


class Metre(NamedTuple):
    """beats: in a bar. beat_unit: the note that is a beat, as part of a whole note."""

    beats: int
    beat_unit: Fraction

    @property
    def usual(self) -> Metre:
        """The same bar as it is usually counted: 6/8 in two, however else the chart counts it."""
        return usual_metre(self.beats * self.beat_unit.numerator, self.beat_unit.denominator)

    def __str__(self) -> str:
        plain = f"{self.beats * self.beat_unit.numerator}/{self.beat_unit.denominator}"
        return plain if self.usual == self else f"{plain} in {self.beats}"


FOUR_FOUR = Metre(4, Fraction(1, 4))


def usual_metre(count: int, unit: int) -> Metre:
    """The metre count/unit as it is usually counted."""
    if unit >= 8 and count % 3 == 0 and count > 3:
        return Metre(count // 3, Fraction(3, unit))
    return Metre(count, Fraction(1, unit))


def parse_metre(text: str) -> Metre | None:
    """Read "4/4", "6/8" or "6/8 in 6"; None when it is no metre. `str` writes what this reads."""
    found = _METRE.fullmatch(text.strip())
    if found is None:
        return None
    count, unit = int(found["count"]), int(found["unit"])
    if not 1 <= count <= MOST_BEATS or unit not in UNITS:
        return None
    if found["beats"] is None:
        return usual_metre(count, unit)
    beats = int(found["beats"])
    return Metre(beats, Fraction(count, unit * beats)) if 0 < beats <= count and count % beats == 0 else None
