"""Chord symbols: what is one, and one with frets and fingers chosen for it."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import ChordSymbol, ChosenChord, parse_chord, parse_chosen


@pytest.mark.parametrize(
    "symbol",
    ["A", "Am", "F#m7", "Bbmaj7", "C/G", "Bm7b5", "Bø", "E7#9", "Asus2", "D/F#", "Gadd9", "Caug", "C°", "Eb6",
     "A7sus4", "F♯", "B♭", "Cm(maj7)", "G13", "Dmin", "DΔ", "Ab", "C5", "E+", "Cmajor", "Cminor", "Cno3",
     "C/Bbb", "D𝄫"],
)  # fmt: skip
def test_the_usual_spellings_are_chords(symbol):
    assert parse_chord(symbol).root[0] == symbol[0]


def test_a_symbol_is_kept_in_its_parts_as_the_player_wrote_it():
    assert parse_chord("F#m7/E") == ChordSymbol("F#", "m7", "E")
    assert parse_chord("C6/9/E") == ChordSymbol("C", "6/9", "E")
    assert str(parse_chord(" B♭−7 ")) == "Bb-7"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "H",
        "am",
        "Hello",
        "A/",
        "A/H",
        "7",
        "#",
        "Am E",
        "Ax",
        "Cxyz",
        "Cmajestic",
        "C###",
        "C(",
        "C7b9)",
        "C()",
        "Am,",
        "G[320033]",
    ],
)
def test_what_only_looks_like_a_chord_is_refused_with_the_mend(text):
    with pytest.raises(InputError, match=r"is not a chord symbol; write a root from A to G"):
        parse_chord(text)


def test_a_text_longer_than_any_symbol_is_refused_at_once():
    for piece in ("69", "mino", "b9", "add9"):
        with pytest.raises(InputError, match="is not a chord symbol"):
            parse_chord("C" + 1000 * piece)


@pytest.mark.parametrize(
    ("text", "frets", "fingers"),
    [
        ("G", None, None),
        ("G[320033]", (3, 2, 0, 0, 3, 3), None),
        ("G[x.10.12.12.11.10]", (None, 10, 12, 12, 11, 10), None),
        ("G[320033/210034]", (3, 2, 0, 0, 3, 3), (2, 1, 0, 0, 3, 4)),
        ("D/F#[2x0232/500132]", (2, None, 0, 2, 3, 2), (5, 0, 0, 1, 3, 2)),
        ("C6/9[x32233]", (None, 3, 2, 2, 3, 3), None),
        ("Am[2010]", (2, 0, 1, 0), None),
        ("Em[0.2.2.0.0.0.0.12]", (0, 2, 2, 0, 0, 0, 0, 12), None),
    ],
)
def test_frets_and_fingers_may_be_chosen_for_a_chord(text, frets, fingers):
    chosen = parse_chosen(text)
    assert chosen == ChosenChord(parse_chord(text.split("[")[0]), frets, fingers)
    assert str(chosen) == text


def test_dots_and_capitals_are_taken_where_they_are_not_needed():
    assert str(parse_chosen("G♯[X.4.6.6.5.4]")) == "G#[x46654]"


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("H[320033]", "“H” is not a chord symbol"),
        ("[320033]", "brackets that cannot be read"),
        ("G[320033", "brackets that cannot be read"),
        ("G320033]", "brackets that cannot be read"),
        ("G[320033]x", "brackets that cannot be read"),
        ("G[320033/210034/1]", "brackets that cannot be read"),
        ("G[]", "has 0 frets; give 4 to 8, one a string"),
        ("G[320]", "has 3 frets; give 4 to 8, one a string"),
        ("G[320033000]", "has 9 frets; give 4 to 8, one a string"),
        ("G[3200y3]", "has the fret “y”; write x or 0 to 24"),
        ("G[3.2.0.0.3.30]", "has the fret “30”; write x or 0 to 24"),
        ("G[3..0.0.3.3]", "has the fret “”; write x or 0 to 24"),
        ("G[3٢0033]", "has the fret “٢”; write x or 0 to 24"),
        ("G[xxxxxx]", "sounds no string"),
        ("G[320033/21003]", "has 6 frets but 5 fingers"),
        ("G[320033/]", "has 6 frets but 0 fingers"),
        ("G[320033/210036]", "has the fingers “210036”; write 1 to 4"),
        ("G[320033/210030]", "a finger for each fretted string and 0 for the others"),
        ("G[320033/211034]", "a finger for each fretted string and 0 for the others"),
    ],
)
def test_frets_and_fingers_that_do_not_fit_are_refused_with_the_mend(text, complaint):
    with pytest.raises(InputError, match=complaint) as refusal:
        parse_chosen(text)
    assert "\n" not in str(refusal.value)


FRETS = st.lists(st.none() | st.integers(0, 24), min_size=4, max_size=8).filter(
    lambda frets: any(fret is not None for fret in frets)
)


@given(st.sampled_from(["C", "F#m7b5/E", "Bb6/9"]), FRETS, st.booleans(), st.data())
def test_a_chosen_chord_is_read_as_it_is_written(symbol, frets, with_fingers, data):
    fingers = tuple(data.draw(st.integers(1, 5)) if fret else 0 for fret in frets) if with_fingers else None
    chosen = ChosenChord(parse_chord(symbol), tuple(frets), fingers)
    assert parse_chosen(str(chosen)) == chosen


@given(st.text(alphabet="ABCGHbm#7/[]x0123459.♭", max_size=20))
def test_whatever_is_written_is_read_or_refused_in_one_sentence(text):
    chosen, refusal = None, ""
    try:
        chosen = parse_chosen(text)
    except InputError as trouble:
        refusal = str(trouble)
    assert refusal.endswith(".") if chosen is None else parse_chosen(str(chosen)) == chosen


def test_reading_symbols_tunings_and_boxes_waits_for_no_numpy():
    code = (
        "import sys, pedaltrainer.neck.book, pedaltrainer.neck.box, pedaltrainer.neck.gap; "
        "sys.exit('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
