"""The neck in millimetres: where frets, strings and fingertips are.

x runs along the strings from the nut, y across them from the lowest string.
"""

from __future__ import annotations

from dataclasses import dataclass

BEHIND_THE_FRET_MM = 7.0
"""How far behind the fret wire a fingertip's middle presses (common practice, no published source)."""


@dataclass(frozen=True, slots=True)
class NeckSize:
    """Scale length and string spacing. Defaults: 25.5 in, and six strings spread over 35 mm at the nut
    and 52 mm at the bridge, usual for a steel-strung guitar (from memory)."""

    scale_mm: float = 647.7
    nut_gap_mm: float = 7.0
    bridge_gap_mm: float = 10.4

    def fret_mm(self, fret: float) -> float:
        """From the nut to a fret wire: L * (1 - 2 ** (-f / 12)), equal temperament."""
        return float(self.scale_mm * (1 - 2 ** (-fret / 12)))

    def finger_mm(self, string: int, fret: int) -> tuple[float, float]:
        """(x, y) of a fingertip that holds a string (0 = lowest) at a fret counted from the nut (>= 1)."""
        wire, before = self.fret_mm(fret), self.fret_mm(fret - 1)
        x = wire - min(BEHIND_THE_FRET_MM, (wire - before) / 2)
        gap = self.nut_gap_mm + (self.bridge_gap_mm - self.nut_gap_mm) * x / self.scale_mm
        return x, gap * string


USUAL_NECK = NeckSize()
