"""A song as the trainer knows it: bars of chords, written out, at a tempo. Pure.

Every length is in beats of the bar's metre (a quarter in 4/4, an eighth in 6/8 unless the chart says
otherwise), as a fraction: no beat is ever a rounded number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from fractions import Fraction

from pedaltrainer.songs.gap import Gap


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
    """A place in a bar: its beat within the bar (from 0), and a chord that begins there or a mark."""

    beat: Fraction
    chord: str | None = None
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar. beats: its length; tempo_bpm: beats a minute in it."""

    slots: tuple[Slot, ...]
    beats: int
    beat_unit: int
    tempo_bpm: float


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the song with a name ("Verse", perhaps ""), played `times` times in a row."""

    name: str
    bars: tuple[Bar, ...]
    times: int = 1


@dataclass(frozen=True, slots=True)
class Song:
    """A song. stroke: the finest stroke of the strumming hand, in beats. gap: how the hand usually goes
    through the gap before a change. by: when it has to be ready."""

    title: str
    sections: tuple[Section, ...]
    stroke: Fraction = Fraction(1, 2)
    gap: Gap = Gap.LIFTED
    by: date | None = None
    notes: tuple[str, ...] = field(default=())

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The song written out: every section as often as it is played."""
        return tuple(bar for section in self.sections for _ in range(section.times) for bar in section.bars)
