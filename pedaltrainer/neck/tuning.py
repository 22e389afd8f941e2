"""Tunings: the notes of the open strings, and a capo."""

from __future__ import annotations

from dataclasses import dataclass

HIGHEST_FRET = 24


@dataclass(frozen=True, slots=True)
class Tuning:
    """open_midi: MIDI note numbers of the open strings without the capo, lowest string first.

    Frets are counted from the capo, as players and chord boxes count them.
    """

    open_midi: tuple[int, ...]
    capo: int = 0

    @property
    def strings(self) -> int:
        return len(self.open_midi)

    @property
    def highest_fret(self) -> int:
        """The highest fret that can be pressed, counted from the capo."""
        return HIGHEST_FRET - self.capo

    def note(self, string: int, fret: int) -> int:
        """The MIDI note number that a string (0 = lowest) gives at a fret."""
        return self.open_midi[string] + self.capo + fret


STANDARD_TUNING = Tuning((40, 45, 50, 55, 59, 64))
"""E2 A2 D3 G3 B3 E4, with middle C = C4 = 60."""
