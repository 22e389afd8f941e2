"""A song as the trainer knows it: bars of chords, written out, at a tempo. Pure.

Every length is in beats as the player counts them: a quarter in 4/4, a dotted quarter in 6/8 (`metre`).
Lengths are fractions: no beat is ever a rounded number.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from fractions import Fraction

from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs.metre import FOUR_FOUR, Metre

NO_CHORD = "N.C."
"""Stands where a chord would: none is fretted until the next one, whatever the marks between them."""


class Mark(StrEnum):
    """What happens on a slot of a bar that brings no new chord."""

    STRUCK = "/"
    """The chord before is struck again."""
    HELD = "."
    """It rings on; nothing is struck."""
    FREE = "-"
    """Nothing: the hand is free."""
    MUTED = "x"
    """A dull stroke: the fingers stay in touch, unpressed."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a bar: its beat within the bar (from 0), and a chord that begins there or a mark.

    A chord is written as `parse_chosen` writes it, or is NO_CHORD. gap: how the hand goes through the gap
    before this chord, where that is another than the bar's.
    """

    beat: Fraction
    chord: str | None = None
    mark: Mark | None = None
    gap: Gap | None = None


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar. beats: its length. beat_unit: the note that is a beat, as part of a whole note: 1/4, or 3/8
    for a dotted quarter. tempo_bpm: beats a minute in it. gap: how the hand goes through the gaps before its
    chords; None: as in the song. pattern: what the strumming hand does, evenly over the bar, a letter for
    each place: D, U and x (dull) are strokes, - is none; "": every finest stroke of the song."""

    slots: tuple[Slot, ...]
    beats: int
    beat_unit: Fraction
    tempo_bpm: float
    gap: Gap | None = None
    pattern: str = ""

    @property
    def half_beat(self) -> Fraction:
        """Half a beat as the metre is usually counted, in beats of this bar: the same music leaves the same
        air, whether 6/8 is counted in two or in six."""
        return Metre(self.beats, self.beat_unit).usual.beat_unit / self.beat_unit / 2


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the song with a name ("Verse", perhaps ""), played `times` times in a row."""

    name: str
    bars: tuple[Bar, ...]
    times: int = 1


@dataclass(frozen=True, slots=True)
class Song:
    """A song. strum: the finest stroke of the strumming hand, as part of a whole note (1/8 for 8ths,
    whatever the metre). gap: how the hand usually goes through the gap before a change. by: when it has to
    be ready. notes: what the player wrote beside it, a line each. key: "D" or "Bm", "" where none is told.
    capo: the fret it is at, 0 for none; the chords are those that are fingered. told: how what was written
    was taken where that may not be plain, a sentence each."""

    title: str
    sections: tuple[Section, ...]
    strum: Fraction = Fraction(1, 8)
    gap: Gap = Gap.LIFTED
    by: date | None = None
    notes: tuple[str, ...] = ()
    key: str = ""
    capo: int = 0
    told: tuple[str, ...] = field(default=(), compare=False)

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The song written out: every section as often as it is played."""
        return tuple(bar for section in self.sections for _ in range(section.times) for bar in section.bars)

    @property
    def tempo_bpm(self) -> float:
        """The tempo that most of its beats have; the first one of equals."""
        beats: Counter[float] = Counter()
        for bar in self.bars:
            beats[bar.tempo_bpm] += bar.beats
        return beats.most_common(1)[0][0] if beats else 0.0

    @property
    def metre(self) -> Metre:
        """The metre that most of its bars have; the first one of equals."""
        bars = Counter(Metre(bar.beats, bar.beat_unit) for bar in self.bars)
        return bars.most_common(1)[0][0] if bars else FOUR_FOUR

    @property
    def seconds(self) -> float:
        """How long it lasts at its own tempo."""
        return sum(60 * bar.beats / bar.tempo_bpm for bar in self.bars)
