"""From a drill or a passage of a song to a practice track. Pure."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.gap import LIFTS
from pedaltrainer.practice.drill import Drill
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.metre import FOUR_FOUR, Metre
from pedaltrainer.songs.song import NO_CHORD, Bar, Song
from pedaltrainer.timing.grid import count_in_bars
from pedaltrainer.timing.track import ChordCue, Track, TrackBar

USUAL_LANDINGS = 8

Bars = tuple[TrackBar, ...]


def drill_track(
    drill: Drill,
    tempo_bpm: float,
    takes: int = 1,
    bars: int | None = None,
    metre: Metre = FOUR_FOUR,
) -> Track:
    """So many takes of a drill, each counted in as on the stage.

    bars: of each take; None for as many as eight landings need, a passage at least once through. A take
    goes on to the end of its last bar. Raises InputError for a track of over four hours.
    """
    length = _bars_of(drill, metre) if bars is None else bars
    return Track(
        f"{drill.title}, {tempo_bpm:g} BPM", _takes(_drill_bars(drill, tempo_bpm, length, metre), takes)
    )


def take_track(
    drill: Drill, tempo_bpm: float, landings: int, count_in_beats: int, metre: Metre = FOUR_FOUR
) -> Track:
    """One take as the stage plays it: so many landings after so many beats of count-in, until the last chord
    is over."""
    beats = math.ceil(drill.landing_beat(landings))
    bars = list(_drill_bars(drill, tempo_bpm, math.ceil(beats / metre.beats), metre, landings))
    bars[-1] = replace(bars[-1], beats=beats - (len(bars) - 1) * metre.beats)
    if not count_in_beats:
        return Track(drill.title, (replace(bars[0], lifts=_within(bars[0].lifts)), *bars[1:]))
    early = tuple(count_in_beats + lift for lift in bars[0].lifts if lift < 0)
    count = TrackBar(count_in_beats, metre.beat_unit, tempo_bpm, lifts=early, counts_in=True)
    return Track(drill.title, (count, replace(bars[0], lifts=_within(bars[0].lifts)), *bars[1:]))


def _within(lifts: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """Those that are not before the bar."""
    return tuple(lift for lift in lifts if lift >= 0)


def song_track(
    song: Song, section: str | None = None, tempo_bpm: float | None = None, takes: int = 1
) -> Track:
    """A song, or a section of it as often as the song plays it in a row, so many times, each counted in.

    tempo_bpm: instead of the song's main tempo; where the song changes its tempo, that changes with it.
    Raises InputError for a section that the song does not have and for a track of over four hours.
    """
    first, end, name = _passage(song, section)
    main = song.tempo_bpm
    share = Fraction(1) if tempo_bpm is None else Fraction(str(tempo_bpm)) / Fraction(str(main))
    bars = tuple(
        replace(bar, tempo_bpm=float(Fraction(str(bar.tempo_bpm)) * share))
        for bar in _song_bars(song, first, end)
    )
    begun = _begun(bars, song, first)
    title = f"{song.title}, {name}" if name else song.title
    return Track(f"{title}, {tempo_bpm or main:g} BPM", _takes(begun, takes), song.capo)


def run_track(song: Song, first: int, end: int, share: Fraction, counted_in: int) -> Track:
    """The bars [first, end) of a song written out, at a share of their tempo, after so many counted in."""
    bars = tuple(
        replace(bar, tempo_bpm=float(Fraction(str(bar.tempo_bpm)) * share))
        for bar in _song_bars(song, first, end)
    )
    return Track(song.title, _counted_in(_begun(bars, song, first), counted_in), song.capo)


def _takes(bars: Bars, takes: int) -> Bars:
    """The bars so many times, each time counted in."""
    one = _counted_in(bars)
    if takes == 1:
        return one
    headings = (f"Take {number}" for number in range(1, takes + 1))
    return tuple(bar for heading in headings for bar in (replace(one[0], heading=heading), *one[1:]))


def _counted_in(bars: Bars, so_many: int | None = None) -> Bars:
    """The bars after a count-in of so many bars, or of whole ones with four beats or more.

    An early lift falls into it. A first bar that is shorter than the second is a pick-up.
    """
    first = bars[0]
    whole = next((bar.beats for bar in bars[1:2] if bar.beat_unit == first.beat_unit), first.beats)
    count = TrackBar(max(first.beats, whole), first.beat_unit, first.tempo_bpm, counts_in=True)
    counts = [count] * (so_many or count_in_bars(count.beats))
    if first.beats < whole:
        # The count runs into a pick-up: together they are whole bars.
        counts[-1] = replace(count, beats=whole - first.beats)
    counts[0] = replace(counts[0], heading="Count-in")
    early = tuple(counts[-1].beats + beat for beat in first.lifts if beat < 0)
    counts[-1] = replace(counts[-1], lifts=early)
    return (*counts, replace(first, lifts=_within(first.lifts)), *bars[1:])


# --- drills -----------------------------------------------------------------------------


def _bars_of(drill: Drill, metre: Metre) -> int:
    landings = USUAL_LANDINGS
    if drill.row.rounds:
        landings = math.ceil(landings / len(drill.chords)) * len(drill.chords)
    return math.ceil(drill.landing_beat(landings) / metre.beats)


def _drill_bars(
    drill: Drill, tempo_bpm: float, length: int, metre: Metre, landings: int | None = None
) -> Bars:
    """The bars of one take, with so many landings, or as many as fit.

    The first bar may have a lift before its first beat.
    """
    cues: dict[int, list[ChordCue]] = defaultdict(list)
    lifts: dict[int, list[Fraction]] = defaultdict(list)
    landing = 0
    while landing != landings and (at := drill.landing_beat(landing)) < length * metre.beats:
        bar, beat = divmod(at, metre.beats)
        cues[bar].append(ChordCue(beat, drill.names[drill.place_at(landing)]))
        bar = max(0, (at - drill.lift) // metre.beats)
        lifts[bar].append(at - drill.lift - bar * metre.beats)
        landing += 1
    return tuple(
        TrackBar(metre.beats, metre.beat_unit, tempo_bpm, tuple(cues[bar]), tuple(lifts[bar]))
        for bar in range(length)
    )


# --- songs ------------------------------------------------------------------------------


def _passage(song: Song, section: str | None) -> tuple[int, int, str]:
    """The first bar of the song written out, the one after the last, and the name."""
    if section is None:
        return 0, len(song.bars), ""
    starts = list(accumulate((part.times * len(part.bars) for part in song.sections), initial=0))
    wanted = section.casefold().split()
    for part, first, end in zip(song.sections, starts, starts[1:], strict=False):
        if part.name.casefold().split() == wanted:
            return first, end, part.name
    names = ", ".join(dict.fromkeys(part.name for part in song.sections if part.name)) or "none with a name"
    raise InputError(f"{song.title} has no section “{section}”; its sections are {names}.")


def _song_bars(song: Song, first: int, end: int) -> Bars:
    """Bars of the song written out. A lift is in the bar it falls in, before the first beat if it must."""
    lifts, headings = _lifts(song, first, end), _headings(song)
    return tuple(
        TrackBar(
            bar.beats,
            bar.beat_unit,
            bar.tempo_bpm,
            _cues(bar),
            lifts.get(number, ()),
            headings.get(number, ""),
        )
        for number, bar in enumerate(song.bars[first:end], start=first)
    )


def _headings(song: Song) -> Mapping[int, str]:
    """The name of each section, by its first bar, each time it is played."""
    found, at = {}, 0
    for section in song.sections:
        for _ in range(section.times):
            found[at] = section.name
            at += len(section.bars)
    return found


def _cues(bar: Bar) -> tuple[ChordCue, ...]:
    return tuple(ChordCue(slot.beat, _name(slot.chord)) for slot in bar.slots if slot.chord is not None)


def _name(chord: str) -> str:
    """A chord's symbol, without the frets that may be chosen for it."""
    return chord if chord == NO_CHORD else str(parse_chosen(chord).symbol)


def _lifts(song: Song, first: int, end: int) -> Mapping[int, tuple[Fraction, ...]]:
    """Where the hand lifts for the changes that land in these bars, but for one on their first beat."""
    starts = list(accumulate((bar.beats for bar in song.bars), initial=0))
    found: dict[int, list[Fraction]] = defaultdict(list)
    for change in changes_of(song):
        if first <= change.bar < end and change.at_beats > starts[first]:
            at, number = change.at_beats - change.air_beats, change.bar
            while number > first and starts[number] > at:
                number -= 1
            found[number].append(at - starts[number])
    return {number: tuple(beats) for number, beats in found.items()}


def _begun(bars: Bars, song: Song, first: int) -> Bars:
    """The passage with the chord that it begins on: the one that sounds there, landed anew."""
    opening, *rest = bars
    if not opening.cues or opening.cues[0].beat > 0:
        before = _sounding(song.bars[:first])
        if before is not None:
            opening = replace(opening, cues=(ChordCue(Fraction(0), before), *opening.cues))
    if opening.cues and opening.cues[0].beat == 0 and opening.cues[0].chord != NO_CHORD:
        opening = replace(opening, lifts=(-LIFTS[song.gap], *opening.lifts))
    return (opening, *rest)


def _sounding(bars: Sequence[Bar]) -> str | None:
    """The last chord of these bars."""
    chords: Iterator[str] = (
        _name(slot.chord) for bar in bars for slot in bar.slots if slot.chord is not None
    )
    return next(reversed(list(chords)), None)
