"""Shapes for a chord: what a player may count on in any tuning, and what comes first."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, example, given, reject, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck import columns, shapes_for
from pedaltrainer.neck.book import read_shape_book
from pedaltrainer.neck.candidates import candidates
from pedaltrainer.neck.chords.spelling import Spelling, spell
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning, parse_tuning, standard_tuning
from pedaltrainer.neck.costs import FIRST_COSTS, SEARCH_COSTS
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.geometry import HAND_SPAN_MM, USUAL_NECK, NeckSize
from pedaltrainer.neck.repertoire import usual_repertoire
from pedaltrainer.neck.search import FoundShape, needed_in, search
from pedaltrainer.neck.shapes import Shape
from tests.neck.usual_shapes import frets_text, read_usual_shapes

ROOTS = ("C", "C#", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
QUALITIES = (
    "", "m", "5", "6", "m6", "69", "7", "m7", "maj7", "mmaj7", "9", "m9", "maj9", "add9", "madd9", "11",
    "m11", "13", "maj13", "sus2", "sus4", "7sus4", "dim", "dim7", "m7b5", "aug", "7#5", "7b5",
    "7b9", "7#9", "9#11",
)  # fmt: skip

symbols = st.builds(
    lambda root, quality, bass: root + quality + bass,
    st.sampled_from(ROOTS),
    st.sampled_from(QUALITIES),
    st.sampled_from(("", "", "", *(f"/{root}" for root in ROOTS))),
)


@st.composite
def tunings(draw: st.DrawFn) -> Tuning:
    """The usual tuning of 4 to 8 strings with each string up to a fourth off, and perhaps a capo."""
    usual = standard_tuning(draw(st.integers(4, 8)))
    turned = tuple(note + draw(st.integers(-5, 5)) for note in usual.open_midi)
    return Tuning(turned, draw(st.sampled_from((0, 0, 1, 2, 3, 7))))


def found(symbol: str, tuning: Tuning, **more: float) -> tuple[FoundShape, ...]:
    """What is found; nothing where the tuning cannot play the chord."""
    try:
        return search(symbol, tuning, **more)  # type: ignore[arg-type]
    except InputError as error:
        if "cannot be played" in str(error):
            reject()
        raise


def frets(text: str) -> tuple[int | None, ...]:
    return tuple(None if fret == "x" else int(fret) for fret in text.split())


def pitch_classes(shape: Shape) -> set[int]:
    return {note % 12 for note in shape.midi}


def spread_mm(shape: Shape, neck: NeckSize) -> float:
    pressed = [fret + shape.tuning.capo for fret in shape.frets if fret]
    return neck.span_mm(min(pressed), max(pressed)) if pressed else 0.0


def heard_bass(shape: Shape, spelling: Spelling) -> str:
    return spelling.degree_of(min(shape.midi) % 12)


@settings(max_examples=60)
@given(symbols, tunings())
def test_a_shape_sounds_the_chord_and_nothing_else(symbol: str, tuning: Tuning) -> None:
    spelling = spell(symbol)
    for one in found(symbol, tuning):
        assert needed_in(spelling, tuning) <= pitch_classes(one.shape) <= spelling.pitch_classes


@settings(max_examples=60)
@given(symbols, tunings())
def test_a_written_bass_is_the_lowest_note(symbol: str, tuning: Tuning) -> None:
    spelling = spell(symbol)
    assume(spelling.symbol.bass is not None)
    for one in found(symbol, tuning):
        assert min(one.shape.midi) % 12 == spelling.bass_pitch_class


@settings(max_examples=60)
@example("B7b9", Tuning((42, 49, 54, 61, 64)), 125.0)
@given(symbols, tunings(), st.sampled_from((70.0, 85.0, HAND_SPAN_MM, 125.0)))
def test_a_shape_lies_under_the_hand_that_was_asked_for(symbol: str, tuning: Tuning, span_mm: float) -> None:
    for one in found(symbol, tuning, span_mm=span_mm):
        assert spread_mm(one.shape, USUAL_NECK) <= span_mm
        assert all(fret is None or fret <= tuning.highest_fret for fret in one.shape.frets)


@settings(max_examples=60)
@given(symbols, tunings())
def test_a_shape_has_the_best_fingers_for_its_frets(symbol: str, tuning: Tuning) -> None:
    for one in found(symbol, tuning)[:12]:
        assert one.shape.fingers == fingerings(one.shape.frets, tuning)[0].fingers


@settings(max_examples=60)
@given(symbols, tunings(), st.sampled_from((None, None, 0, 5, 9)))
def test_the_best_come_first_and_none_twice(symbol: str, tuning: Tuning, near: int | None) -> None:
    shapes = found(symbol, tuning, **({} if near is None else {"near": near}))
    assert all(before.cost <= after.cost for before, after in pairwise(shapes))
    assert len({one.shape.frets for one in shapes}) == len(shapes)


@settings(max_examples=60)
@given(symbols, tunings())
def test_no_more_than_one_string_between_sounding_ones_is_silent(symbol: str, tuning: Tuning) -> None:
    for one in found(symbol, tuning):
        sounding = [string for string, fret in enumerate(one.shape.frets) if fret is not None]
        assert sounding[-1] - sounding[0] + 1 - len(sounding) <= 1


@settings(max_examples=60)
@given(symbols, tunings())
def test_what_a_shape_leaves_out_is_told(symbol: str, tuning: Tuning) -> None:
    spelling = spell(symbol)
    for one in found(symbol, tuning):
        heard = {spelling.degree_of(note % 12) for note in one.shape.midi}
        assert heard.isdisjoint(one.left_out)
        assert {tone.degree for tone in spelling.tones} <= heard | set(one.left_out)
        needed = {spelling.degree_of(note) for note in needed_in(spelling, tuning)}
        assert not set(one.left_out) & needed


# Common practice, no published source: what a teacher shows first.
FIRST = {
    "C": "x 3 2 0 1 0", "D": "x x 0 2 3 2", "A": "x 0 2 2 2 0", "E": "0 2 2 1 0 0",
    "Am": "x 0 2 2 1 0", "Em": "0 2 2 0 0 0", "Dm": "x x 0 2 3 1", "F": "1 3 3 2 1 1", "Bm": "x 2 4 4 3 2",
    "B7": "x 2 1 2 0 2", "E7": "0 2 0 1 0 0", "D7": "x x 0 2 1 2", "C7": "x 3 2 3 1 0", "F#m": "2 4 4 2 2 2",
    "Cmaj7": "x 3 2 0 0 0", "Dmaj7": "x x 0 2 2 2", "Amaj7": "x 0 2 1 2 0", "Am7": "x 0 2 0 1 0",
    "Dm7": "x x 0 2 1 1", "Em7": "0 2 0 0 0 0", "Cadd9": "x 3 2 0 3 0", "Bb": "x 1 3 3 3 1",
    "B": "x 2 4 4 4 2", "C#m": "x 4 6 6 5 4", "Gm": "3 5 5 3 3 3", "Cm": "x 3 5 5 4 3", "Fm": "1 3 3 1 1 1",
    "Ab": "4 6 6 5 4 4", "Asus2": "x 0 2 2 0 0", "Asus4": "x 0 2 2 3 0", "Dsus2": "x x 0 2 3 0",
    "Dsus4": "x x 0 2 3 3", "Esus4": "0 2 2 2 0 0", "G": "3 2 0 0 0 3", "G7": "3 2 0 0 0 1",
    "A7": "x 0 2 0 2 0", "Fmaj7": "x x 3 2 1 0", "Gmaj7": "3 2 0 0 0 2", "Bm7": "x 2 4 2 3 2",
    "Eb": "x 6 8 8 8 6", "C/G": "3 3 2 0 1 0", "D/F#": "2 x 0 2 3 2", "G/B": "x 2 0 0 3 3",
    "A/C#": "x 4 2 2 2 0",
}  # fmt: skip


@pytest.mark.parametrize("symbol", FIRST)
def test_the_first_shape_is_the_one_a_teacher_shows_first(symbol: str) -> None:
    assert shapes_for(symbol)[0].frets == frets(FIRST[symbol])


def test_the_first_shape_is_the_usual_one_of_the_book() -> None:
    book = read_shape_book(Path(__file__).parents[2] / "configs" / "shapes.toml")
    usual = {name: shape.frets for name, shape in book.shapes.items()}
    assert {name: shapes_for(name)[0].frets for name in usual} == usual


@pytest.mark.parametrize(
    ("symbol", "with_capo_3"), [("G", "Bb"), ("C", "Eb"), ("Am7", "Cm7"), ("D/F#", "F/A")]
)
def test_with_a_capo_the_shapes_taught_first_come_first_too(symbol: str, with_capo_3: str) -> None:
    capo = Tuning(STANDARD_TUNING.open_midi, capo=3)
    assert shapes_for(with_capo_3, capo)[0].frets == shapes_for(symbol)[0].frets


def test_a_tone_lower_the_open_shapes_are_those_of_the_chord_a_tone_higher() -> None:
    assert shapes_for("F", parse_tuning("D G C F A D"))[0].frets == frets("3 2 0 0 0 3")


def test_in_a_tuning_with_another_bass_the_upper_strings_are_held_as_ever() -> None:
    assert shapes_for("D", parse_tuning("D A D G B E"))[0].frets == frets("0 0 0 2 3 2")


def test_the_first_dozen_shows_more_than_one_place_on_the_neck() -> None:
    for symbol in FIRST:
        assert len({shape.position // 3 for shape in shapes_for(symbol, limit=12)}) >= 3


def test_shapes_near_a_fret_come_first_when_asked_for() -> None:
    for fret in (1, 5, 9, 12, 15):
        away = [abs(shape.position - fret) for shape in shapes_for("Em", near=fret, limit=6)]
        assert away[0] <= 1
        assert max(away) <= 4


def test_a_stretch_over_four_frets_is_shown_high_up_and_not_at_the_nut() -> None:
    every = [
        candidates(
            spell(root + "13").pitch_classes, frozenset(), STANDARD_TUNING, USUAL_NECK, HAND_SPAN_MM, 12
        )
        for root in ("C", "E", "G")
    ]
    wide = {
        int(lowest)
        for found in every
        for lowest, row in zip(found.lowest_fret, found.frets, strict=True)
        if row.max() - lowest == 4 and lowest
    }
    assert min(wide) == 6


def test_a_wider_hand_finds_what_a_narrow_one_does_not() -> None:
    assert frets("x 3 2 0 1 0") in [shape.frets for shape in shapes_for("C", span_mm=70.0)]
    assert frets("x 3 2 0 1 0") not in [shape.frets for shape in shapes_for("C", span_mm=60.0)]


def test_with_a_capo_the_symbol_is_what_sounds_and_frets_count_from_the_capo() -> None:
    first = shapes_for("D", Tuning(STANDARD_TUNING.open_midi, capo=2))[0]
    assert first.frets == frets("x 3 2 0 1 0")
    assert pitch_classes(first) == {2, 6, 9}


def test_a_slash_bass_outside_the_chord_sounds_below_it() -> None:
    assert shapes_for("Am/G")[0].midi[0] % 12 == 7
    assert {heard_bass(shape, spell("C/D")) for shape in shapes_for("C/D")} == {"2"}


@pytest.mark.parametrize("strings", [4, 5, 6, 7, 8])
def test_every_usual_neck_plays_the_everyday_chords(strings: int) -> None:
    for symbol in ("C", "Am", "G7", "Fmaj7", "Dm7", "Bm7b5"):
        assert len(shapes_for(symbol, standard_tuning(strings))) >= 4


def test_an_open_tuning_plays_its_own_chord_with_no_finger_at_all() -> None:
    first = shapes_for("D", parse_tuning("D A D F# A D"))[0]
    assert first.frets == (0,) * 6
    assert first.position == 0


def test_a_re_entrant_tuning_is_not_ranked_by_a_bass_it_does_not_have() -> None:
    # Common practice, no published source: the first shapes on four strings tuned G C E A.
    tuning = parse_tuning("G4 C4 E4 A4")
    assert shapes_for("D", tuning)[0].frets == (2, 2, 2, 0)
    assert shapes_for("A7", tuning)[0].frets == (0, 1, 0, 0)
    assert shapes_for("Am", tuning)[0].frets == (2, 0, 0, 0)
    assert shapes_for("C", tuning)[0].frets == (0, 0, 0, 3)
    assert shapes_for("G", tuning)[0].frets == (0, 2, 3, 2)
    assert shapes_for("F#m", tuning)[0].frets == (2, 1, 2, 0)


def test_every_cost_counted_has_its_row_and_every_row_is_used() -> None:
    counted = set()
    for spelling in (spell("C13"), spell("C5")):
        some = candidates(
            spelling.pitch_classes,
            spelling.needed_pitch_classes,
            STANDARD_TUNING,
            USUAL_NECK,
            HAND_SPAN_MM,
            12,
        )
        counted |= {
            name for name, _ in columns.amounts_of(some, spelling, STANDARD_TUNING, usual_repertoire())
        }
    added_later = {"hold", "fret from the one asked for", "better shape at the same place"}
    assert counted | added_later == set(SEARCH_COSTS) | set(FIRST_COSTS)


def test_limit_takes_the_first_and_none_takes_all() -> None:
    assert shapes_for("Dm7", limit=3) == shapes_for("Dm7", limit=None)[:3]
    assert len(shapes_for("Dm7", limit=None)) > len(shapes_for("Dm7")) == 24


@pytest.mark.parametrize(
    ("symbol", "tuning", "near", "named"),
    [
        ("H", STANDARD_TUNING, None, "H"),
        ("Cfoo", STANDARD_TUNING, None, "Cfoo"),
        ("C13#11/D", standard_tuning(4), None, "C13#11/D cannot be played in the tuning D G B E"),
        ("C", Tuning((40, 45, 50)), None, "3 strings"),
        ("C", STANDARD_TUNING, 30, "fret 30"),
        ("C", STANDARD_TUNING, -1, "fret -1"),
    ],
)
def test_what_cannot_be_searched_for_is_named(
    symbol: str, tuning: Tuning, near: int | None, named: str
) -> None:
    with pytest.raises(InputError) as error:
        shapes_for(symbol, tuning, near=near)
    assert named in str(error.value)
    assert str(error.value).endswith(".")


def test_a_chord_of_root_and_fifth_is_struck_on_three_low_strings_and_stopped_there() -> None:
    # Common practice, no published source.
    first = {name: shapes_for(name)[0] for name in ("E5", "A5", "G5", "F5", "C5")}
    assert {name: frets_text(shape) for name, shape in first.items()} == {
        "E5": "022xxx", "A5": "x022xx", "G5": "355xxx", "F5": "133xxx", "C5": "x355xx",
    }  # fmt: skip
    dropped = parse_tuning("D A D G B E")
    assert frets_text(shapes_for("D5", dropped)[0]) == "000xxx"
    assert frets_text(shapes_for("F5", dropped)[0]) == "333xxx"
    assert "02xxxx" in map(frets_text, shapes_for("E5"))


def test_the_first_shape_is_the_one_that_the_trade_takes_first() -> None:
    """tests/data/usual_shapes.csv: common practice, no published source. Goal: 95 %."""
    rows = read_usual_shapes("usual_shapes.csv")
    right = [row for row in rows if row.has(shapes_for(row.symbol)[0])]
    assert len(right) >= 0.95 * len(rows), sorted(
        {row.symbol for row in rows} - {row.symbol for row in right}
    )
    for row in rows:
        assert any(row.has_frets(shape) for shape in shapes_for(row.symbol, limit=None)), row.symbol


def test_the_other_shapes_keep_their_order_behind_the_first() -> None:
    found = shapes_for("Cm7", limit=None)
    assert found[0].frets == (None, 3, 5, 3, 4, 3)
    assert len(set(found)) == len(found)


def test_on_fewer_strings_than_tones_the_root_may_be_left_to_others() -> None:
    # Common practice, no published source: a ukulele's C9 is 0201.
    first = search("C9", parse_tuning("ukulele"))[0]
    assert first.shape.frets == (0, 2, 0, 1)
    assert first.left_out == ("1",)
    assert all("1" not in one.left_out for one in search("C9"))
