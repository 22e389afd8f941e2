"""What a drill puts under the hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.neck.findings import find_shapes
from pedaltrainer.neck.lookup import Setup
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.hands import hand_for, hands, leading_finger, strings_picked
from pedaltrainer.songs.shipped import shape_book

BOOK = shape_book()


def frets(words: str, book: ShapeBook = BOOK) -> list[tuple[int | None, ...]]:
    return [hand.shape.frets for hand in hands(parse_drill(words), book) if hand.shape]


def test_a_chord_of_the_book_is_played_as_the_book_has_it():
    assert hand_for("Am", BOOK).shape == BOOK.find("Am")


def test_a_chord_that_the_book_does_not_have_gets_the_necks_first_shape():
    hand = hand_for("Ebm7b5", BOOK)
    assert hand.shape is not None
    # Eb Gb Bbb Db (a half-diminished seventh: minor third, diminished fifth, minor seventh).
    assert {note % 12 for note in hand.shape.midi} == {3, 6, 9, 1}


def test_the_frets_a_player_names_are_played_with_the_fingers_named_or_the_likeliest():
    assert hand_for("G[320033/210034]", BOOK).shape == Shape((3, 2, 0, 0, 3, 3), (2, 1, 0, 0, 3, 4))
    likeliest = hand_for("F[133211]", BOOK).shape
    assert likeliest is not None
    assert likeliest.fingers == (1, 3, 4, 2, 1, 1)


def test_the_name_on_the_stage_is_the_symbol_alone():
    assert hand_for("G[320033]", BOOK).name == "G"


def test_the_players_own_shapes_lie_over_the_shipped_ones(tmp_path):
    (tmp_path / "shapes.toml").write_text('[G]\nfrets = "3 2 0 0 3 3"\nfingers = "2 1 0 0 3 4"\n')
    assert hand_for("G", shape_book(tmp_path)).shape == Shape((3, 2, 0, 0, 3, 3), (2, 1, 0, 0, 3, 4))
    assert hand_for("Am", shape_book(tmp_path)).shape == BOOK.find("Am")


def test_in_another_tuning_the_neck_finds_the_shapes():
    dropped = parse_tuning("D A D G B E")
    d_chord = hand_for("D", shape_book(tuning=dropped)).shape
    assert d_chord is not None
    assert {note % 12 for note in d_chord.midi} == {2, 6, 9}
    assert d_chord.tuning == dropped


@pytest.mark.parametrize("chord", ["G", "Ebm7b5", "F[133211]", "G[320033/210034]"])
@pytest.mark.parametrize("tuning", ["E A D G B E", "D A D G B E"])
def test_a_session_puts_the_shape_under_the_hand_that_the_neck_commands_show(chord, tuning):
    book = shape_book(tuning=parse_tuning(tuning))
    [shape] = find_shapes(chord, Setup(book.tuning), BOOK, count=1).shapes
    assert hand_for(chord, book).shape == shape


def test_a_level_drill_moves_the_second_shape_to_the_firsts_place():
    assert frets("level F[133211/134211] Bm[224432/134211]") == [(1, 3, 3, 2, 1, 1), (1, 1, 3, 3, 2, 1)]


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("level F Cm", ["F", "Bbm"]),
        ("level F F#m7", ["F", "Fm7"]),
        ("level Cm F#m", ["Cm", "Gm"]),
        ("level Bb C/G[335553/113331]", ["Bb", "Bb/F"]),
    ],
)
def test_a_moved_shape_is_named_by_the_chord_it_sounds(words, names):
    here, moved = hands(parse_drill(words), BOOK)
    assert [here.name, moved.name] == names
    assert moved.shape is not None
    # The spelling of the name, which the outside judges hold, has the notes that the strings give.
    assert {note % 12 for note in moved.shape.midi} == spell(moved.name).pitch_classes


def test_a_level_drill_of_open_shapes_is_refused_naming_the_drill():
    with pytest.raises(InputError, match="“level F C”"):
        hands(parse_drill("level F C"), BOOK)


def test_a_shared_drill_begins_with_the_fingers_that_stay():
    # C to Am: the index and the middle finger stay; only the ring finger moves (common practice,
    # no published source).
    (c_part, am_part) = hands(parse_drill("shared C Am"), BOOK)
    assert c_part.shape is not None
    assert am_part.shape is not None
    assert set(c_part.shape.fingers) == set(am_part.shape.fingers) == {0, 1, 2}


def test_one_finger_more_makes_the_shapes_whole():
    assert [hand.shape for hand in hands(parse_drill("shared C Am +1"), BOOK)] == [
        BOOK.find("C"),
        BOOK.find("Am"),
    ]


def test_more_fingers_than_there_are_is_refused():
    with pytest.raises(InputError, match=r"say at most \+1"):
        hands(parse_drill("shared C Am +2"), BOOK)


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ("G[3200]", "4 frets are given for the 6 strings"),
        ("G[19090909]", "frets"),
        ("C[1.15.1.15.1.15]", "one hand"),
    ],
)
def test_frets_that_cannot_be_played_are_refused(words, complaint):
    with pytest.raises(InputError, match=complaint):
        hands(parse_drill(words), BOOK)


def test_a_barre_is_eased_in_from_high_up_and_named_as_it_sounds_there():
    # F is one semitone above the open E shape; at the eighth fret it sounds C (from the neck's arithmetic).
    steps = [replace(parse_drill("ease F"), turn=turn) for turn in (0, 3, 7)]
    held = [hands(drill, BOOK)[0] for drill in steps]
    assert [hand.shape.position for hand in held if hand.shape] == [8, 5, 1]
    assert [hand.name for hand in held] == ["C", "A", "F"]
    assert held[2].shape == BOOK.find("F")


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ("ease C", "no barre"),
        ("ease E", "no barre"),
        ("picked C G 6543", "C leaves out string 6"),
        ("picked C 87", "C leaves out string 8"),
    ],
)
def test_a_drill_that_these_shapes_cannot_be_put_to_is_refused_in_one_sentence(words, complaint):
    with pytest.raises(InputError, match=complaint) as refusal:
        hands(parse_drill(words), BOOK)
    assert str(refusal.value).startswith(f"“{words}”: ")


@pytest.mark.parametrize(
    ("words", "strings"),
    [
        ("ring F", [0, 1, 2, 3, 4, 5]),
        ("ring D", [2, 3, 4, 5]),
        ("picked C", [1, 3, 4, 5]),
        ("picked G b23", [0, 4, 3]),
    ],
)
def test_strings_are_picked_from_the_lowest_or_in_the_order_that_is_asked_for(words, strings):
    drill = parse_drill(words)
    (hand,) = hands(drill, BOOK)
    assert hand.shape is not None
    assert list(strings_picked(drill, hand.shape)) == strings


@pytest.mark.parametrize(
    ("chord", "finger"), [("C", 3), ("G[320003/210003]", 2), ("D", 1), ("Em", 2), ("F", 1)]
)
def test_the_finger_leads_whose_string_a_stroke_downwards_sounds_first(chord, finger):
    shape = hand_for(chord, BOOK).shape
    assert shape is not None
    assert leading_finger(shape) == finger
