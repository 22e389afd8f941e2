"""Chord symbols, and the shipped book of shapes."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from pedaltrainer.app import shape_book
from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import read_shape_book
from pedaltrainer.neck.shapes import Shape, staying_strings
from pedaltrainer.neck.symbols import parse_chord

OPEN_SHAPES = Path(__file__).parents[1] / "data" / "open_shapes.csv"

# The notes of each quality in semitones above the root: common practice, as in any theory primer
# (from memory); the open data below is the outside check on the notes the shapes sound.
QUALITIES = {
    "": {0, 4, 7}, "m": {0, 3, 7}, "7": {0, 4, 7, 10}, "m7": {0, 3, 7, 10}, "maj7": {0, 4, 7, 11},
    "sus2": {0, 2, 7}, "sus4": {0, 5, 7}, "add9": {0, 2, 4, 7}, "m7b5": {0, 3, 6, 10},
    "7#9": {0, 3, 4, 7, 10},
}  # fmt: skip
PITCH_CLASSES = {name: number for number, names in enumerate(
    ("C B#", "C# Db", "D", "D# Eb", "E Fb", "F E#", "F# Gb", "G", "G# Ab", "A", "A# Bb", "B Cb")
) for name in names.split()}  # fmt: skip


@pytest.mark.parametrize(
    "symbol",
    ["A", "Am", "F#m7", "Bbmaj7", "C/G", "Bm7b5", "Bø", "E7#9", "Asus2", "D/F#", "Gadd9", "Caug", "C°", "Eb6",
     "A7sus4", "F♯", "B♭", "Cm(maj7)", "G13", "Dmin", "DΔ", "Ab", "C5", "E+"],
)  # fmt: skip
def test_the_usual_spellings_are_chords(symbol):
    assert parse_chord(symbol).root[0] == symbol[0]


@pytest.mark.parametrize("text", ["", "H", "am", "Hello", "A/", "A/H", "7", "#", "Am E", "Ax", "Cmajestic"])
def test_what_only_looks_like_a_chord_is_refused_with_the_mend(text):
    with pytest.raises(InputError, match=r"is not a chord symbol; write a root from A to G"):
        parse_chord(text)


def test_every_chord_of_the_open_data_is_a_chord():
    # tests/data/open_shapes.csv; its own words for the two plain qualities are spelt as players write them.
    spelt = {"major": "", "minor": "m"}
    for row in _open_rows():
        parse_chord(row["root"] + spelt.get(row["suffix"], row["suffix"]))


def test_the_book_sounds_the_notes_its_names_promise():
    for name, shape in shape_book().shapes.items():
        symbol = parse_chord(name)
        root = PITCH_CLASSES[symbol.root]
        sounds = {note % 12 for note in shape.midi}
        chord = {(root + interval) % 12 for interval in QUALITIES[symbol.quality]}
        fifth = (root + 7) % 12
        bass = {PITCH_CLASSES[symbol.bass]} if symbol.bass else set()
        assert sounds <= chord | bass, name
        assert chord - {fifth} <= sounds, name
        lowest = min(shape.midi) % 12
        assert lowest == (PITCH_CLASSES[symbol.bass] if symbol.bass else root), name


def test_the_book_fingers_as_the_open_data_does_where_both_have_the_frets():
    """Checked against tests/data/open_shapes.csv; the rows where usage differs are listed, not hidden."""
    differs = set()
    compared = 0
    spelt = {"major": "", "minor": "m"}
    published = {}
    for row in _open_rows():
        name = row["root"] + spelt.get(row["suffix"], row["suffix"])
        published.setdefault(name, {})[row["frets"]] = row["fingers"]
    for name, shape in shape_book().shapes.items():
        frets = " ".join("x" if fret is None else str(fret) for fret in shape.frets)
        fingers = published.get(name, {}).get(frets)
        if fingers is None:
            continue
        compared += 1
        if tuple(map(int, fingers.split())) != shape.fingers:
            differs.add(name)
    assert compared >= 10
    assert len(differs) <= compared // 4, differs


def test_fingers_that_hold_the_same_string_and_fret_stay():
    book = shape_book()
    c, am = book.find("C"), book.find("Am")
    assert c is not None
    assert am is not None
    # First finger on the second string, first fret, in both: common practice, no published source.
    assert 4 in staying_strings(c, am)


def test_an_unknown_chord_has_no_shape_but_is_still_a_chord():
    assert shape_book().find("G13") is None


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("[H]\nfrets='0 0 0 0 0 0'\nfingers='0 0 0 0 0 0'\n", "not a chord symbol"),
        ("[A]\nfrets='x 0 2 2 2'\nfingers='0 0 1 2 3 0'\n", "needs six frets"),
        ("[A]\nfrets='x 0 2 2 2 99'\nfingers='0 0 1 2 3 4'\n", "the fret “99”"),
        ("[A]\nfrets='x 0 2 2 2 0'\nfingers='0 0 1 2 7 0'\n", "the finger “7”"),
        ("[A]\nfrets='x 0 2 2 2 0'\nfingers='0 0 1 2 0 0'\n", "a finger for each fretted string"),
        ("[A]\nfrets='x 0 2 2 2 0'\n", "needs two lines"),
        ("A = 3", "needs two lines"),
        ("[A", "not readable TOML"),
    ],
)
def test_a_broken_shape_file_is_refused_naming_the_file_and_the_mend(tmp_path, text, complaint):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=complaint) as refusal:
        read_shape_book(path)
    assert "\n" not in str(refusal.value)


def test_midi_numbers_of_open_strings_are_those_of_standard_tuning():
    # E2 A2 D3 G3 B3 E4 = 40 45 50 55 59 64 with C4 = 60 (MIDI 1.0 key numbers, from memory).
    assert Shape((0,) * 6, (0,) * 6).midi == (40, 45, 50, 55, 59, 64)


def _open_rows():
    with OPEN_SHAPES.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))
