"""What each finger does in a change, and what that costs."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING
from pedaltrainer.neck.moves import CostPart, Deed, HandMove, move
from pedaltrainer.neck.pairs import FINGERS, Burden, held_by
from pedaltrainer.neck.shapes import Shape
from tests.neck.hands import (
    A_BARRE,
    ALL_OPEN,
    AM,
    BM,
    EM,
    G_123,
    G_234,
    A,
    C,
    D,
    E,
    F,
    hand,
    hands,
)

CAPO_5 = replace(STANDARD_TUNING, capo=5)


def deeds(change: HandMove) -> dict[int, Deed]:
    return {finger.finger: finger.deed for finger in change.fingers}


def part(change: HandMove, burden: Burden) -> CostPart:
    return next((part for part in change.parts if part.burden is burden), CostPart(burden, 0.0, ()))


def test_from_c_to_a_minor_two_fingers_stay_and_the_ring_finger_lifts():
    change = move(C, AM)
    assert deeds(change) == {1: Deed.STAYS, 2: Deed.STAYS, 3: Deed.LIFTS}
    assert change.pattern == {1, 2}
    assert change.pattern_shift == (0, 0)
    ring = change.fingers[2]
    assert (ring.from_strings, ring.from_fret, ring.to_strings, ring.to_fret) == ((1,), 3, (3,), 2)


def test_the_ring_finger_from_c_to_a_minor_goes_two_strings_and_a_fret():
    # By hand for 647.7 mm: the third and second wires are at 103.06 and 70.66 mm, the fingertips 7 mm
    # behind them; the strings are 7 mm apart at the nut and 10.4 mm at the bridge, and in between in step.
    change = move(C, AM)
    along, from_gap, to_gap = 32.40, 7 + 3.4 * 96.06 / 647.7, 7 + 3.4 * 63.66 / 647.7
    assert change.fingers[2].distance_mm == pytest.approx(
        (along**2 + (3 * to_gap - from_gap) ** 2) ** 0.5, abs=0.02
    )


def test_from_a_minor_to_e_all_three_fingers_move_one_string_as_a_block():
    change = move(AM, E)
    assert deeds(change) == {1: Deed.BLOCK, 2: Deed.BLOCK, 3: Deed.BLOCK}
    assert change.pattern == {1, 2, 3}
    assert change.pattern_shift == (-1, 0)


def test_g_with_the_little_finger_keeps_middle_and_ring_together_to_c_and_on_to_d():
    assert (move(G_234, C).pattern, move(G_234, C).pattern_shift) == ({2, 3}, (1, 0))
    assert (move(G_234, D).pattern, move(G_234, D).pattern_shift) == ({2, 3}, (4, 0))
    assert not move(G_123, C).pattern


def test_from_a_to_d_the_ring_finger_slides_along_its_string():
    assert deeds(move(A, D))[3] is Deed.SLIDES


def test_from_e_minor_to_c_the_index_is_added_and_on_the_way_back_it_leaves():
    assert deeds(move(EM, C))[1] is Deed.IS_ADDED
    assert deeds(move(C, EM))[1] is Deed.LEAVES
    assert move(EM, C).fingers[0].from_strings == ()
    assert move(EM, C).fingers[0].distance_mm == 0


def test_a_barre_chord_moved_up_the_neck_is_one_block_with_its_barre():
    change = move(F, A_BARRE)
    assert set(deeds(change).values()) == {Deed.BLOCK}
    assert (change.pattern, change.pattern_shift) == ({1, 2, 3, 4}, (0, 4))
    assert change.along_frets == 4


def test_the_barre_goes_along_with_the_block_when_only_one_of_its_ends_does():
    change = move(F, replace(BM, frets=(None, 4, 6, 6, 5, 4)))
    assert change.pattern == {1, 2, 3, 4}
    assert change.pattern_shift == (1, 3)


def test_the_hand_goes_as_far_as_the_wires_are_apart():
    # Equal temperament, 647.7 mm: fret 5 at 162.48 mm, fret 1 at 36.35 mm.
    assert move(F, A_BARRE).along_mm == pytest.approx(162.48 - 36.35, abs=0.02)


def test_with_a_capo_at_the_fifth_fret_every_way_along_the_neck_is_a_quarter_shorter():
    # Five semitones shorten a string by 2 ** (-5 / 12) = 0.749.
    with_capo = move(replace(F, tuning=CAPO_5), replace(A_BARRE, tuning=CAPO_5))
    assert with_capo.along_mm == pytest.approx(move(F, A_BARRE).along_mm * 2 ** (-5 / 12))
    assert with_capo.along_frets == 4


def test_a_flat_finger_goes_from_its_nearest_string_to_the_nearest():
    high = hand("x x x x 1 1", "0 0 0 0 1 1")
    low = hand("1 1 x x x x", "1 1 0 0 0 0")
    gap = 7 + 3.4 * 29.35 / 647.7
    assert move(high, low).fingers[0].distance_mm == pytest.approx(3 * gap, abs=0.02)


def test_the_same_shape_again_costs_nothing():
    for shape in (C, F, ALL_OPEN):
        assert move(shape, shape).cost == 0


def test_from_all_open_strings_the_hand_has_no_way_to_go():
    change = move(ALL_OPEN, A_BARRE)
    assert change.along_mm == 0
    assert change.along_frets == 0
    assert set(deeds(change).values()) == {Deed.IS_ADDED}


def test_a_block_is_cheaper_than_its_fingers_one_by_one():
    assert part(move(AM, E), Burden.BLOCK).cost < part(move(G_123, C), Burden.OWN_MOVERS).cost / 2


def test_a_staying_finger_is_a_gain_and_named_as_one():
    anchor = part(move(C, AM), Burden.ANCHOR)
    assert anchor.cost < 0
    assert anchor.fingers == (1, 2)


def test_a_finger_that_has_to_lie_down_does_not_stay_and_is_no_anchor():
    change = move(G_123, BM)
    assert deeds(change)[1] is Deed.ROLLS
    assert change.fingers[0].lands_flat
    assert part(change, Burden.ANCHOR).cost == 0
    assert part(change, Burden.REGRIP).cost == 0, "its tip has not left the string"


def test_a_finger_that_rises_from_lying_flat_unrolls_to_its_tip():
    assert deeds(move(F, C))[1] is Deed.UNROLLS
    assert deeds(move(F, C))[3] is Deed.STAYS
    assert part(move(F, C), Burden.ANCHOR).fingers == (3,)


def test_a_barre_over_a_string_more_rolls_and_over_one_less_stays():
    f_sharp_minor = hand("2 4 4 2 2 2", "1 3 4 1 1 1")
    assert deeds(move(BM, f_sharp_minor))[1] is Deed.ROLLS
    assert deeds(move(f_sharp_minor, BM))[1] is Deed.STAYS


def test_a_guide_finger_costs_less_than_one_that_lifts_as_far():
    slide = move(hand("x x x 2 x x", "0 0 0 1 0 0"), hand("x x x 5 x x", "0 0 0 1 0 0"))
    lift = move(hand("x x x 2 x x", "0 0 0 1 0 0"), hand("x x 5 x x x", "0 0 1 0 0 0"))
    assert slide.cost < lift.cost


def test_a_barre_that_is_lying_already_is_cheaper_to_move_than_a_new_one_to_land():
    assert part(move(F, A_BARRE), Burden.BARRE_LANDING).cost < part(move(E, F), Burden.BARRE_LANDING).cost / 3


def test_travel_grows_with_the_way_but_ever_more_slowly():
    costs = [
        part(move(F, replace(F, frets=tuple((fret or 0) + up for fret in F.frets))), Burden.TRAVEL).cost
        for up in (1, 2, 4, 8)
    ]
    gains = [after - before for before, after in pairwise(costs)]
    assert costs[0] < 0.1, "one fret is within reach of the fingers"
    assert all(gain > 0 for gain in gains)
    assert costs[3] / 8 < costs[2] / 4


def test_what_makes_a_change_into_a_barre_dear_is_the_barre():
    dearest = max(move(C, F).parts, key=lambda part: part.cost)
    assert dearest.burden is Burden.BARRE_LANDING
    assert dearest.fingers == (1,)


def test_two_tunings_in_one_change_are_refused():
    with pytest.raises(InputError, match="different tunings"):
        move(C, replace(C, tuning=CAPO_5))


@given(hands(), hands())
def test_every_finger_has_one_deed_and_the_cost_is_its_parts_and_never_below_nothing(
    here: Shape, there: Shape
):
    change = move(here, there)
    pressing = {finger for finger in FINGERS if finger in here.fingers or finger in there.fingers}
    assert [finger.finger for finger in change.fingers] == sorted(pressing)
    assert change.cost == pytest.approx(sum(part.cost for part in change.parts))
    assert change.cost >= -1e-9
    assert change.travel_mm == pytest.approx(sum(finger.distance_mm for finger in change.fingers))


@given(hands(), hands())
@example(hand("2 1 1 1 2 2", "1 2 3 4 1 1"), hand("1 2 1 1 2 2", "2 1 3 4 1 1"))
def test_the_way_back_is_as_long_and_keeps_the_same_number_together(here: Shape, there: Shape):
    out, back = move(here, there), move(there, here)
    assert out.travel_mm == pytest.approx(back.travel_mm)
    # A flat finger that lets a string go stays as it is; one that takes it up rolls on, and may leave them.
    flat = [
        finger
        for finger in FINGERS
        if len(held_by(here, finger)[0]) > 1 and len(held_by(there, finger)[0]) > 1
    ]
    rolls_on = {*out.doing(Deed.ROLLS), *back.doing(Deed.ROLLS)} & {*flat}
    assert abs(len(out.pattern) - len(back.pattern)) <= len(rolls_on)
    in_touch = (Deed.STAYS, Deed.ROLLS, Deed.UNROLLS)
    assert out.doing(*in_touch) == back.doing(*in_touch)
    assert out.doing(Deed.LEAVES) == back.doing(Deed.IS_ADDED)


@given(hands(fewest_fingers=2, open_strings=False), st.integers(1, 6))
def test_a_shape_moved_whole_is_a_block_of_all_its_fingers(shape: Shape, up: int):
    change = move(shape, replace(shape, frets=tuple(fret and fret + up for fret in shape.frets)))
    assert change.pattern == {finger for finger in shape.fingers if finger}
    assert change.pattern_shift == (0, up)


@given(hands(), hands())
def test_the_pattern_is_the_largest_that_there_is(here: Shape, there: Shape):
    """Against trying every set of fingers; for fingertips, which have one place each."""
    tips = [
        finger
        for finger in FINGERS
        if len(held_by(here, finger)[0]) == 1 and len(held_by(there, finger)[0]) == 1
    ]
    shifts = {
        finger: (
            held_by(there, finger)[0][0] - held_by(here, finger)[0][0],
            held_by(there, finger)[1] - held_by(here, finger)[1],
        )
        for finger in tips
    }
    largest = max(
        (
            size
            for size in range(2, len(tips) + 1)
            for chosen in combinations(tips, size)
            if len({shifts[finger] for finger in chosen}) == 1
        ),
        default=0,
    )
    pattern = move(here, there).pattern
    assert len(pattern) >= largest
    assert len({shifts[finger] for finger in pattern & set(tips)}) <= 1
