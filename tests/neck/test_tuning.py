"""Tunings as players write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import (
    HIGHEST_CAPO,
    STANDARD_TUNING,
    Tuning,
    check_frets,
    parse_tuning,
    standard_tuning,
)


def test_midi_numbers_of_open_strings_are_those_of_standard_tuning():
    # E2 A2 D3 G3 B3 E4 = 40 45 50 55 59 64 with C4 = 60 (MIDI 1.0 key numbers, from memory).
    assert STANDARD_TUNING.open_midi == (40, 45, 50, 55, 59, 64)
    assert parse_tuning("E A D G B E") == STANDARD_TUNING
    assert parse_tuning("E2 A2 D3 G3 B3 E4") == STANDARD_TUNING


# The octaves players mean by these names: common practice, no published source.
@pytest.mark.parametrize(
    ("text", "with_octaves"),
    [
        ("D A D G B E", "D2 A2 D3 G3 B3 E4"),
        ("DADGBE", "D2 A2 D3 G3 B3 E4"),
        ("d a d g a d", "D2 A2 D3 G3 A3 D4"),
        ("D-A-D-F#-A-D", "D2 A2 D3 F#3 A3 D4"),
        ("E♭ A♭ D♭ G♭ B♭ E♭", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("EbAbDbGbBbEb", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("eb ab db gb bb eb", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("C G D A E G", "C2 G2 D3 A3 E4 G4"),
        ("B E A D F# B", "B1 E2 A2 D3 F#3 B3"),
        ("C G C G C E", "C2 G2 C3 G3 C4 E4"),
        ("B E A D G B E", "B1 E2 A2 D3 G3 B3 E4"),
        ("F# B E A D G B E", "F#1 B1 E2 A2 D3 G3 B3 E4"),
        ("C G D A", "C3 G3 D4 A4"),
        ("A D G B E", "A2 D3 G3 B3 E4"),
    ],
)
def test_names_without_octaves_get_the_register_that_players_mean(text, with_octaves):
    assert parse_tuning(text) == parse_tuning(with_octaves)


def test_a_tuning_is_named_as_it_was_written():
    assert parse_tuning("DADGBE").name == "D A D G B E"
    assert parse_tuning("E♭ A♭ D♭ G♭ B♭ E♭").name == "Eb Ab Db Gb Bb Eb"
    assert Tuning((39, 44, 49, 54, 58, 63)).name == "Eb Ab C# F# Bb Eb"


def test_a_re_entrant_tuning_is_given_and_named_with_its_octaves():
    tuning = parse_tuning("G4 C4 E4 A4")
    assert tuning.open_midi == (67, 60, 64, 69)
    assert tuning.name == "G4 C4 E4 A4"


def test_the_octave_belongs_to_the_letter():
    # C4 = 60 is B#3; B3 = 59 is Cb4 (scientific pitch notation, from memory).
    assert parse_tuning("B#3 Cb4 B##2 C4").open_midi == (60, 59, 49, 60)


@pytest.mark.parametrize(
    ("strings", "name"),
    [(4, "D G B E"), (5, "A D G B E"), (6, "E A D G B E"), (7, "B E A D G B E"), (8, "F# B E A D G B E")],
)
def test_every_number_of_strings_has_a_usual_tuning(strings, name):
    # Strings added below, or left out there: common practice, no published source.
    tuning = standard_tuning(strings, capo=2)
    assert (tuning.strings, tuning.name, tuning.capo) == (strings, name, 2)
    assert tuning.open_midi[-4:] == STANDARD_TUNING.open_midi[-4:]


def test_frets_are_counted_from_the_capo():
    tuning = parse_tuning("E A D G B E", capo=3)
    assert tuning.note(0, 0) == 43
    assert tuning.note(5, 2) == 69
    assert tuning.highest_fret == 21


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("D G B", r"The tuning “D G B” has 3 strings; give the notes of 4 to 8\."),
        ("E", r"The tuning “E” has 1 string; give"),
        ("EADGBEADG", r"has 9 strings; give"),
        ("", r"“” is not a tuning; write the open strings' notes, lowest first"),
        ("E A D G H E", "is not a tuning"),
        ("lute", "or one of guitar, ukulele, "),
        ("eadgbe", "is not a tuning"),
        ("E2 A D G B E", r"is not a tuning; .*\(all with an octave, such as D2, or none\)"),
        ("E2 A2 D3 G3 B3 E9", "is out of hearing; use octaves from 0 to 7"),
        ("standard", "is not a tuning"),
    ],
)
def test_what_is_no_tuning_is_refused_with_the_mend(text, complaint):
    with pytest.raises(InputError, match=complaint) as refusal:
        parse_tuning(text)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("strings", [0, 3, 9])
def test_a_neck_with_too_few_or_too_many_strings_is_refused(strings):
    with pytest.raises(InputError, match=f"A neck with {strings} strings is not known here; choose 4 to 8"):
        standard_tuning(strings)


@pytest.mark.parametrize("capo", [-1, HIGHEST_CAPO + 1, 99])
def test_a_capo_out_of_reach_is_refused(capo):
    for build in (lambda: parse_tuning("DADGBE", capo), lambda: standard_tuning(6, capo)):
        with pytest.raises(InputError, match=f"A capo at fret {capo} is out of reach; put it at 1 to 11"):
            build()


def test_frets_beyond_the_neck_are_refused():
    check_frets((None, 3, 2, 0, 1, 0), STANDARD_TUNING)
    check_frets((None, 3, 2, 0, 1, 24), STANDARD_TUNING)
    with pytest.raises(InputError, match=r"There is no fret 30; give 0 to 24\."):
        check_frets((None, 30, 2, 0, 1, 0), STANDARD_TUNING)
    with pytest.raises(InputError, match=r"There is no fret 23 above the capo at 2; give 0 to 22\."):
        check_frets((None, 23, 2, 0, 1, 0), standard_tuning(6, capo=2))
    with pytest.raises(InputError, match=r"5 frets are given for the 6 strings of E A D G B E"):
        check_frets((3, 2, 0, 1, 0), STANDARD_TUNING)


@given(st.lists(st.integers(12, 108), min_size=4, max_size=8))
def test_a_tuning_is_found_again_by_its_name(open_midi):
    tuning = Tuning(tuple(open_midi))
    assert parse_tuning(tuning.name) == tuning


@given(st.text(alphabet="ABEGHbe# ♭♯0249,-", max_size=24))
def test_whatever_is_written_is_a_tuning_or_refused_in_one_sentence(text):
    tuning, refusal = None, ""
    try:
        tuning = parse_tuning(text)
    except InputError as trouble:
        refusal = str(trouble)
    assert refusal.endswith(".") if tuning is None else parse_tuning(tuning.name) == tuning


def test_an_instrument_may_be_named_for_its_strings() -> None:
    # Common practice, no published source: a ukulele's fourth string is above its third, a bass is a guitar's
    # four lowest strings an octave down.
    assert parse_tuning("ukulele").open_midi == (67, 60, 64, 69)
    assert parse_tuning("Bass").open_midi == tuple(note - 12 for note in STANDARD_TUNING.open_midi[:4])
    assert parse_tuning("guitar") == STANDARD_TUNING
    assert parse_tuning("mandolin", 2).capo == 2
