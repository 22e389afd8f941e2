"""Chord boxes in letters: what a player sees on the terminal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.neck.box import ChordBox
from pedaltrainer.telling.text_boxes import DRAWN, TYPED, box_lines, boxes_in_text, letters_for

F = ChordBox("F", (1, 3, 3, 2, 1, 1), (1, 3, 4, 2, 1, 1), (("F", "C", "F", "A", "C", "F"),))
C = ChordBox("C", (None, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0))
HIGH = ChordBox("Cm", (None, 10, 12, 12, 11, 10), (0, 1, 3, 4, 2, 1))


def test_a_box_is_drawn_as_on_paper():
    assert "\n".join(box_lines(F)) == (
        "   F\n"
        "\n"
        "   ┍━━━┯━━━┯━━━┯━━━┯━━━┑\n"
        "   1━━━━━━━━━━━━━━━1━━━1\n"
        "   ├───┼───┼───┼───┼───┤\n"
        "   │   │   │   2   │   │\n"
        "   ├───┼───┼───┼───┼───┤\n"
        "   │   3   4   │   │   │\n"
        "   ├───┼───┼───┼───┼───┤\n"
        "   │   │   │   │   │   │\n"
        "   └───┴───┴───┴───┴───┘\n"
        "   F   C   F   A   C   F"
    )


def test_open_and_muted_strings_are_marked_above_the_nut():
    assert box_lines(C)[1] == "   ×           ○       ○"
    assert box_lines(C, TYPED)[1] == "   x           o       o"


def test_up_the_neck_there_is_no_nut_but_the_number_of_the_fret():
    lines = box_lines(HIGH)
    assert "┍" not in lines[2]
    assert lines[3].startswith("10 │   1━━━")


def test_a_ring_says_that_a_finger_stays_and_a_bracket_that_it_moves_in_a_block():
    marked = box_lines(replace(C, stays=frozenset({1}), together=frozenset({2, 4})))
    rows = [line.strip() for line in marked]
    assert "│  (3)  │   │   │   │" in rows
    assert "│   │  [2]  │   │   │" in rows
    assert "│   │   │   │  [1]  │" in rows


def test_a_left_handed_box_is_the_mirror_of_the_other():
    def board(lines: list[str]) -> list[str]:
        return [line.ljust(24)[3:24] for line in lines if "┼" not in line][3:7]

    mirrored = [line[::-1] for line in board(box_lines(F, left_handed=True))]
    assert mirrored == board(box_lines(F))
    assert box_lines(F, left_handed=True)[-1] == "   F   C   A   F   C   F"


def test_a_capo_and_the_thumb_are_named():
    lines = box_lines(ChordBox("D/F#", (2, None, 0, 2, 3, 2), (5, 0, 0, 1, 3, 2), capo=3))
    assert lines[0] == "   D/F#  capo 3"
    assert lines[5].strip().startswith("T   │")


@pytest.mark.parametrize(("columns", "a_row"), [(80, 3), (120, 4), (20, 1)])
def test_as_many_boxes_stand_side_by_side_as_the_width_holds(columns, a_row):
    text = boxes_in_text([F] * 5, columns)
    assert text.splitlines()[2].count("┍") == a_row
    assert text.count("┍") == 5
    assert max(map(len, text.splitlines())) <= max(columns, 24)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "cp437", None, "no-such-encoding"])
def test_a_terminal_without_line_signs_gets_plain_letters(encoding):
    assert letters_for(encoding) is TYPED
    assert boxes_in_text([F, HIGH], letters=TYPED).isascii()


def test_a_terminal_with_line_signs_gets_them():
    assert letters_for("utf-8") is DRAWN


strings = st.integers(4, 8)


@given(strings.flatmap(lambda n: st.tuples(*[st.none() | st.integers(0, 21)] * n)), st.booleans())
def test_every_shape_can_be_drawn_with_each_pressed_fret_once(frets, left_handed):
    pressed = sorted(fret for fret in frets if fret)
    if pressed and pressed[-1] - pressed[0] > 6:
        return
    lines = box_lines(ChordBox("", frets, tuple(1 if fret else 0 for fret in frets)), TYPED, left_handed)
    board = [line for line in lines[3:] if "+" not in line]
    assert sum(line[3:].count("1") for line in board) == len(pressed)
    assert lines[1].count("x") == frets.count(None)
