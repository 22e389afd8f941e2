"""Chord spelling against a reference library (music21) and against open data."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from pedaltrainer.neck.chords.spelling import Spelling, spell

OPEN_SHAPES = Path(__file__).parents[1] / "data" / "open_shapes.csv"
WORDS = {"major": "", "minor": "m"}

# Beside the suffixes of the open data: what lead sheets hold (common practice, no published source).
MORE_QUALITIES = [
    "min", "min7", "M7", "M9", "M11", "M13", "mM7", "mM9", "mM11", "m13", "o", "o7", "ø7", "+", "7+", "7#5",
    "9#5", "7#11", "maj7#11", "5", "add2", "add4", "add11", "sus", "7b9#11", "7b9b13", "7b13", "13b9",
    "13#11", "7omit5", "m7add11", "augmaj7", "augmaj9", "-", "-7",
]  # fmt: skip

# The qualities that music21 reads as other notes than we do, each with the reason why we do not follow.
OTHERWISE_IN_MUSIC21 = {
    "69": "it reads 1 9 6; the open data and common practice have the third and may have the fifth",
    "13b9": "it keeps the plain ninth and loses the lowered one that the symbol names",
    "13#11": "it keeps the plain eleventh and loses the raised one that the symbol names",
    "-": "it writes a flat as -, so that C- is C flat; on a lead sheet it is C minor",
    "-7": "as for -",
}

# The rows of the open data whose notes are not the symbol's.
SLIPS = {
    ("C", "9", "0 3 2 0 3 0"): "no seventh: it is Cadd9",
    ("C#", "aug", "4 4 6 4 7 4"): "it sounds C#7sus4",
    ("C#", "7b5", "x x 12 13 13 14"): "all of it a fret too high: it is D7b5",
    ("C#", "11", "9 8 9 8 8 9"): "the eleventh is raised",
    ("D", "maj9", "x 5 4 6 4 x"): "the ninth is lowered",
    ("D", "mmaj11", "5 5 5 7 7 5"): "the third is major, and there is no seventh",
    ("Eb", "7b5", "x 6 7 6 8 6"): "the plain fifth sounds beside the lowered one",
    ("E", "madd9", "x 8 6 5 8 x"): "all of it a fret too high: it is Fmadd9",
    ("E", "madd9", "x 8 10 0 9 8"): "all of it a fret too high: it is Fmadd9",
    ("G", "m11", "x x 5 5 7 7"): "the third and the seventh are major",
    ("Ab", "maj7b5", "0 0 6 7 8 8"): "two open strings that are not in the chord",
    ("A", "dim", "5 3 x 4 3 x"): "a second and a fourth, no fifth",
    ("B", "aug", "x 14 13 12 12 0"): "an open string that is not in the chord",
}
ROOTLESS = {
    ("F", "maj9", "x x 2 2 1 3"), ("F", "maj9", "x x 10 12 10 12"), ("F#", "m9", "x x 11 13 10 12"),
    ("Ab", "aug9", "x x 4 5 5 6"), ("Bb", "m9", "x x 3 5 2 4"), ("B", "maj9", "x x 4 6 4 6"),
}  # fmt: skip


def test_music21_reads_the_same_notes_but_for_the_listed_qualities():
    # Slow to import: only when this test runs.
    from music21.exceptions21 import Music21Exception
    from music21.harmony import ChordSymbol

    compared, otherwise = 0, set()
    for root, quality in _symbols():
        try:
            pitches = ChordSymbol(_with_music21_flats(root, quality)).pitches
        except (ValueError, Music21Exception):
            continue
        compared += 1
        if {pitch.pitchClass for pitch in pitches} != spell(root + quality).pitch_classes:
            otherwise.add(quality)
    assert otherwise == set(OTHERWISE_IN_MUSIC21)
    assert compared >= 800


def test_the_open_data_sound_what_their_names_say_but_for_the_listed_rows():
    unlike, rootless = set(), set()
    for row in _open_rows():
        spelling = spell(row["root"] + row["suffix"])
        sounding = {int(note) % 12 for note in row["midi"].split()}
        key = (row["root"], row["suffix"], row["frets"])
        if sounding < spelling.pitch_classes and _missing(spelling, sounding) == {spelling.root_pitch_class}:
            rootless.add(key)
        elif not spelling.needed_pitch_classes <= sounding <= spelling.pitch_classes:
            unlike.add(key)
    assert unlike == set(SLIPS)
    assert rootless == ROOTLESS


def test_the_bass_after_a_slash_is_the_lowest_note_in_the_open_data():
    slashed = [row for row in _open_rows() if "/" in row["suffix"]]
    assert len(slashed) > 50
    for row in slashed:
        lowest = min(int(note) for note in row["midi"].split())
        assert lowest % 12 == spell(row["root"] + row["suffix"]).bass_pitch_class, row


def _missing(spelling: Spelling, sounding: set[int]) -> frozenset[int]:
    return spelling.needed_pitch_classes - sounding


def _symbols() -> list[tuple[str, str]]:
    """Every root and suffix of the open data, and the other qualities on each of its roots."""
    rows = _open_rows()
    named = {(row["root"], WORDS.get(row["suffix"], row["suffix"])) for row in rows}
    roots = sorted({row["root"] for row in rows})
    return sorted(named | {(root, quality) for root in roots for quality in MORE_QUALITIES})


def _with_music21_flats(root: str, quality: str) -> str:
    """music21 writes a flat root or bass with `-`."""
    return root.replace("b", "-") + re.sub(r"/([A-G])b", r"/\1-", quality)


def _open_rows() -> list[dict[str, str]]:
    with OPEN_SHAPES.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))
