"""Drills: what is practised, landing by landing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from pedaltrainer.errors import InputError
from pedaltrainer.neck.symbols import parse_chord

HALF_BEAT = Fraction(1, 2)


class Kind(StrEnum):
    CHANGE = "change"
    RE_LAND = "re-land"


@dataclass(frozen=True, slots=True)
class Drill:
    """A change between two chords, or one shape lifted clear and landed again.

    beats_per_chord is the number of beats from one landing to the next; the
    hand lifts in the last half-beat before a landing whatever it is.
    """

    kind: Kind
    chords: tuple[str, ...]
    beats_per_chord: int = 1

    @property
    def key(self) -> str:
        """The drill's name in the log, the same whichever chord was named first."""
        chords = " ".join(sorted(self.chords))
        held = f" x{self.beats_per_chord}" if self.beats_per_chord > 1 else ""
        return f"{self.kind} {chords}{held}"

    @property
    def title(self) -> str:
        """The drill in a player's words: "Am – E", "F, landed again"."""
        words = " – ".join(self.chords) if self.kind is Kind.CHANGE else f"{self.chords[0]}, landed again"
        return words + (f", {self.beats_per_chord} beats each" if self.beats_per_chord > 1 else "")

    def chord_at(self, landing: int) -> str:
        """The chord that sounds at a 0-based landing."""
        return self.chords[landing % len(self.chords)]


def parse_drill(words: str, beats_per_chord: int = 1) -> Drill:
    """Read "Am E" as a change and "F" as a re-landing.

    Raises InputError when a word is no chord, or there are none or more than two.
    """
    chords = tuple(str(parse_chord(word)) for word in words.split())
    if not 1 <= len(chords) <= 2:
        raise InputError(
            f'“{words}” names {len(chords)} chords; a drill has one or two, such as "F" or "Am E", '
            "each drill in quotation marks of its own."
        )
    if len(chords) == 2 and chords[0] != chords[1]:
        return Drill(Kind.CHANGE, chords, beats_per_chord)
    return Drill(Kind.RE_LAND, chords[:1], beats_per_chord)


def air_time_ms(tempo_bpm: float, lift: Fraction = HALF_BEAT) -> float:
    """Time in the air before a landing, in ms, when the hand lifts `lift` of a beat early.

    At 60 BPM with the lift on the half-beat: 500 ms.
    Raises ValueError unless tempo_bpm > 0 and 0 < lift <= 1.
    """
    if tempo_bpm <= 0 or not 0 < lift <= 1:
        raise ValueError(f"no air time at {tempo_bpm} BPM with a lift of {lift} of a beat")
    return float(60_000 * lift / Fraction(tempo_bpm))
