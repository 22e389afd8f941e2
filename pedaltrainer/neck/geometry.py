"""The neck in millimetres: where frets, strings and fingertips are, and how far a hand spans.

x runs along the strings from the nut, y across them from the lowest string.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.errors import InputError

BEHIND_THE_FRET_MM = 7.0
"""How far behind the fret wire a fingertip's middle presses (common practice, no published source)."""

HAND_SPAN_MM = 100.0
"""How far apart along the strings a hand holds its index and little fingertips without strain: a finger a
fret from the first fret on (97 mm), four frets apart from the sixth. The widest grip of the open data in
tests/data takes 97 mm."""

_LIMITS_MM = {
    "scale length": (300.0, 900.0),
    "string spacing at the nut": (5.0, 15.0),
    "string spacing at the bridge": (5.0, 20.0),
    "hand span": (50.0, 150.0),
}


def _check(what: str, size_mm: float) -> None:
    low, high = _LIMITS_MM[what]
    if not low <= size_mm <= high:
        raise InputError(f"A {what} of {size_mm:g} mm is not possible; give {low:g} to {high:g} mm.")


@dataclass(frozen=True, slots=True)
class NeckSize:
    """Scale length and string spacing. Defaults: 25.5 in, and six strings spread over 35 mm at the nut
    and 52 mm at the bridge, usual for a steel-strung guitar (from memory).

    Raises InputError for a size that no fretted instrument of this kind has.
    """

    scale_mm: float = 647.7
    nut_gap_mm: float = 7.0
    bridge_gap_mm: float = 10.4

    def __post_init__(self) -> None:
        _check("scale length", self.scale_mm)
        _check("string spacing at the nut", self.nut_gap_mm)
        _check("string spacing at the bridge", self.bridge_gap_mm)

    def fret_mm(self, fret: float) -> float:
        """From the nut to a fret wire: L * (1 - 2 ** (-f / 12)), equal temperament."""
        return float(self.scale_mm * (1 - 2 ** (-fret / 12)))

    def finger_mm(self, string: int, fret: int) -> tuple[float, float]:
        """(x, y) of a fingertip that holds a string (0 = lowest) at a fret counted from the nut (>= 1)."""
        wire, before = self.fret_mm(fret), self.fret_mm(fret - 1)
        x = wire - min(BEHIND_THE_FRET_MM, (wire - before) / 2)
        gap = self.nut_gap_mm + (self.bridge_gap_mm - self.nut_gap_mm) * x / self.scale_mm
        return x, gap * string

    def span_mm(self, low_fret: int, high_fret: int) -> float:
        """Along the strings, between fingertips at two frets counted from the nut (1 <= low <= high)."""
        return self.finger_mm(0, high_fret)[0] - self.finger_mm(0, low_fret)[0]

    def highest_within(self, low_fret: int, hand_span_mm: float = HAND_SPAN_MM) -> int:
        """The highest fret that the hand reaches while a finger holds low_fret, both from the nut (>= 1)."""
        fret = low_fret
        # Towards the bridge frets crowd together without end; no hand is wanted beyond two octaves more.
        while fret < low_fret + 24 and self.span_mm(low_fret, fret + 1) <= hand_span_mm:
            fret += 1
        return fret


USUAL_NECK = NeckSize()


def check_hand_span(hand_span_mm: float) -> float:
    """The hand span, if hands have it. Raises InputError otherwise."""
    _check("hand span", hand_span_mm)
    return hand_span_mm
