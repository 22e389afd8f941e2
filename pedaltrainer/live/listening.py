"""Recordings heard: the files, the drill's shapes, and the ear."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.from_notes import listen_to_notes
from pedaltrainer.ear.hearing import listen
from pedaltrainer.ear.verdicts import TakeHeard, UnheardError
from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.heard import HEARD_KINDS, expected_take
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.system.reading import read_some
from pedaltrainer.telling.listening import why_unheard
from pedaltrainer.timing.played_notes import MIDI_FILE, read_notes
from pedaltrainer.timing.recorded import read_wav


def hear_files(
    take: Path,
    references: Sequence[Path],
    drill: Drill,
    tempo_bpm: float,
    landings: int,
    count_in_beats: int,
    click: bool | None,
    data: Path | None = None,
) -> tuple[Expected, TakeHeard]:
    """What was expected, and what the take in a WAV or MIDI file was. data: where the player's shapes are.

    Raises InputError for a file that cannot be judged, and for a drill of silent or single strings.
    """
    if drill.kind not in HEARD_KINDS:
        raise InputError(f"“{drill.words}” is no drill of whole chords; name a change, a chord or a passage.")
    book = shape_book(data)
    expected = expected_take(
        drill, tempo_bpm, landings, count_in_beats,
        lambda chord: usual_shape(parse_chosen(chord), Setup(book.tuning), book),
    )  # fmt: skip
    files = (take, *references)
    try:
        return expected, _heard(expected, files, click)
    except UnheardError as trouble:
        raise InputError(why_unheard(trouble.why, files[trouble.recording], tempo_bpm, drill)) from None


def _heard(expected: Expected, files: Sequence[Path], click: bool | None) -> TakeHeard:
    """What the take in the first file was; the others are clean ones, of the same kind of file."""
    of_midi = [read_some(path, len(MIDI_FILE)).startswith(MIDI_FILE) for path in files]
    if not any(of_midi):
        sounds = [read_wav(path) for path in files]
        return listen(expected, sounds[0], sounds[1:], click)
    if not all(of_midi):
        raise InputError(
            f"{files[of_midi.index(False)]} is no MIDI file, as others are; give all of one kind."
        )
    if click is not None:
        raise InputError("--click is about recorded sound; leave it out with MIDI files.")
    notes = [read_notes(path) for path in files]
    return listen_to_notes(expected, notes[0], notes[1:])
