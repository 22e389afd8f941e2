"""A practice track as a Standard MIDI File, format 1 (Standard MIDI Files 1.0, MIDI Manufacturers
Association).

Two tracks, 480 ticks to the quarter. The first is the tempo map: title, time signatures, tempos, and a
marker where something begins ("Take 2", "Verse"). The second is the click, on channel 10 with the keys of
the General MIDI percussion map, and each chord's name as a text event on the tick where it lands.

The file counts quarters and the player counts beats: at 64 dotted quarters a minute in 6/8 a beat is 720
ticks, and the tempo is that of 96 quarters. A place is rounded once to a whole tick and a tempo once to a
whole microsecond a quarter, which is all that the format can say: a quarter is off by half a microsecond at
most, and no beat by a tick in the first eight hundred.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import mido

from pedaltrainer.errors import InputError
from pedaltrainer.system.files import OTHER_FILE, whole_file
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.track import BarAndBeat, Track, TrackBar

TICKS_PER_QUARTER = 480
TICKS_PER_WHOLE_NOTE = 4 * TICKS_PER_QUARTER
PERCUSSION_CHANNEL = 9
"""Channel 10 as musicians count."""
TICKS_A_NOTE = 30
"""Shorter than any two clicks are apart, where the chart's notes are not shorter than a 64th."""
LONGEST_QUARTER_US = 2**24 - 1
"""A tempo is three bytes."""
MIDI_CLOCKS_PER_QUARTER = 24
CHARSET = "utf-8"
"""The standard asks for ASCII and leaves others to the programs; titles are in any alphabet."""


class _Note(NamedTuple):
    """key: of the percussion map of General MIDI (Level 1, MIDI Manufacturers Association)."""

    key: int
    velocity: int


NOTES = {
    Sound.COUNT: _Note(37, 100),  # side stick
    Sound.ACCENT: _Note(76, 112),  # high wood block
    Sound.BEAT: _Note(77, 92),  # low wood block
    Sound.OFFBEAT: _Note(42, 40),  # closed hi-hat
}


class _Event(NamedTuple):
    """A message at a tick; at one tick those with the lower rank come first."""

    tick: int
    rank: int
    message: mido.Message | mido.MetaMessage


def write_smf(path: str | Path, track: Track) -> None:
    """Write a track as a Standard MIDI File; it appears whole or not at all.

    Raises InputError when it cannot be written there, or is slower than the format can say.
    """
    file = as_midi_file(track)
    with whole_file(path, private=False, mend=OTHER_FILE) as out:
        file.save(file=out)


def as_midi_file(track: Track) -> mido.MidiFile:
    """The track as mido has it. Raises InputError when it is slower than the format can say."""
    end = _tick(track, BarAndBeat(len(track.bars) - 1, Fraction(track.bars[-1].beats)))
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER, charset=CHARSET)
    file.tracks.append(_midi_track(track.title, _map_events(track), end))
    file.tracks.append(_midi_track("Click and chords", _click_events(track), end))
    return file


def microseconds_per_quarter(bar: TrackBar) -> int:
    """The tempo of a bar as the format counts it. Raises InputError when it is slower than it can say."""
    quarters_per_beat = bar.beat_unit / Fraction(1, 4)
    found = round(60_000_000 / (Fraction(str(bar.tempo_bpm)) * quarters_per_beat))
    if found > LONGEST_QUARTER_US:
        raise InputError(
            f"A MIDI file cannot say a tempo as slow as {bar.tempo_bpm:g} beats a minute with "
            f"{bar.beat_unit} notes as beats; write a WAV file, or choose a faster tempo."
        )
    return found


def _tick(track: Track, place: BarAndBeat) -> int:
    return round(track.whole_notes_at(place) * TICKS_PER_WHOLE_NOTE)


def _map_events(track: Track) -> Iterator[_Event]:
    """Metre, tempo and headings, where they change."""
    before: TrackBar | None = None
    for number, bar in enumerate(track.bars):
        tick = _tick(track, BarAndBeat(number, Fraction(0)))
        if before is None or (bar.beats, bar.beat_unit) != (before.beats, before.beat_unit):
            yield _Event(tick, 0, _time_signature(bar))
        if before is None or bar.tempo_bpm != before.tempo_bpm or bar.beat_unit != before.beat_unit:
            yield _Event(tick, 1, mido.MetaMessage("set_tempo", tempo=microseconds_per_quarter(bar)))
        if bar.heading:
            yield _Event(tick, 2, mido.MetaMessage("marker", text=bar.heading))
        before = bar


def _time_signature(bar: TrackBar) -> mido.MetaMessage:
    """The metre as written: the beats of 6/8 are two dotted quarters, and its click comes every 36 clocks."""
    clocks = round(bar.beat_unit / Fraction(1, 4) * MIDI_CLOCKS_PER_QUARTER)
    return mido.MetaMessage(
        "time_signature",
        numerator=bar.beats * bar.beat_unit.numerator,
        denominator=bar.beat_unit.denominator,
        clocks_per_click=min(clocks, 255),
        notated_32nd_notes_per_beat=8,
    )


def _click_events(track: Track) -> Iterator[_Event]:
    for number, bar in enumerate(track.bars):
        for cue in bar.cues:
            yield _Event(
                _tick(track, BarAndBeat(number, cue.beat)), 1, mido.MetaMessage("text", text=cue.chord)
            )
    for place, sound in track.clicks():
        note, tick = NOTES[sound], _tick(track, place)
        for at, rank, velocity in ((tick, 2, note.velocity), (tick + TICKS_A_NOTE, 0, 0)):
            message = mido.Message("note_on", channel=PERCUSSION_CHANNEL, note=note.key, velocity=velocity)
            yield _Event(at, rank, message)


def _midi_track(name: str, events: Iterable[_Event], end: int) -> mido.MidiTrack:
    """Events at their ticks as messages after one another; it ends on `end`, or with the last of them."""
    in_order = sorted(events, key=lambda event: event[:2])
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    before = 0
    for tick, _, message in in_order:
        track.append(message.copy(time=tick - before))
        before = tick
    track.append(mido.MetaMessage("end_of_track", time=max(0, end - before)))
    return track
