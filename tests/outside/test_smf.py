"""Standard MIDI Files as three libraries of others read them.

mido reads the messages; pretty_midi (C. Raffel and D. P. W. Ellis, "Intuitive analysis, creation and
manipulation of MIDI data with pretty_midi", ISMIR 2014) works out its own times, beats and down-beats;
music21 (M. S. Cuthbert and C. Ariza, ISMIR 2010) reads the bytes with a parser of its own. Each is held
against plain arithmetic: beat k of a bar is k*60/tempo seconds into it, and a tick is 1/480 of a quarter.
"""

from __future__ import annotations

from fractions import Fraction

import mido
import music21
import numpy as np
import pretty_midi
import pytest

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import drill_track
from pedaltrainer.timing.smf import write_smf
from tests.timing.tracks import tracks

TRACKS = tracks()
TICKS = 480
CLICK_KEYS = {37, 76, 77}
"""Side stick, high and low wood block in the percussion map of General MIDI Level 1 (from memory)."""


@pytest.fixture(params=TRACKS)
def written(request, tmp_path):
    track = TRACKS[request.param]
    write_smf(tmp_path / "track.mid", track)
    return track, tmp_path / "track.mid"


def expected_beats(track):
    """(second, tick) of every beat of every bar, by plain addition."""
    second, tick, found = Fraction(0), Fraction(0), []
    for bar in track.bars:
        for beat in range(bar.beats):
            beat_s = Fraction(60) / Fraction(str(bar.tempo_bpm))
            found.append((second + beat * beat_s, tick + beat * bar.beat_unit * 4 * TICKS))
        second += bar.beats * Fraction(60) / Fraction(str(bar.tempo_bpm))
        tick += bar.beats * bar.beat_unit * 4 * TICKS
    return found


def expected_chords(track):
    """(tick, name) of every chord."""
    tick, found = Fraction(0), []
    for bar in track.bars:
        found += [(round(tick + cue.beat * bar.beat_unit * 4 * TICKS), cue.chord) for cue in bar.cues]
        tick += bar.beats * bar.beat_unit * 4 * TICKS
    return found


def at_ticks(midi_track):
    tick = 0
    for message in midi_track:
        tick += message.time
        yield tick, message


def shortest_tick_s(track):
    return min(60 / bar.tempo_bpm / float(bar.beat_unit * 4) / TICKS for bar in track.bars)


def test_mido_reads_the_clicks_on_their_ticks_and_the_chords_where_they_land(written):
    track, path = written
    file = mido.MidiFile(path)
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, TICKS, 2)
    messages = list(at_ticks(file.tracks[1]))
    notes = [(tick, one) for tick, one in messages if one.type == "note_on" and one.velocity]
    assert {one.channel for _, one in notes} == {9}
    beats = [tick for tick, one in notes if one.note in CLICK_KEYS]
    assert beats == [tick for _, tick in expected_beats(track)]
    assert [(tick, one.text) for tick, one in messages if one.type == "text"] == expected_chords(track)
    assert abs(file.length - float(track.seconds)) <= shortest_tick_s(track)


def test_pretty_midi_hears_every_beat_within_a_tick(written):
    track, path = written
    midi = pretty_midi.PrettyMIDI(str(path))
    (drums,) = midi.instruments
    assert drums.is_drum
    heard = np.array(sorted(note.start for note in drums.notes if note.pitch in CLICK_KEYS))
    expected = np.array([float(second) for second, _ in expected_beats(track)])
    assert len(heard) == len(expected)
    assert abs(heard - expected).max() <= shortest_tick_s(track)
    texts = [(midi.time_to_tick(event.time), event.text) for event in midi.text_events]
    assert texts == expected_chords(track)


def test_pretty_midi_finds_the_same_bars(written):
    track, path = written
    midi = pretty_midi.PrettyMIDI(str(path))
    starts = [
        float(start) for start in np.cumsum([0, *(60 * b.beats / b.tempo_bpm for b in track.bars)])[:-1]
    ]
    found = midi.get_downbeats()[: len(starts)]
    assert abs(found - np.array(starts)).max() <= shortest_tick_s(track)


def test_music21_reads_the_same_metres_tempos_and_chords(written):
    track, path = written
    file = music21.midi.MidiFile()
    file.open(str(path))
    file.read()
    file.close()
    tick, texts = 0, []
    for event in file.tracks[1].events:
        if event.isDeltaTime():
            tick += event.time
        elif event.type == music21.midi.MetaEvents.TEXT_EVENT:
            texts.append((tick, event.data.decode()))
    assert texts == expected_chords(track)
    score = music21.converter.parse(str(path), forceSource=True)
    metres = [one.ratioString for one in score.recurse().getElementsByClass(music21.meter.TimeSignature)]
    wanted = [f"{bar.beats * bar.beat_unit.numerator}/{bar.beat_unit.denominator}" for bar in track.bars]
    assert list(dict.fromkeys(metres)) == list(dict.fromkeys(wanted))
    tempos = [one.getQuarterBPM() for one in score.recurse().getElementsByClass(music21.tempo.MetronomeMark)]
    quarters = dict.fromkeys(bar.tempo_bpm * float(bar.beat_unit * 4) for bar in track.bars)
    # music21 keeps tempos to two decimals.
    assert sorted(set(tempos)) == pytest.approx(sorted(quarters), abs=0.006)


@pytest.mark.parametrize("tempo_bpm", [20, 97, 133.3, 300])
def test_a_tempo_told_in_whole_microseconds_stays_within_a_tick_for_eight_hundred_beats(tmp_path, tempo_bpm):
    track = drill_track(parse_drill("Am E"), tempo_bpm, bars=500)
    write_smf(tmp_path / "long.mid", track)
    heard = pretty_midi.PrettyMIDI(str(tmp_path / "long.mid")).instruments[0].notes
    beats = np.array([note.start for note in heard if note.pitch in CLICK_KEYS])
    off = abs(beats - np.arange(2004) * 60 / tempo_bpm)
    assert off[:800].max() <= 60 / tempo_bpm / TICKS
    # A quarter is off by half a microsecond at most, all that the format can say.
    assert (off <= 0.5e-6 * np.arange(2004) + 1e-9).all()
