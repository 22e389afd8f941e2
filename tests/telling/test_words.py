"""A change and a found shape in a player's words."""

from __future__ import annotations

import pytest

from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, parse_tuning
from pedaltrainer.neck.moves import move
from pedaltrainer.neck.pieces import found_inside, worth_telling
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.telling.neck_words import (
    burden_lines,
    count,
    find_words,
    hand_line,
    in_short,
    listed,
    move_lines,
    place,
    string_name,
)

C = Shape((None, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0))
AM = Shape((None, 0, 2, 2, 1, 0), (0, 0, 2, 3, 1, 0))
D = Shape((None, None, 0, 2, 3, 2), (0, 0, 0, 1, 3, 2))
E = Shape((0, 2, 2, 1, 0, 0), (0, 2, 3, 1, 0, 0))
BM = Shape((None, 2, 4, 4, 3, 2), (0, 1, 3, 4, 2, 1))
F_SHARP_MINOR = Shape((2, 4, 4, 2, 2, 2), (1, 3, 4, 1, 1, 1))
F = Shape((1, 3, 3, 2, 1, 1), (1, 3, 4, 2, 1, 1))
G_WITH_RING = Shape((3, 2, 0, 0, 0, 3), (3, 2, 0, 0, 0, 4))
GM = Shape((3, 5, 5, 3, 3, 3), (1, 3, 4, 1, 1, 1))
AM_BARRED = Shape((5, 7, 7, 5, 5, 5), (1, 3, 4, 1, 1, 1))
DIMINISHED = Shape((None, None, 1, 2, 1, 2), (0, 0, 1, 3, 2, 4))


def test_what_each_finger_does_is_said_finger_by_finger():
    stays, also_stays, lifts = move_lines(move(C, AM))
    assert stays == "Index: stays on the B string, fret 1."
    assert also_stays == "Middle: stays on the D string, fret 2."
    assert lifts.startswith("Ring: lifts from the A string, fret 3, to the G string, fret 2; ")
    assert lifts.endswith(" mm.")


def test_fingers_that_keep_their_pattern_are_told_as_one_block():
    lines = move_lines(move(G_WITH_RING, C))
    assert lines[0] == "Index: is added on the B string, fret 1."
    assert lines[1].startswith("Middle and ring: move as one block, one string towards the high E")
    assert lines[2] == "Little: leaves the high E string, fret 3."


def test_a_barre_is_laid_flat_and_a_tip_on_its_place_is_kept():
    index, *_ = move_lines(move(E, F))
    assert index == "Index: keeps its tip on the G string, fret 1, and rolls flat (low E to high E string)."
    index, *_ = move_lines(move(D, F))
    assert index.endswith("to fret 1 (low E to high E string), laid flat; 34 mm.")


def test_a_barre_unrolls_to_its_tip_and_rolls_on_over_more_strings():
    assert move_lines(move(F, C))[0] == "Index: unrolls to its tip on the B string, fret 1."
    assert move_lines(move(BM, F_SHARP_MINOR))[0] == (
        "Index: lies flat and rolls on (low E to high E string)."
    )
    assert move_lines(move(F_SHARP_MINOR, BM))[0] == "Index: stays flat at fret 2 (A to high E string)."


def test_a_tip_that_goes_to_the_next_string_in_its_fret_shifts():
    assert move_lines(move(C, F))[1].startswith(
        "Middle: shifts one string, from the D string, fret 2, to the G string, fret 2"
    )


def test_a_change_is_told_in_short_by_how_many_fingers_do_what():
    assert in_short(move(C, AM)) == "1 to place, 2 stay, the hand stays"
    assert in_short(move(C, F)) == "2 to place, 1 to roll flat, 1 stays, the hand stays"
    assert in_short(move(F, C)) == "1 to place, 1 unrolls, 1 stays, the hand stays"
    assert in_short(move(GM, AM_BARRED)).endswith("as one, the hand moves two frets up")
    assert in_short(move(C, C)) == "nothing moves"


def test_a_whole_shape_that_slides_tells_the_hands_way():
    change = move(GM, AM_BARRED)
    assert move_lines(change)[0].startswith(
        "Index, ring and little: move as one block, two frets up the neck"
    )
    assert hand_line(change).startswith("The hand moves two frets up the neck, towards the body (")
    back = hand_line(move(AM_BARRED, GM))
    assert back.startswith("The hand moves two frets down the neck, towards the nut (")


def test_a_hand_that_keeps_its_place_is_said_to():
    assert hand_line(move(C, AM)).startswith("The hand keeps its place on the neck; the fingertips travel ")


def test_a_hand_moves_from_two_frets_on():
    one, two = (Shape(tuple(fret and fret + up for fret in GM.frets), GM.fingers) for up in (1, 2))
    assert hand_line(move(GM, one)).startswith("The hand keeps its place")
    assert in_short(move(GM, one)).endswith("the hand stays")
    assert not any("travels" in line for line in burden_lines(move(GM, one)))
    assert any("travels" in line for line in burden_lines(move(GM, two)))


def test_what_makes_a_change_hard_is_told_in_words_the_hardest_first_and_then_what_helps():
    assert burden_lines(move(C, F)) == [
        "What makes it hard, the hardest first:",
        "  index lies flat and must sound at once on every string",
        "  middle goes its own way",
        "  little is put down from the air",
        "What helps:",
        "  ring stays and shows the others where they are",
    ]
    assert burden_lines(move(C, C)) == []


def test_strings_of_a_guitar_have_names_and_others_numbers():
    """Common practice, no published source: string 1 is the highest."""
    dropped, seven = parse_tuning("D A D G B E"), parse_tuning("B E A D G B E")
    assert [string_name(at, STANDARD_TUNING) for at in (0, 5)] == ["the low E string", "the high E string"]
    assert [string_name(at, dropped) for at in (0, 5)] == ["string 6", "string 1"]
    assert string_name(0, seven) == "string 7"
    assert place((0, 4, 5), 1, STANDARD_TUNING) == "fret 1 (low E to high E string)"
    assert place((0, 4, 5), 1, dropped) == "fret 1 (strings 6 to 1)"


def test_a_known_shape_inside_a_new_one_is_told_with_its_way_and_what_is_added():
    """A diminished seventh on the first four strings holds the open D's pattern one string inwards, plus
    one finger (common practice, no published source)."""
    (find,) = (one for one in found_inside(DIMINISHED, {"D": D}) if one.frets == -1)
    words = find_words(find, STANDARD_TUNING)
    assert words.startswith("the shape you know as D, moved one string towards the low E and one fret down")
    assert words.endswith("plus one finger (little)")


def test_a_shape_is_not_told_to_be_itself():
    held_otherwise = Shape(D.frets, (0, 0, 0, 2, 4, 3))
    assert not any(worth_telling(find) for find in found_inside(held_otherwise, {"D": D}))


@pytest.mark.parametrize(("number", "words"), [(1, "one fret"), (2, "two frets"), (12, "12 frets")])
def test_small_numbers_are_words(number, words):
    assert count(number, "fret") == words


def test_lists_read_as_spoken():
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
