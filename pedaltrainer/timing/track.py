"""A practice track: bars of click with the chords that land in them, placed exactly. Pure.

A place is a bar and a beat in it, both exact; samples and ticks are each rounded once, from the place, so
that nothing drifts however long the track is. What is written as a file (`wav`, `smf`) begins here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.grid import RATE

LONGEST_S = 4 * 3600


class Place(NamedTuple):
    """bar: 0-based. beat: in the bar, from 0; the bar's own length is the end of it."""

    bar: int
    beat: Fraction


class Cue(NamedTuple):
    """A chord's name, and the beat of the bar that it lands on."""

    beat: Fraction
    chord: str


@dataclass(frozen=True, slots=True)
class TrackBar:
    """One bar. beat_unit: the note that is a beat, as part of a whole note; tempo_bpm counts beats.

    lifts: the beats at which the hand leaves the old chord. heading: what begins here ("Take 2", "Verse").
    counts_in: it is a bar of count-in.
    """

    beats: int
    beat_unit: Fraction
    tempo_bpm: float
    cues: tuple[Cue, ...] = ()
    lifts: tuple[Fraction, ...] = ()
    heading: str = ""
    counts_in: bool = False


@dataclass(frozen=True, slots=True)
class Track:
    """Bars in order, at least one. Raises InputError for a track that lasts over four hours."""

    title: str
    bars: tuple[TrackBar, ...]

    def __post_init__(self) -> None:
        if not self.bars:
            raise ValueError("a track has at least one bar")
        if self.seconds > LONGEST_S:
            raise InputError("This track would last over four hours; ask for fewer takes or bars.")

    @property
    def seconds(self) -> Fraction:
        """How long it lasts, exactly."""
        return _bar_starts_s(self.bars)[-1]

    def seconds_at(self, place: Place) -> Fraction:
        """When a place is, in seconds from the start, exactly."""
        return _bar_starts_s(self.bars)[place.bar] + place.beat * _beat_s(self.bars[place.bar])

    def whole_notes_at(self, place: Place) -> Fraction:
        """Where a place is, in whole notes from the start, exactly."""
        return _bar_starts_whole(self.bars)[place.bar] + place.beat * self.bars[place.bar].beat_unit

    def clicks(self) -> Iterator[tuple[Place, Sound]]:
        """Every beat of every bar, and the softer mark where the hand lifts."""
        for number, bar in enumerate(self.bars):
            for beat in range(bar.beats):
                strong = Sound.ACCENT if beat == 0 else Sound.BEAT
                yield Place(number, Fraction(beat)), Sound.COUNT if bar.counts_in else strong
            for lift in bar.lifts:
                yield Place(number, lift), Sound.OFFBEAT


def click_samples(track: Track, rate: int = RATE) -> list[tuple[int, Sound]]:
    """Every click of a track as (sample, sound), in order of time; sample 0 is the start."""
    return sorted((round(track.seconds_at(place) * rate), sound) for place, sound in track.clicks())


def _beat_s(bar: TrackBar) -> Fraction:
    # From its decimals: 97.3 BPM are 973/10, not the nearest binary number.
    return 60 / Fraction(str(bar.tempo_bpm))


@lru_cache(maxsize=8)
def _bar_starts_s(bars: tuple[TrackBar, ...]) -> tuple[Fraction, ...]:
    """Where each bar begins, in seconds, and where the last one ends."""
    return tuple(accumulate((bar.beats * _beat_s(bar) for bar in bars), initial=Fraction(0)))


@lru_cache(maxsize=8)
def _bar_starts_whole(bars: tuple[TrackBar, ...]) -> tuple[Fraction, ...]:
    """Where each bar begins, in whole notes, and where the last one ends."""
    return tuple(accumulate((bar.beats * bar.beat_unit for bar in bars), initial=Fraction(0)))
