"""What the drums play, as rows: which beats of a bar are struck, where in the beat, and how hard. Pure.

The figures are the plainest of each kind (common practice, no published source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Feel(StrEnum):
    """How the beat is divided and where its weight lies."""

    STRAIGHT = "straight"
    SHUFFLE = "shuffle"
    WALTZ = "waltz"
    COMPOUND = "compound"


@dataclass(frozen=True, slots=True)
class Backing:
    """What the player wants to hear under the click. level: 0 to 1, beside the click's own volume.

    pad: the chords too, softly, for whoever wants to hear what they should be.
    """

    feel: Feel = Feel.STRAIGHT
    level: float = 1.0
    pad: bool = False
    seed: int = 0


class Voice(StrEnum):
    """What sounds."""

    BASS = "bass"
    PAD = "pad"
    KICK = "kick"
    SNARE = "snare"
    BRUSH = "brush"
    HAT = "hat"


class On(StrEnum):
    """Some beats of a bar."""

    FIRST = "first"
    MIDDLE = "middle"
    BACK = "back"
    OTHERS = "others"
    EVERY = "every"


def beats_on(which: On, beats: int) -> tuple[int, ...]:
    """Those beats, from 0, of a bar with so many.

    The middle is the beat half-way through a bar of four and more. Back beats are the second of every two;
    in a bar of an odd number only the last one.
    """
    match which:
        case On.FIRST:
            return (0,)
        case On.MIDDLE:
            return (beats // 2,) if beats >= 4 and beats % 2 == 0 else ()
        case On.BACK:
            return tuple(range(1, beats, 2)) if beats % 2 == 0 else (beats - 1,)[: beats - 1]
        case On.OTHERS:
            return tuple(range(1, beats))
        case On.EVERY:
            return tuple(range(beats))


@dataclass(frozen=True, slots=True)
class Stroke:
    """A voice on some beats. late: how much of a beat after it. gain: 0 to 1."""

    voice: Voice
    on: On
    gain: float
    late: Fraction = Fraction(0)


_HALF, _THIRD = Fraction(1, 2), Fraction(1, 3)
_KICK_AND_SNARE = (
    Stroke(Voice.KICK, On.FIRST, 1.0),
    Stroke(Voice.KICK, On.MIDDLE, 0.85),
    Stroke(Voice.SNARE, On.BACK, 0.9),
    Stroke(Voice.HAT, On.EVERY, 0.9),
)
STROKES: Mapping[Feel, tuple[Stroke, ...]] = {
    Feel.STRAIGHT: (*_KICK_AND_SNARE, Stroke(Voice.HAT, On.EVERY, 0.55, _HALF)),
    Feel.SHUFFLE: (*_KICK_AND_SNARE, Stroke(Voice.HAT, On.EVERY, 0.55, 2 * _THIRD)),
    Feel.WALTZ: (
        Stroke(Voice.KICK, On.FIRST, 1.0),
        Stroke(Voice.BRUSH, On.OTHERS, 0.8),
        Stroke(Voice.HAT, On.EVERY, 0.7),
    ),
    Feel.COMPOUND: (
        *_KICK_AND_SNARE,
        Stroke(Voice.HAT, On.EVERY, 0.45, _THIRD),
        Stroke(Voice.HAT, On.EVERY, 0.6, 2 * _THIRD),
    ),
}


def feel_in(asked: Feel, beat_unit: Fraction) -> Feel:
    """The feel that fits a metre: where a beat is dotted, it is divided in three whatever was asked."""
    return Feel.COMPOUND if beat_unit.numerator == 3 else asked
