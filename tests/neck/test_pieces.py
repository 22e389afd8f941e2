"""Smaller pieces of a change: the level drill, the shared drill, and known shapes found in new ones."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.moves import Deed, move
from pedaltrainer.neck.pieces import Find, found_inside, landing_order, level, only, shared
from pedaltrainer.neck.shapes import Shape
from tests.neck.hands import A_BARRE, ALL_OPEN, AM, BM, EM, G_234, A, C, D, E, F, hand, hands

C_SHARP_MINOR = hand("x 4 6 6 5 4", "0 1 3 4 2 1")
KNOWN = {"A": A, "Am": AM, "C": C, "D": D, "E": E, "Em": EM, "F": F}


def test_the_bass_string_lands_first_and_a_barre_before_all_others():
    # Common practice, no published source.
    assert landing_order(C) == (3, 2, 1)
    assert landing_order(D) == (1, 3, 2)
    assert landing_order(F) == (1, 3, 4, 2)
    assert landing_order(ALL_OPEN) == ()


# The level drill.


def test_the_second_shape_is_moved_to_the_place_of_the_first():
    level_shape = level(F, C_SHARP_MINOR)
    assert level_shape.frets == (None, 1, 3, 3, 2, 1)
    assert level_shape.fingers == C_SHARP_MINOR.fingers


def test_a_shape_can_be_moved_up_as_well_as_down():
    assert level(C_SHARP_MINOR, F).frets == (4, 6, 6, 5, 4, 4)


def test_an_open_string_cannot_be_moved_along():
    with pytest.raises(InputError, match="open string"):
        level(A_BARRE, C)


def test_open_strings_in_the_first_shape_do_no_harm():
    assert level(C, BM).frets == (None, 1, 3, 3, 2, 1)


@pytest.mark.parametrize("there", [F, C])
def test_shapes_at_the_same_place_have_no_travel_to_take_out(there: Shape):
    with pytest.raises(InputError, match="at fret 1 already"):
        level(F, there)


def test_a_shape_of_open_strings_has_no_place():
    with pytest.raises(InputError, match="no place"):
        level(F, ALL_OPEN)


def test_a_shape_that_would_run_off_the_neck_is_refused():
    at_22 = hand("22 24 24 23 22 22", "1 3 4 2 1 1")
    wide = hand("3 x 5 7 x x", "1 0 2 4 0 0")
    with pytest.raises(InputError, match="run off the neck"):
        level(at_22, wide)
    with pytest.raises(InputError, match="run off the neck"):
        level(C, hand("4 x 6 6 5 5", "5 0 3 4 1 1"))


@given(hands(fewest_fingers=1), hands(fewest_fingers=1, open_strings=False))
def test_a_level_change_has_the_same_fingers_no_travel_and_the_same_intervals(here: Shape, there: Shape):
    try:
        moved = level(here, there)
    except InputError:
        assume(False)
    assert moved.fingers == there.fingers
    assert move(here, moved).along_frets == 0
    assert len({after - before for before, after in zip(there.midi, moved.midi, strict=True)}) == 1


# The shared drill.


def test_first_only_the_shared_fingers_then_the_others_one_by_one():
    steps = shared(G_234, C)
    assert [step.added for step in steps] == [None, 1, 4]
    assert steps[0].here.frets == (3, 2, 0, 0, 0, None)
    assert steps[0].there.frets == (None, 3, 2, 0, None, 0)
    assert steps[1].there == C, "C is whole once its index is down"
    assert (steps[-1].here, steps[-1].there) == (G_234, C)


def test_a_finger_that_stays_is_shared_even_alone():
    steps = shared(hand("x x x 2 1 x", "0 0 0 2 1 0"), hand("x x 3 x 1 x", "0 0 2 0 1 0"))
    assert steps[0].here.fingers == (0, 0, 0, 0, 1, 0)


def test_the_others_join_in_landing_order():
    steps = shared(AM, F)
    assert [step.added for step in steps] == [None, 3, 4, 2]


def test_a_barre_that_has_to_be_laid_is_not_held_but_joins_first():
    steps = shared(C, F)
    assert [step.added for step in steps] == [None, 1, 4, 2]
    assert set(steps[0].there.fingers) == {0, 3}


def test_a_shared_barre_keeps_its_strings_and_those_of_fingers_to_come_are_silent():
    assert only(F, {1}).frets == (1, None, None, None, 1, 1)


def test_when_nothing_is_shared_the_drill_is_refused():
    with pytest.raises(InputError, match="No finger stays"):
        shared(EM, C)


@given(hands(), hands())
def test_each_step_adds_one_finger_up_to_the_whole_change(here: Shape, there: Shape):
    try:
        steps = shared(here, there)
    except InputError:
        change = move(here, there)
        assert not change.pattern
        assert not change.doing(Deed.STAYS, Deed.ROLLS, Deed.UNROLLS)
        return
    assert (steps[-1].here, steps[-1].there) == (here, there)
    placed = [
        {finger for shape in (step.here, step.there) for finger in shape.fingers} - {0} for step in steps
    ]
    for before, after, step in zip(placed, placed[1:], steps[1:], strict=False):
        assert after - before == {step.added}


# Found inside.


def find(new: Shape, symbol: str) -> Find:
    return next(found for found in found_inside(new, KNOWN) if found.symbol == symbol)


def test_the_f_shape_is_an_e_shape_moved_up_a_fret_plus_a_barre():
    best = found_inside(F, {"E": E, "Em": EM, "A": A})[0]
    assert (best.symbol, best.strings, best.frets) == ("E", 0, 1)
    assert best.fingers == ((1, 2), (2, 3), (3, 4))
    assert not best.same_fingers
    assert best.added == (1,)
    assert best.laid_flat == ()


def test_b_minor_is_a_minor_two_frets_up_plus_a_barre():
    best = found_inside(BM, {"Am": AM, "Em": EM, "D": D})[0]
    assert (best.symbol, best.strings, best.frets, best.added) == ("Am", 0, 2, (1,))


def test_e_is_a_minor_one_string_lower_with_the_same_fingers():
    best = found_inside(E, {"Am": AM, "C": C})[0]
    assert (best.symbol, best.strings, best.frets) == ("Am", -1, 0)
    assert best.same_fingers
    assert best.added == ()


def test_a_finger_that_has_to_lie_down_is_told():
    new = hand("x 3 4 2 4 2", "0 2 3 1 4 1")
    best = found_inside(new, {"Dm": hand("x x 0 2 3 1", "0 0 0 2 3 1")})[0]
    assert (best.strings, best.frets, best.laid_flat, best.added) == (-2, 1, (1,), (4,))


def test_the_shape_itself_is_no_find_but_its_other_fingering_is():
    assert "C" not in {found.symbol for found in found_inside(C, KNOWN)}
    other = replace(C, fingers=(0, 4, 3, 0, 1, 0))
    assert (find(other, "C").strings, find(other, "C").frets) == (0, 0)


def test_shapes_of_one_finger_and_of_none_are_not_found_everywhere():
    one = hand("0 2 0 0 0 0", "0 2 0 0 0 0")
    assert found_inside(F, {"Em7": one, "open": ALL_OPEN}) == ()
    assert found_inside(F, {"Em7": one}, fewest_fingers=1)


@given(hands(fewest_fingers=2), st.integers(1, 5), st.integers(-1, 1))
def test_a_shape_moved_anywhere_is_found_whole(known: Shape, up: int, across: int):
    fretted = tuple(fret or None for fret in known.frets)
    assume((fretted[-1] if across > 0 else fretted[0]) is None)
    moved = Shape(_turned(fretted, across), _turned(known.fingers, across))
    new = replace(moved, frets=tuple(fret and fret + up for fret in moved.frets))
    best = found_inside(new, {"known": known})[0]
    assert best.same_fingers
    assert best.added == ()
    assert best.laid_flat == ()
    assert (best.strings, best.frets) == (across, up)


def _turned(row: tuple[Any, ...], by: int) -> tuple[Any, ...]:
    return row[-by:] + row[:-by] if by else row
