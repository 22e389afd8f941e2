"""From a song to its changes, and the air time that each one leaves. Pure.

What the chart says of the strumming hand and of the gap decides how long the fretting hand has: `air_beats`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from pedaltrainer.neck.gap import HALF_BEAT, Gap
from pedaltrainer.songs.song import NO_CHORD, Bar, Mark, Song

MOST_AIR_BEATS = 1
"""A hand needs no more than this in the air: a longer rest before a landing asks for no slower drill."""


@dataclass(frozen=True, slots=True)
class Change:
    """One chord after another. bar: 0-based, of the song written out. beat: of the landing, in that bar.

    at_beats: the landing, in beats from the song's start. air_beats: how long before it the hand leaves the
    chord before. tempo_bpm: beats a minute in that time; where the tempo changes within it, the one tempo
    that leaves as much time.
    """

    here: str
    there: str
    bar: int
    beat: Fraction
    at_beats: Fraction
    gap: Gap
    air_beats: Fraction
    tempo_bpm: float

    @property
    def air_ms(self) -> float:
        """The air time: from letting the old chord go to landing the new one."""
        return float(self.air_beats) * 60_000 / self.tempo_bpm

    @property
    def needed_air_ms(self) -> float:
        """As much of it as a drill has to leave."""
        return min(self.air_ms, MOST_AIR_BEATS * 60_000 / self.tempo_bpm)


class Spot(NamedTuple):
    """A place in a song as it is written: section, bar of the section, beat of the bar."""

    section: int
    bar: int
    beat: Fraction


@lru_cache(maxsize=256)
def changes_of(song: Song) -> tuple[Change, ...]:
    """Every change of the song written out, in order; a chord followed by itself is none.

    Between the marks the strumming hand is taken to strike on every finest stroke of the bar; while a chord
    is held or the hand is free nothing is struck. The hand leaves the old chord as `air_beats` says, or
    where the chart has it free or muted until the landing, if that is earlier. A free stretch in a song of
    instant changes is a lifted gap.
    """
    bars = song.bars
    starts = tuple(accumulate((Fraction(bar.beats) for bar in bars), initial=Fraction(0)))
    places = _places(bars, starts, song)
    changes: list[Change] = []
    held: _Held | None = None
    for place in places:
        if place.chord not in (None, NO_CHORD) and (held is None or place.chord != held.chord):
            if held is not None:
                changes.append(_change(place.gap, held, place, _Times(bars, starts)))
            held = _Held(str(place.chord))
        if held is not None:
            held.play(place)
    return tuple(changes)


def air_beats(
    strokes: Sequence[Fraction],
    landing: Fraction,
    gap: Gap,
    stroke: Fraction,
    half_beat: Fraction = HALF_BEAT,
) -> Fraction:
    """How many beats before `landing` the hand leaves a chord that the marks keep down until then.

    strokes: when it is struck, in order, from its own landing or from before the last half beat; the last
    before `landing`. stroke: the finest stroke. half_beat: of the metre as it is usually counted. All in
    beats of the bar. Common practice, no published source:

    - LIFTED and MUTED. The strokes in the last half beat before the landing are given up to the gap: they
      are open or dull, and the hand leaves with the first of them. The first of all is never given up.
      Where no stroke is given up, the hand leaves half a beat before the landing, but lets the last stroke
      sound for at least half of the time that is left.
    - INSTANT. No stroke is given up, and the chord sounds until half of the finest stroke is left, or half of
      the time from its last stroke if that is less.
    """
    if gap is Gap.INSTANT:
        return min(stroke, landing - strokes[-1]) / 2
    given_up = next((at for at in strokes[1:] if at >= landing - half_beat), None)
    if given_up is not None:
        return landing - given_up
    return min(half_beat, (landing - strokes[-1]) / 2)


@dataclass(frozen=True, slots=True)
class _Place:
    """A slot of the song written out. bar_start, at, end: in beats from the song's start; stroke: the finest
    one, half_beat: of the metre as it is usually counted, both in beats."""

    bar: int
    bar_start: Fraction
    beat: Fraction
    at: Fraction
    end: Fraction
    chord: str | None
    mark: Mark | None
    stroke: Fraction
    half_beat: Fraction
    gap: Gap
    pattern: str = ""
    bar_end: Fraction = Fraction(0)

    def strokes(self) -> list[Fraction]:
        """When the strumming hand strikes in it: where it begins, and on the bar's finest strokes, or those
        of its pattern."""
        step = (self.bar_end - self.bar_start) / len(self.pattern) if self.pattern else self.stroke
        first = self.beat // step + 1
        last = math.ceil((self.end - self.bar_start) / step)
        struck = (number for number in range(first, last) if not self.pattern or self.pattern[number] != "-")
        return [self.at, *(self.bar_start + number * step for number in struck)]


@dataclass(slots=True)
class _Held:
    """The chord in the hand.

    struck: the slots it is struck in since it was put down. left: when the hand is off it by the chart's
    marks, None while it is down. left_for: the last mark since then, NO_CHORD where there is none.
    """

    chord: str
    struck: list[_Place] = field(default_factory=list)
    left: Fraction | None = None
    left_for: str = ""

    def play(self, place: _Place) -> None:
        """What a slot that brings no other chord does to it."""
        if place.chord == NO_CHORD or place.mark in (Mark.FREE, Mark.MUTED):
            self.left = place.at if self.left is None else self.left
            if self.left_for != NO_CHORD:
                self.left_for = place.chord or str(place.mark)
        elif place.chord is not None or (place.mark is Mark.STRUCK and self.left_for != NO_CHORD):
            if self.left is not None:
                self.struck, self.left, self.left_for = [], None, ""
            self.struck.append(place)

    def strokes_before(self, landing: Fraction, half_beat: Fraction) -> list[Fraction]:
        """When it is struck in the half beat before a landing, and the slot before that; all of it if
        it was put down later."""
        first = len(self.struck) - 1
        while first and self.struck[first].at >= landing - half_beat:
            first -= 1
        return [at for place in self.struck[first:] for at in place.strokes()]


@dataclass(frozen=True, slots=True)
class _Times:
    """The bars of a song written out, and where each begins, in beats."""

    bars: Sequence[Bar]
    starts: Sequence[Fraction]

    def tempo_before(self, place: _Place, air: Fraction) -> float:
        """The one tempo that makes the `air` beats before a place as long as they are."""
        seconds, end, index = 0.0, place.at, place.bar
        if self.starts[index] == end and index:
            index -= 1
        if self.starts[index] <= place.at - air:
            return self.bars[index].tempo_bpm
        while end > place.at - air:
            begin = max(self.starts[index], place.at - air)
            seconds += 60 * float(end - begin) / self.bars[index].tempo_bpm
            end, index = begin, index - 1
        return 60 * float(air) / seconds


def _places(bars: Sequence[Bar], starts: Sequence[Fraction], song: Song) -> Iterator[_Place]:
    for index, bar in enumerate(bars):
        ends = [*(slot.beat for slot in bar.slots[1:]), Fraction(bar.beats)]
        start, stroke = starts[index], song.strum / bar.beat_unit
        for slot, end in zip(bar.slots, ends, strict=False):
            yield _Place(
                *(index, start, slot.beat, start + slot.beat, start + end, slot.chord, slot.mark),
                stroke=stroke,
                half_beat=bar.half_beat,
                gap=slot.gap or bar.gap or song.gap,
                pattern=bar.pattern,
                bar_end=start + bar.beats,
            )


def _change(gap: Gap, held: _Held, place: _Place, times: _Times) -> Change:
    strokes = held.strokes_before(place.at, place.half_beat)
    air = air_beats(strokes, place.at, gap, place.stroke, place.half_beat)
    if held.left is not None:
        air = max(air, place.at - held.left)
        gap = Gap.MUTED if held.left_for == Mark.MUTED else _FREE_GAPS.get(gap, gap)
    tempo_bpm = times.tempo_before(place, air)
    return Change(held.chord, str(place.chord), place.bar, place.beat, place.at, gap, air, tempo_bpm)


_FREE_GAPS = {Gap.INSTANT: Gap.LIFTED}
