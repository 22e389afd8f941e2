"""A run-through: a song, or a part of it, played from end to end at a share of its tempo. Pure.

Times are seconds from the first beat after the count-in, which lies below 0.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.track import run_track
from pedaltrainer.songs.changes import Change, changes_of
from pedaltrainer.songs.song import Song
from pedaltrainer.timing.track import BarAndBeat, Track

LEAST_PER_CENT, MOST_PER_CENT, STEP_PER_CENT = 50, 110, 5
"""Shares of the song's tempo that are played."""
SAME_MISS_S = 0.4
"""A second press so soon is about the same miss."""
COUNTED_IN_BARS = 2


@dataclass(frozen=True, slots=True)
class ChordPlace:
    """A chord of the pass: when it lands, its name, and the 0-based bar of the pass."""

    at_s: float
    name: str
    bar: int


@dataclass(frozen=True, slots=True)
class PassBar:
    """A bar of the pass. number: 0-based, of the song written out. section: its name."""

    number: int
    section: str
    start_s: float
    beats: int
    beat_s: float
    names: tuple[str, ...]
    """The chords that land in it."""
    pattern: str = ""
    """What the strumming hand does, evenly over the bar, where the chart tells it (`songs.song.Bar`)."""


@dataclass(frozen=True, slots=True)
class PassLanding:
    """A change of the pass, and how long the hand is in the air before it.

    tempo_bpm: of the drill that leaves the hand as long, one beat at most.
    """

    at_s: float
    bar: int
    drill: Drill
    air_s: float
    tempo_bpm: float


@dataclass(frozen=True, slots=True, eq=False)
class Pass:
    """All of one pass that follows from the song, the part and the tempo. track has the count-in too."""

    title: str
    track: Track
    counted_in_s: float
    end_s: float
    bars: tuple[PassBar, ...]
    chords: tuple[ChordPlace, ...]
    landings: tuple[PassLanding, ...]

    def bar_at(self, at_s: float) -> int:
        """The bar that is played at a second; the first one while it counts in, the last one at the end."""
        return max(0, bisect_right(self.bars, at_s, key=lambda bar: bar.start_s) - 1)


@lru_cache(maxsize=16)
def pass_of(song: Song, per_cent: int, first: int = 0, end: int | None = None) -> Pass:
    """The bars [first, end) of the song written out, at so much of its tempo."""
    end = len(song.bars) if end is None else end
    track = run_track(song, first, end, Fraction(per_cent, 100), COUNTED_IN_BARS)
    counted = sum(bar.counts_in for bar in track.bars)
    begin_s = track.seconds_at(BarAndBeat(counted, Fraction(0)))

    def at_s(bar: int, beat: Fraction) -> float:
        return float(track.seconds_at(BarAndBeat(counted + bar, beat)) - begin_s)

    sections, written = section_of_bars(song), song.bars
    played = track.bars[counted:]
    bars = tuple(
        PassBar(
            first + place,
            sections[first + place],
            at_s(place, Fraction(0)),
            bar.beats,
            60 / bar.tempo_bpm,
            tuple(cue.chord for cue in bar.cues),
            written[first + place].pattern,
        )
        for place, bar in enumerate(played)
    )
    chords = tuple(
        ChordPlace(at_s(place, cue.beat), cue.chord, place)
        for place, bar in enumerate(played)
        for cue in bar.cues
    )
    landings = tuple(
        _landing(change, at_s(change.bar - first, change.beat), change.bar - first, per_cent)
        for change in changes_of(song)
        # The first chord of a part is landed anew, from no chord before it.
        if first <= change.bar < end and (change.bar, change.beat) > (first, 0)
    )
    return Pass(song.title, track, float(begin_s), float(track.seconds - begin_s), bars, chords, landings)


def _landing(change: Change, at_s: float, bar: int, per_cent: int) -> PassLanding:
    drill = Drill(Kind.CHANGE, (change.here, change.there), gap=change.gap)
    air_s = change.air_ms / 1000 * 100 / per_cent
    tempo_bpm = drill.tempo_of_air(change.needed_air_ms) * per_cent / 100
    return PassLanding(at_s, bar, drill, air_s, round(tempo_bpm, 1))


def section_of_bars(song: Song) -> tuple[str, ...]:
    """The name of the section of every bar written out."""
    return tuple(
        section.name for section in song.sections for _ in range(section.times) for _ in section.bars
    )


def section_starts(song: Song) -> tuple[tuple[str, int, int], ...]:
    """Each section as it comes: its name, its first bar written out, and the one after its last."""
    lengths = [section.times * len(section.bars) for section in song.sections]
    starts = list(accumulate(lengths, initial=0))
    return tuple(
        (section.name, start, start + length)
        for section, start, length in zip(song.sections, starts, lengths, strict=False)
    )


def part_of(song: Song, begin: str | None, until: str | None, bars: str | None) -> tuple[int, int]:
    """The bars that are asked for: from a section on, to the end of one, or "9-16", counted from 1.

    Raises InputError for a section or bars that the song does not have.
    """
    count = len(song.bars)
    if bars is not None:
        if begin is not None or until is not None:
            raise InputError("Name bars or sections, not both: leave out --bars, or --from and --to.")
        first, dash, last = bars.partition("-")
        numbers = [int(one) if one.strip().isdecimal() else 0 for one in (first, last if dash else first)]
        if not 1 <= numbers[0] <= numbers[1] <= count:
            raise InputError(
                f"“{bars}” are no bars of {song.title}; it has bars 1 to {count}, as in --bars 1-8."
            )
        return numbers[0] - 1, numbers[1]
    first_bar = 0 if begin is None else _section(song, begin)[1]
    end = (
        count
        if until is None
        else next((end for name, _, end in section_starts(song) if _same(name, until) and end > first_bar), 0)
    )
    if end <= first_bar:
        _section(song, until or "")
        raise InputError(f"{until} does not come after {begin or 'the beginning'} in {song.title}.")
    return first_bar, end


def _section(song: Song, wanted: str) -> tuple[str, int, int]:
    for one in section_starts(song):
        if _same(one[0], wanted):
            return one
    names = (
        ", ".join(dict.fromkeys(name for name, _, _ in section_starts(song) if name)) or "none with a name"
    )
    raise InputError(f"{song.title} has no section “{wanted}”; its sections are {names}.")


def _same(name: str, other: str) -> bool:
    return name.casefold().split() == other.casefold().split()


def with_mark(marks: tuple[float, ...], at_s: float) -> tuple[float, ...]:
    """The marks with one more; none where it is about the same miss as the last."""
    if marks and at_s - marks[-1] < SAME_MISS_S:
        return marks
    return (*marks, at_s)


def landing_meant(one: Pass, at_s: float, reaction_s: float) -> int | None:
    """The landing that a press is most likely about: the last one before it by the player's own reaction.

    None where nothing has landed yet.
    """
    before = [place for place, landing in enumerate(one.landings) if landing.at_s <= at_s]
    if not before:
        return None
    return min(before[-2:], key=lambda place: abs(at_s - reaction_s - one.landings[place].at_s))


def bar_meant(one: Pass, at_s: float, reaction_s: float) -> int:
    """The bar of the pass that a press flags."""
    meant = landing_meant(one, at_s, reaction_s)
    return one.bar_at(at_s - reaction_s) if meant is None else one.landings[meant].bar
