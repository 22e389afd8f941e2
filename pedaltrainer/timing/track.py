"""A practice track: bars of click with the chords that land in them, placed exactly. Pure.

A place is a bar and a beat in it, both exact; samples and ticks are each rounded once, from the place, so
that nothing drifts however long the track is. What is written as a file (`wav`, `smf`) begins here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.grid import RATE

LONGEST_S = 4 * 3600


class BarAndBeat(NamedTuple):
    """bar: 0-based. beat: in the bar, from 0; the bar's own length is the end of it."""

    bar: int
    beat: Fraction


class ChordCue(NamedTuple):
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
    cues: tuple[ChordCue, ...] = ()
    lifts: tuple[Fraction, ...] = ()
    heading: str = ""
    counts_in: bool = False


@dataclass(frozen=True, slots=True)
class Track:
    """Bars in order, at least one. capo: the fret it is at; chords are named as they are fingered above it.

    Raises InputError for a track that lasts over four hours.
    """

    title: str
    bars: tuple[TrackBar, ...]
    capo: int = 0
    _starts_s: tuple[Fraction, ...] = field(init=False, repr=False, compare=False)
    _starts_whole: tuple[Fraction, ...] = field(init=False, repr=False, compare=False)
    """Where each bar begins, and where the last one ends, in seconds and in whole notes."""

    def __post_init__(self) -> None:
        if not self.bars:
            raise ValueError("a track has at least one bar")
        seconds = (bar.beats * _length_s(bar.tempo_bpm) for bar in self.bars)
        whole_notes = (bar.beats * bar.beat_unit for bar in self.bars)
        # Worked out once: a frozen dataclass lets nothing else in.
        object.__setattr__(self, "_starts_s", tuple(accumulate(seconds, initial=Fraction(0))))
        object.__setattr__(self, "_starts_whole", tuple(accumulate(whole_notes, initial=Fraction(0))))
        if self.seconds > LONGEST_S:
            raise InputError("This track would last over four hours; ask for fewer takes or bars.")

    @property
    def seconds(self) -> Fraction:
        """How long it lasts, exactly."""
        return self._starts_s[-1]

    def seconds_at(self, place: BarAndBeat) -> Fraction:
        """When a place is, in seconds from the start, exactly."""
        return self._starts_s[place.bar] + place.beat * _length_s(self.bars[place.bar].tempo_bpm)

    def whole_notes_at(self, place: BarAndBeat) -> Fraction:
        """Where a place is, in whole notes from the start, exactly."""
        return self._starts_whole[place.bar] + place.beat * self.bars[place.bar].beat_unit

    def clicks(self) -> Iterator[tuple[BarAndBeat, Sound]]:
        """Every beat of every bar, and the softer mark where the hand lifts."""
        for number, bar in enumerate(self.bars):
            for beat in range(bar.beats):
                strong = Sound.ACCENT if beat == 0 else Sound.BEAT
                yield BarAndBeat(number, Fraction(beat)), Sound.COUNT if bar.counts_in else strong
            for lift in bar.lifts:
                yield BarAndBeat(number, lift), Sound.OFFBEAT


def click_samples(track: Track, rate: int = RATE) -> list[tuple[int, Sound]]:
    """Every click of a track as (sample, sound), in order of time; sample 0 is the start."""
    return sorted((round(track.seconds_at(place) * rate), sound) for place, sound in track.clicks())


@lru_cache(maxsize=256)
def _length_s(tempo_bpm: float) -> Fraction:
    """How long a beat lasts."""
    # From its decimals: 97.3 BPM are 973/10, not the nearest binary number.
    return 60 / Fraction(str(tempo_bpm))
