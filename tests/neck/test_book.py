"""The shipped book of shapes."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import read_shape_book
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.shapes import staying_strings
from pedaltrainer.songs.shipped import shape_book

OPEN_SHAPES = Path(__file__).parents[1] / "data" / "open_shapes.csv"


def test_the_book_sounds_the_notes_its_names_promise():
    for name, shape in shape_book().shapes.items():
        spelling = spell(name)
        sounds = {note % 12 for note in shape.midi}
        assert spelling.needed_pitch_classes <= sounds <= spelling.pitch_classes, name
        assert min(shape.midi) % 12 == spelling.bass_pitch_class, name


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
        (f"[A]\nfrets='x 0 2 2 2 {'9' * 5000}'\nfingers='0 0 1 2 3 4'\n", "the fret “9"),
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


def _open_rows():
    with OPEN_SHAPES.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def test_a_chord_is_found_by_any_name_of_its_notes():
    book = shape_book()
    assert book.find("Dbm") == book.find("C#m") is not None
    assert book.find("A#") == book.find("Bb") is not None
    assert book.find("D/Gb") == book.find("D/F#") is not None
    assert book.find("Dbm7b5") is None
