"""A change and a found shape in a player's words."""

from __future__ import annotations

import pytest

from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, parse_tuning
from pedaltrainer.neck.moves import move
from pedaltrainer.neck.pieces import found_inside, worth_telling
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.telling.neck_words import (
    cost_lines,
    count,
    find_words,
    hand_line,
    listed,
    move_lines,
    place,
    string_name,
)

C = Shape((None, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0))
AM = Shape((None, 0, 2, 2, 1, 0), (0, 0, 2, 3, 1, 0))
D = Shape((None, None, 0, 2, 3, 2), (0, 0, 0, 1, 3, 2))
E = Shape((0, 2, 2, 1, 0, 0), (0, 2, 3, 1, 0, 0))
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


def test_a_barre_is_laid_flat():
    index, *_ = move_lines(move(E, F))
    assert index == "Index: stays at fret 1 (low E to high E string), laid flat."


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


def test_what_a_change_costs_is_told_dearest_first_and_adds_up():
    change = move(C, F)
    costs = [float(line.split()[0]) for line in cost_lines(change)]
    assert costs == sorted(costs, reverse=True)
    assert sum(costs) == pytest.approx(change.cost, abs=0.05 * len(costs))
    assert "index is laid flat and must sound at once" in cost_lines(change)[0]


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
