"""Chord names are set as engraved: large root, drawn accidentals, smaller suffix."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.screen.letters import measure, word_runs
from pedaltrainer.screen.typeset import chord_runs, set_chord


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Am", [("A", "root"), ("m", "quality")]),
        ("F#m7", [("F", "root"), ("sharp", "root sign"), ("m", "quality"), ("7", "raised")]),
        ("Bbmaj7", [("B", "root"), ("flat", "root sign"), ("maj", "quality"), ("7", "raised")]),
        ("C/G", [("C", "root"), ("/G", "bass")]),
        ("D/F#", [("D", "root"), ("/F", "bass"), ("sharp", "bass")]),
        ("Bm7b5", [("B", "root"), ("m", "quality"), ("7", "raised"), ("flat", "raised"), ("5", "raised")]),
        ("Eb", [("E", "root"), ("flat", "root sign")]),
        ("C6/9", [("C", "root"), ("6/9", "raised")]),
        ("E7#9", [("E", "root"), ("7", "raised"), ("sharp", "raised"), ("9", "raised")]),
        ("N.C.", [("N.C.", "root")]),
    ],
)
def test_a_name_is_cut_into_root_accidental_quality_extension_and_bass(name, expected):
    assert [(run.text, run.role) for run in chord_runs(name)] == expected


def test_the_suffix_is_smaller_and_extensions_stand_higher_than_the_quality():
    pieces, width = set_chord("Am7", 0.5)
    root, quality, seven = pieces
    assert (root.cap, quality.cap, seven.cap) == (1.0, 0.5, 0.5)
    assert root.y == quality.y == 0.0
    assert seven.y > 0.2
    assert seven.x + measure("7", True) * 0.5 == pytest.approx(width)


def test_a_flat_is_drawn_as_a_sign_and_never_as_the_letter_b():
    assert [piece.run.sign for piece in set_chord("Bb", 0.5)[0]] == [False, True]


@pytest.mark.parametrize(
    ("text", "signs"),
    [
        ("F#m7 – Bbmaj7", ["sharp", "flat"]),
        ("Bm7b5 and Eb", ["flat", "flat"]),
        ("About Abba", []),
        ("Clean: up to 84", []),
        ("F#", ["sharp"]),
    ],
)
def test_accidentals_of_chords_in_a_sentence_are_found_and_words_are_left_alone(text, signs):
    assert [run for run, is_sign in word_runs(text) if is_sign] == signs


@given(st.text(alphabet="ABCDEFGmajdinsu#b♭♯0123456789/ -+°", max_size=16))
def test_no_name_is_lost_or_overlaps_itself(name):
    pieces, width = set_chord(name, 0.5)
    assert all(later.x >= earlier.x for earlier, later in pairwise(pieces))
    assert width >= pieces[-1].x
    spelling = {"flat": "b", "sharp": "#"}
    spelt = "".join(spelling[piece.run.text] if piece.run.sign else piece.run.text for piece in pieces)
    plain = str.maketrans("♭♯", "b#")
    assert spelt.translate(plain) == name.translate(plain)


def test_what_is_no_letter_is_drawn_as_a_mark_and_ends_nothing():
    # Half a character is what a path holds that is not UTF-8 (PEP 383); a font draws neither it nor a null.
    for text in ("a\udce9b", "a\x00b", "\x1b[2J"):
        assert "\N{REPLACEMENT CHARACTER}" in "".join(run for run, _ in word_runs(text))
        assert measure(text, False) > 0
