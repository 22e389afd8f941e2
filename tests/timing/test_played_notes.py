"""Notes out of Standard MIDI Files, written byte by byte as the standard (SMF 1.0) has them."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import numpy as np
import pretty_midi
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.timing.played_notes import PlayedNote, read_notes


def midi_file(*tracks: bytes, division: int = 480, kind: int = 1) -> bytes:
    """MThd, its length 6, format, tracks, division; then each MTrk with its length."""
    parts = [b"MThd", (6).to_bytes(4, "big"), kind.to_bytes(2, "big"), len(tracks).to_bytes(2, "big")]
    parts.append(division.to_bytes(2, "big"))
    for track in tracks:
        whole = track + b"\x00\xff\x2f\x00"
        parts += [b"MTrk", len(whole).to_bytes(4, "big"), whole]
    return b"".join(parts)


TEMPO_60_THEN_120 = b"\x00\xff\x51\x03\x0f\x42\x40" + b"\x83\x60\xff\x51\x03\x07\xa1\x20"
"""1 000 000 microseconds a quarter; from tick 480 on 500 000."""
TWO_STRINGS = (
    b"\x83\x60\x90\x40\x50" + b"\x83\x60\x91\x3b\x50" + b"\x00\x90\x40\x00" + b"\x83\x60\x81\x3b\x40"
)
"""After a quarter E4 on the first channel, a quarter later B3 on the second, and both let go: the one by a
note-on of velocity 0."""


def written(folder: Path, content: bytes) -> Path:
    path = folder / "take.mid"
    path.write_bytes(content)
    return path


def test_notes_come_in_seconds_by_the_tempo_at_their_place(tmp_path):
    path = written(tmp_path, midi_file(TEMPO_60_THEN_120, TWO_STRINGS))
    assert read_notes(path) == (PlayedNote(1.0, 0x40, 0), PlayedNote(1.5, 0x3B, 1))


def test_the_click_of_a_percussion_track_is_no_guitar(tmp_path):
    click = b"\x00\x99\x4c\x64" + b"\x83\x60\x89\x4c\x00"
    path = written(tmp_path, midi_file(click, TWO_STRINGS))
    assert {note.channel for note in read_notes(path)} == {0, 1}


def test_pretty_midi_finds_the_same_notes_at_the_same_times(tmp_path):
    """C. Raffel and D. P. W. Ellis, ISMIR 2014: a reader with its own reckoning of time."""
    path = written(tmp_path, midi_file(TEMPO_60_THEN_120, TWO_STRINGS))
    theirs = sorted(
        (note.start, note.pitch)
        for part in pretty_midi.PrettyMIDI(str(path)).instruments
        for note in part.notes
    )
    ours = [(note.t_s, note.note) for note in read_notes(path)]
    np.testing.assert_allclose(ours, theirs)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (midi_file(b""), "has no notes in it"),
        (midi_file(TWO_STRINGS, division=0), "counts in frames of film"),
        (midi_file(TWO_STRINGS, division=0xE728), "counts in frames of film"),
        (midi_file(TWO_STRINGS, kind=2), "is no MIDI file that can be read"),
        (midi_file(TWO_STRINGS)[:-9], "is no MIDI file that can be read"),
        (midi_file(b"\xff" * 90_000), "is no MIDI file that can be read"),
        (midi_file(b"\x00\x90\x40\x50" + b"\x01\x40\x50" * 20_000), "has more than 20000 notes"),
        (b"MThd", "is no MIDI file that can be read"),
    ],
    ids=("empty", "no ticks", "frames", "format 2", "cut off", "endless number", "a flood", "only its name"),
)
def test_what_is_no_take_is_one_sentence(tmp_path, content, says):
    with pytest.raises(InputError, match=says):
        read_notes(written(tmp_path, content))


@given(st.binary(max_size=200), st.binary(max_size=20), st.integers(0, 60))
def test_whatever_stands_in_a_file_is_read_or_refused(tmp_path_factory, track, more, at):
    content = midi_file(track + TWO_STRINGS)
    content = content[:at] + more + content[at + len(more) :]
    with suppress(InputError):
        notes = read_notes(written(tmp_path_factory.mktemp("odd"), content))
        assert all(note.t_s >= 0 and 0 <= note.note < 128 for note in notes)
