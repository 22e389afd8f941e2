"""Facts of the trade about changes: common practice, no published source."""

from __future__ import annotations

from itertools import pairwise, permutations

import pytest

from pedaltrainer.neck.moves import move
from pedaltrainer.neck.pairs import Burden
from pedaltrainer.neck.pieces import found_inside
from pedaltrainer.neck.routes import plan_route
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.songs.shipped import shape_book
from tests.neck.hands import AM, BM, EM, G_123, G_234, A, C, D, E, F, hand

OPEN_G = G_123.frets


@pytest.mark.parametrize("known", [{}, {"G": G_123, "C": C, "D": D}], ids=["alone", "beside the usual 1 2 3"])
@pytest.mark.parametrize("order", list(permutations(("G", "C", "D"))), ids="-".join)
def test_among_open_g_c_and_d_the_route_fingers_g_with_middle_ring_and_little_finger(
    order: tuple[str, ...], known: dict[str, Shape]
):
    # Middle and ring finger lie to one another in G, C and D alike.
    plan = plan_route(order, usual=known, repeats=True)
    g = plan.shapes[order.index("G")]
    assert (g.frets, g.fingers) == (OPEN_G, G_234.fingers)
    assert {plan.shapes[order.index(chord)].frets for chord in "CD"} == {C.frets, D.frets}


def test_in_g_c_and_d_middle_and_ring_finger_keep_their_pattern_and_with_g_as_1_2_3_they_do_not():
    for here, there in permutations((G_234, C, D), 2):
        assert {2, 3} <= move(here, there).pattern
    assert move(G_123, C).pattern == set()
    assert G_234.frets == G_123.frets


@pytest.mark.parametrize("up", [0, 1, 3, 8])
def test_a_diminished_seventh_on_the_four_high_strings_is_the_open_d_shape_one_string_in_plus_a_finger(
    up: int,
):
    # D: third string fret 2, second string fret 3, first string fret 2, fingers 1 3 2. The same triangle one
    # string further in, with the little finger on the first string, is x x 1 2 1 2 and its likes.
    triangle = {1: 1 + up, 3: 2 + up, 2: 1 + up}
    dim7 = Shape(
        (None, None, triangle[1], triangle[3], triangle[2], 2 + up),
        (0, 0, 1, 3, 2, 4),
    )
    notes = sorted(note % 12 for note in dim7.midi)
    assert {after - before for before, after in pairwise(notes)} == {3}
    book = {symbol: shape for symbol, shape in shape_book().shapes.items() if "dim" not in symbol}
    find = next(find for find in found_inside(dim7, book) if find.symbol == "D")
    assert (find.strings, find.frets) == (-1, up - 1)
    assert find.same_fingers
    assert find.added == (4,)
    best_of_open_chords = found_inside(dim7, {"A": A, "Am": AM, "C": C, "D": D, "E": E, "Em": EM, "F": F})[0]
    assert best_of_open_chords.symbol == "D"


@pytest.mark.parametrize("open_shape", [C, AM, A, E, EM, D, G_123], ids=["C", "Am", "A", "E", "Em", "D", "G"])
@pytest.mark.parametrize(
    "barred",
    [F, BM, hand("2 4 4 2 2 2", "1 3 4 1 1 1"), hand("x 7 9 9 8 7", "0 1 3 4 2 1")],
    ids=["F", "Bm", "F#m", "Em-at-7"],
)
def test_an_open_chord_to_a_barred_one_is_limited_by_landing_the_barre_not_by_distance(
    open_shape: Shape, barred: Shape
):
    change = move(open_shape, barred)
    costs = {part.burden: part.cost for part in change.parts}
    assert costs[Burden.BARRE_LANDING] > costs.get(Burden.TRAVEL, 0.0)


@pytest.mark.parametrize("open_shape", [C, AM, E, EM], ids=["C", "Am", "E", "Em"])
def test_what_limits_the_change_to_f_is_the_barre(open_shape: Shape):
    dearest = max(move(open_shape, F).parts, key=lambda part: part.cost)
    assert dearest.burden is Burden.BARRE_LANDING


def test_f_is_harder_to_come_to_than_an_open_chord_that_is_farther_for_the_fingers():
    to_barre, to_open = move(C, F), move(C, D)
    assert to_barre.travel_mm < to_open.travel_mm
    assert to_barre.cost > to_open.cost


def test_c_to_a_minor_is_easier_than_c_to_f():
    assert move(C, AM).cost < move(C, F).cost / 2


def test_e_to_a_minor_is_among_the_easiest_changes_of_three_fingers():
    others = [move(E, there).cost for there in (A, C, D, G_123, F, BM)]
    assert move(E, AM).cost < min(others)
