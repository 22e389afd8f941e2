"""Shapes: one way to finger a chord.

Frets and fingers run from the lowest string to the highest.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning

THUMB = 5
FINGER_WORDS = {1: "index", 2: "middle", 3: "ring", 4: "little", THUMB: "thumb"}
"""As players call them (common practice, no published source)."""


def finger_name(finger: int) -> str:
    """ "ring finger", "thumb"."""
    return FINGER_WORDS[finger] if finger == THUMB else f"{FINGER_WORDS[finger]} finger"


@dataclass(frozen=True, slots=True)
class Shape:
    """One fingering. frets: None = not played, 0 = open; fingers: 0 none, 1-4, 5 thumb."""

    frets: tuple[int | None, ...]
    fingers: tuple[int, ...]
    tuning: Tuning = STANDARD_TUNING

    @property
    def midi(self) -> tuple[int, ...]:
        """MIDI note numbers of the strings that sound, lowest string first."""
        return tuple(
            self.tuning.note(string, fret) for string, fret in enumerate(self.frets) if fret is not None
        )

    @property
    def position(self) -> int:
        """The fret at which the index finger is, or would be with one finger a fret; 0 for all open.

        Common practice, no published source.
        """
        places = [
            fret - (finger - 1 if finger <= 4 else 0)
            for fret, finger in zip(self.frets, self.fingers, strict=True)
            if fret and finger
        ]
        index = [fret for fret, finger in zip(self.frets, self.fingers, strict=True) if fret and finger == 1]
        if index:
            return min(index)
        return max(1, min(places)) if places else 0


def staying_strings(here: Shape, there: Shape) -> frozenset[int]:
    """Indices of the strings on which the same finger holds the same fret in both shapes."""
    return frozenset(
        string
        for string, (fret_a, finger_a, fret_b, finger_b) in enumerate(
            zip(here.frets, here.fingers, there.frets, there.fingers, strict=True)
        )
        if finger_a and finger_a == finger_b and fret_a == fret_b
    )
