"""A chord box, whoever draws it: what stands in it, where it begins, how tall it is, its barres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pedaltrainer.neck.fingering import Barre

USUAL_ROWS = 4
"""Frets in a box, unless the shape spans more."""


@dataclass(frozen=True, slots=True)
class ChordBox:
    """What a box shows. Entries a string run from the lowest string, left or right-handed.

    below: rows of short words, one a string, to stand under the strings (notes, intervals). stays,
    together: indices of the strings whose finger stays in a change, or moves as a block with others.
    caption: lines to stand under it all.
    """

    title: str
    frets: tuple[int | None, ...]
    fingers: tuple[int, ...]
    below: tuple[tuple[str, ...], ...] = ()
    stays: frozenset[int] = frozenset()
    together: frozenset[int] = frozenset()
    caption: tuple[str, ...] = ()
    capo: int = 0

    @property
    def first_fret(self) -> int:
        """The fret of the first row: 1 beside the nut, else the lowest fret pressed."""
        pressed = [fret for fret in self.frets if fret]
        if not pressed or max(pressed) <= USUAL_ROWS:
            return 1
        return min(pressed)

    @property
    def rows(self) -> int:
        """Frets to draw: four, or as many as the shape spans."""
        highest = max((fret for fret in self.frets if fret), default=0)
        return max(USUAL_ROWS, highest - self.first_fret + 1)

    @property
    def barres(self) -> tuple[Barre, ...]:
        return barres(self.frets, self.fingers)


def barres(frets: Sequence[int | None], fingers: Sequence[int]) -> tuple[Barre, ...]:
    """Wherever one finger holds several strings of a fret, by finger and fret."""
    held: dict[tuple[int, int], list[int]] = {}
    for string, (fret, finger) in enumerate(zip(frets, fingers, strict=True)):
        if fret and finger:
            held.setdefault((finger, fret), []).append(string)
    return tuple(
        Barre(finger, fret, strings[0], strings[-1])
        for (finger, fret), strings in sorted(held.items())
        if len(strings) > 1
    )


def finger_sign(finger: int) -> str:
    """The sign on a dot: 1 to 4, T for the thumb (common practice, no published source)."""
    return "T" if finger > 4 else str(finger) if finger else ""
