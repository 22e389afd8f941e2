"""From a symbol to its notes: what a chord holds, what it must hold, and what the notes are called."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import pitch_class
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.symbols import parse_chord

# Degrees of each quality; those in brackets may be left out: common practice, as in any theory primer
# (from memory). Qualities in one row are one chord in several spellings.
QUALITIES = {
    "1 3 5": ["", "maj", "major", "M", "ma"],
    "1 b3 5": ["m", "min", "minor", "mi", "-"],
    "1 b3 b5": ["dim", "°", "o", "mb5"],
    "1 3 #5": ["aug", "+", "(#5)", "+5"],
    "1 3 b5": ["(b5)", "-5", "(-5)"],
    "1 5": ["5", "no3", "omit3"],
    "1 2 5": ["sus2"],
    "1 4 5": ["sus4", "sus"],
    "1 2 4 (5)": ["sus24", "sus2sus4", "sus42"],
    "1 3 (5) 6": ["6", "maj6", "add6"],
    "1 b3 (5) 6": ["m6", "-6", "min6"],
    "1 3 (5) 6 9": ["69", "6/9", "6add9", "6(9)"],
    "1 b3 (5) 6 9": ["m69", "m6/9"],
    "1 3 (5) 9": ["add9", "2", "(add9)"],
    "1 2 3 (5)": ["add2"],
    "1 3 4 (5)": ["add4"],
    "1 b3 (5) 9": ["madd9", "m(add9)"],
    "1 3 (5) b7": ["7"],
    "1 3 b7": ["7omit5", "7no5", "7(no5)"],
    "1 3 (5) 7": ["maj7", "M7", "Maj7", "ma7", "Δ", "△", "Δ7", "△7", "7M"],
    "1 b3 (5) b7": ["m7", "-7", "mi7", "min7"],
    "1 b3 (5) 7": ["mmaj7", "m(maj7)", "mM7", "mΔ", "mΔ7", "-Δ7"],
    "1 b3 b5 b7": ["m7b5", "m7-5", "m7(b5)", "ø", "ø7", "Ø", "-7b5"],
    "1 b3 b5 bb7": ["dim7", "°7", "o7"],
    "1 b3 b5 7": ["mmaj7b5", "dimmaj7", "°maj7"],
    "1 3 #5 b7": ["7#5", "7+5", "7+", "aug7", "+7", "7aug"],
    "1 3 b5 b7": ["7b5", "7-5", "7(b5)"],
    "1 3 #5 7": ["maj7#5", "augmaj7", "+maj7", "M7#5"],
    "1 3 b5 7": ["maj7b5"],
    "1 4 (5) b7": ["7sus4", "7sus", "sus7"],
    "1 4 (5) b7 9": ["9sus4", "9sus", "sus9"],
    "1 3 (5) b7 9": ["9"],
    "1 3 (5) 7 9": ["maj9", "M9", "Δ9"],
    "1 b3 (5) b7 9": ["m9", "-9"],
    "1 b3 b5 b7 9": ["ø9", "m9b5"],
    "1 b3 (5) 7 9": ["mmaj9", "mM9"],
    "1 3 #5 b7 9": ["9#5", "aug9", "+9"],
    "1 3 b5 b7 9": ["9b5"],
    "1 3 (5) b7 #9": ["7#9", "7(#9)", "7+9", "7(+9)"],
    "1 3 (5) b7 b9": ["7b9", "7(b9)", "7-9", "7(-9)"],
    "1 3 (5) b7 b9 #11": ["7b9#11", "7(b9,#11)", "7#11b9"],
    "1 3 (5) b7 b9 b13": ["7(b9,b13)", "7b9b13"],
    "1 3 (5) b7 (9) #11": ["9#11", "9(#11)"],
    "1 3 (5) 7 #11": ["maj7#11", "Δ#11", "maj7#4"],
    "1 3 (5) b7 (9) 11": ["11"],
    "1 3 (5) 7 (9) 11": ["maj11"],
    "1 b3 (5) b7 (9) 11": ["m11"],
    "1 b3 (5) 7 (9) 11": ["mmaj11"],
    "1 3 (5) b7 (9) (11) 13": ["13"],
    "1 3 (5) 7 (9) (11) 13": ["maj13"],
    "1 b3 (5) b7 (9) (11) 13": ["m13"],
    "1 3 (5) b7 13": ["7(13)", "7add13"],
    "1 3 b5 (#5) (b7) (b9) (#9)": ["alt"],
    "1 3 (b5) #5 b7 (b9) #9": ["7alt"],
}


@pytest.mark.parametrize(
    ("degrees", "quality"), [(degrees, quality) for degrees, names in QUALITIES.items() for quality in names]
)
def test_every_usual_spelling_stands_for_its_notes(degrees, quality):
    tones = spell("G" + quality).tones
    assert " ".join(tone.degree if tone.needed else f"({tone.degree})" for tone in tones) == degrees


@pytest.mark.parametrize(
    ("symbol", "names"),
    [
        # Names by the letters of the root's scale: common practice, no published source.
        ("C", "C E G"), ("Ebm", "Eb Gb Bb"), ("F#", "F# A# C#"), ("F♯m7", "F# A C# E"),
        ("B♭maj7", "Bb D F A"), ("Bm7b5", "B D F A"), ("E7#9", "E G# B D F##"), ("Cdim7", "C Eb Gb Bbb"),
        ("Abm", "Ab Cb Eb"), ("G7alt", "G B Db D# F Ab A#"), ("Dbb", "Dbb Fb Abb"),
        # Three accidentals are true to the letter, but nobody reads them.
        ("Fbdim7", "Fb Abb Cbb C#"),
    ],
)  # fmt: skip
def test_notes_are_called_by_the_letters_of_the_chord(symbol, names):
    assert " ".join(spell(symbol).note_names) == names


def test_a_bass_from_the_chord_is_called_by_its_degree():
    spelling = spell("C/G")
    assert spelling.bass_pitch_class == 7
    assert spelling.pitch_classes == {0, 4, 7}
    assert (spelling.degree_of(7), spelling.note_name_of(7)) == ("5", "G")


@pytest.mark.parametrize(
    ("symbol", "degree", "name"),
    [
        ("Am/G", "b7", "G"),
        ("Am/G#", "7", "G#"),
        ("C/D#", "#2", "D#"),
        ("C/Eb", "b3", "Eb"),
        ("F/B", "#4", "B"),
    ],
)
def test_a_bass_from_outside_may_and_must_sound_and_is_called_by_its_interval(symbol, degree, name):
    spelling = spell(symbol)
    bass = spelling.bass_pitch_class
    assert bass == pitch_class(name)
    assert bass in spelling.needed_pitch_classes <= spelling.pitch_classes
    assert (spelling.degree_of(bass), spelling.note_name_of(bass)) == (degree, name)


def test_without_a_slash_the_root_is_in_the_bass():
    assert spell("F#m7").bass_pitch_class == spell("F#m7").root_pitch_class == 6


def test_an_optional_tone_named_in_the_bass_must_sound():
    assert 7 not in spell("C7").needed_pitch_classes
    assert 7 in spell("C7/G").needed_pitch_classes


def test_a_note_that_is_not_in_the_chord_has_no_degree():
    with pytest.raises(ValueError, match="C7 has no pitch class 1"):
        spell("C7").degree_of(1)


@pytest.mark.parametrize("symbol", ["", "H", "Cxyz", "C/H", "am"])
def test_what_is_no_chord_is_refused_with_the_mend(symbol):
    with pytest.raises(InputError, match=r"is not a chord symbol; write a root from A to G"):
        spell(symbol)


@pytest.mark.parametrize(
    "quality", ["7777", "no9", "mM", "addno", "m7dim", "7sus3", "5no5", "alt7", "-13-13-"]
)
def test_marks_that_make_no_chord_are_refused_with_the_mend(quality):
    with pytest.raises(
        InputError, match="stands for no notes known here; write it with the usual parts"
    ) as no:
        spell("C" + quality)
    assert f"“C{quality}”" in str(no.value)


MARKS = [
    "major", "maj", "Maj", "ma", "minor", "min", "mi", "m", "M", "dim", "aug", "sus", "add", "alt", "omit",
    "no", "Δ", "△", "ø", "°", "o", "+", "-", "13", "11", "69", "6/9", "9", "7", "6", "5", "4", "3", "2",
    "#5", "b5", "b9", "#9", "#11", "b13", "(", ")", ",", "/E", "/Bb",
]  # fmt: skip


@given(
    st.sampled_from(["A", "B♭", "C", "C#", "F", "G♯", "Fb", "B##", "Dbb"]),
    st.lists(st.sampled_from(MARKS), max_size=6).map("".join),
)
def test_whatever_the_grammar_lets_pass_is_spelt_or_refused_in_one_sentence(root, rest):
    spelling, refusal = None, ""
    try:
        spelling = spell(root + rest)
    except InputError as trouble:
        refusal = str(trouble)
    if spelling is None:
        assert refusal.endswith(".")
        return
    assert spelling.symbol == parse_chord(root + rest)
    sounding = [(spelling.root_pitch_class + tone.semitones) % 12 for tone in spelling.tones]
    assert len(sounding) == len(set(sounding)) >= 2
    assert [pitch_class(name) for name in spelling.note_names] == sounding
    assert [spelling.degree_of(note) for note in sounding] == [tone.degree for tone in spelling.tones]
    assert spelling.root_pitch_class in sounding
    assert spelling.needed_pitch_classes <= spelling.pitch_classes


@given(
    st.sampled_from(["", "m", "7", "m7", "maj7", "mmaj7", "6", "7sus4", "13"]),
    st.sets(st.sampled_from(["b5", "#5", "b9", "#9", "#11", "b13"]), min_size=1, max_size=3),
)
def test_the_order_of_alterations_does_not_matter(base, alterations):
    spellings = {spell(f"C{base}({','.join(order)})").tones for order in permutations(alterations)}
    assert len(spellings) == 1
