"""Notes played on a MIDI instrument, read from a Standard MIDI File (SMF 1.0, MIDI Association, 1996)."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from pathlib import Path

import mido

from pedaltrainer.errors import InputError
from pedaltrainer.system.reading import read_bytes
from pedaltrainer.timing.smf import PERCUSSION_CHANNEL

MOST_BYTES, MOST_NOTES = 1_000_000, 20_000
MOST_NOTES_A_SECOND = 200
"""More than any hand strikes, each sent twice: what sends so many is no guitar."""
MIDI_FILE = b"MThd"
_ENDLESS = re.compile(rb"[\x80-\xff]{1000}")
"""A number without end would be read bit by bit for minutes; SMF has four bytes at the most."""


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """A note as it came on. t_s: in seconds; note: its MIDI number; channel: 0-15."""

    t_s: float
    note: int
    channel: int


def read_notes(path: Path) -> tuple[PlayedNote, ...]:
    """The notes of all tracks but percussion (channel 10), in order of time, from the file's first tick.

    Raises InputError for what is no MIDI file, or one without notes.
    """
    raw = read_bytes(path, MOST_BYTES)
    try:
        if _ENDLESS.search(raw):
            raise ValueError("a number without end")
        file = mido.MidiFile(file=io.BytesIO(raw), clip=True)
        if file.ticks_per_beat <= 0:
            raise InputError(f"{path} counts in frames of film; export it with ticks per quarter.")
        notes, t_s = [], 0.0
        for message in file:
            t_s += message.time
            if message.type == "note_on" and message.velocity and message.channel != PERCUSSION_CHANNEL:
                notes.append(PlayedNote(t_s, message.note, message.channel))
    except InputError:
        raise
    except Exception as trouble:  # the reader meets odd bytes with errors of many kinds
        raise InputError(f"{path} is no MIDI file that can be read; export it as MIDI again.") from trouble
    if not notes:
        raise InputError(f"{path} has no notes in it; check that the guitar was recorded.")
    if len(notes) > MOST_NOTES:
        raise InputError(f"{path} has more than {MOST_NOTES} notes; cut it to the take.")
    return tuple(notes)
