"""The cheapest way through a song."""

from __future__ import annotations

import random
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck import once, route
from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.neck.costs import ROUTE_COSTS
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.moves import move
from pedaltrainer.neck.routes import candidates, plan_route
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.neck.taught import is_taught
from tests.neck.hands import G_123, G_234, C, F, hand, hands

COMMON_SONGS = (
    "Em C G D",
    "C Am F G",
    "A E F#m D",
    "Dm7 G7 Cmaj7",
    "Bm G D A",
    "G D/F# Em",
    "E B A",
    "Am G F E7",
)


def song_cost(shapes: tuple[Shape, ...], choices: list[list[Shape]], repeats: bool) -> float:
    """The sum that a route makes least, written out. The first choice of each chord is the usual one."""
    changes = [*pairwise(shapes)] + ([(shapes[-1], shapes[0])] if repeats and len(shapes) > 1 else [])
    holding = sum(plan_route(["C"], shapes={"C": [shape]}).cost for shape in shapes)
    others = [shape for shape, row in zip(shapes, choices, strict=True) if shape != row[0]]
    untaught = sum(
        not is_taught(shape.frets, shape.fingers, ways[0].fingers)
        for shape in others
        if (ways := fingerings(shape.frets))
    )
    return (
        holding
        + ROUTE_COSTS["unusual"].weight * len(others)
        + ROUTE_COSTS["untaught"].weight * untaught
        + sum(move(here, there).cost for here, there in changes)
    )


@settings(max_examples=60)
@given(
    st.lists(st.lists(hands(fewest_fingers=1), min_size=1, max_size=3, unique=True), min_size=1, max_size=4),
    st.booleans(),
)
def test_no_other_way_through_a_short_song_is_cheaper(choices: list[list[Shape]], repeats: bool):
    symbols = ["C", "Dm", "G7", "Am"][: len(choices)]
    shapes = dict(zip(symbols, choices, strict=True))
    plan = plan_route(symbols, shapes=shapes, repeats=repeats)
    cheapest = min(song_cost(way, choices, repeats) for way in product(*choices))
    assert plan.cost == pytest.approx(cheapest)
    assert song_cost(plan.shapes, choices, repeats) == pytest.approx(cheapest)


@settings(max_examples=60)
@given(
    st.lists(st.sampled_from("CDGA"), min_size=1, max_size=9),
    st.lists(st.lists(hands(fewest_fingers=1), min_size=1, max_size=3, unique=True), min_size=4, max_size=4),
    st.booleans(),
    st.sampled_from([1 << 17, 9]),
)
def test_of_all_ways_to_finger_each_chord_of_a_song_once_the_cheapest_is_taken(
    song: list[str], choices: list[list[Shape]], repeats: bool, most_entries: int
):
    shapes = dict(zip("CDGA", choices, strict=True))
    names = list(dict.fromkeys(song))
    rows = [shapes[name] for name in song]
    ways = [dict(zip(names, way, strict=True)) for way in product(*(shapes[name] for name in names))]
    costs = [song_cost(tuple(way[name] for name in song), rows, repeats) for way in ways]
    with pytest.MonkeyPatch.context() as tangled:
        tangled.setattr(once, "MOST_ENTRIES", most_entries)
        plan = plan_route(song, shapes=shapes, repeats=repeats)
    assert len(set(zip(song, plan.shapes, strict=True))) == len(names)
    assert plan.cost == pytest.approx(song_cost(plan.shapes, rows, repeats))
    assert plan.saving >= -1e-9
    if most_entries > 9:
        assert plan.cost == pytest.approx(min(costs))


def test_a_song_of_many_chords_in_any_order_is_fingered_once_and_free_costs_no_more():
    rng = random.Random(5)
    song = rng.choices(["C", "Dm", "Em", "F", "G", "Am", "Bm7b5", "E7", "A7", "D7", "Fm", "Bb"], k=80)
    one, free = plan_route(song), plan_route(song, free=True)
    assert len(set(zip(song, one.shapes, strict=True))) == len(set(song))
    assert free.cost <= one.cost <= one.textbook_cost


@pytest.mark.parametrize("song", COMMON_SONGS)
@pytest.mark.parametrize("repeats", [False, True])
def test_a_plan_adds_up_and_never_costs_more_than_the_textbook(song: str, repeats: bool):
    symbols = song.split()
    plan = plan_route(symbols, repeats=repeats)
    assert plan.shapes == route(symbols, repeats=repeats)
    assert len(plan.changes) == len(symbols) - (not repeats)
    assert plan.saving >= 0
    holding = sum(
        {choice.shape: choice.cost for choice in candidates(symbol)}[shape]
        for symbol, shape in zip(symbols, plan.shapes, strict=True)
    )
    assert plan.cost == pytest.approx(holding + sum(change.move.cost for change in plan.changes))


@pytest.mark.parametrize("song", COMMON_SONGS)
def test_common_songs_stay_in_the_first_frets(song: str):
    # Common practice, no published source: songs of open chords are not played up the neck.
    assert max(fret or 0 for shape in route(song.split(), repeats=True) for fret in shape.frets) <= 5


def test_the_same_song_gives_the_same_route_every_time():
    song = ["C", "Am", "F", "G", "Em", "Dm7", "G7", "C"]
    assert len({route(song) for _ in range(3)}) == 1


def test_the_first_candidate_is_the_textbook_shape_and_there_are_no_more_than_asked_for():
    found = candidates("G", choices=5)
    assert len(found) == len({choice.shape for choice in found}) == 5
    assert plan_route(["G", "C"]).textbook[0] == found[0].shape


def test_without_a_usual_shape_the_easiest_by_itself_is_the_textbook_one():
    found = candidates("Am7")
    assert found[0].cost == min(choice.cost for choice in found)


def test_the_usual_shape_is_the_textbook_one_even_where_the_search_has_it_late_or_never():
    odd = hand("x 3 2 0 1 3", "0 3 2 0 1 4")
    first, *others = candidates("C", usual=odd)
    assert first.shape == odd
    assert odd not in {choice.shape for choice in others}
    assert plan_route(["C", "G"], usual={"C": odd}).textbook[0] == odd


def test_the_usual_fingers_stay_where_others_save_nothing():
    assert route(["G"], usual={"G": G_123}) == (G_123,)
    assert route(["G", "G"], usual={"G": G_123}) == (G_123, G_123)


def test_the_same_frets_with_other_fingers_are_another_candidate():
    fingers = {choice.shape.fingers for choice in candidates("G") if choice.shape.frets == G_123.frets}
    assert {G_123.fingers, G_234.fingers} <= fingers


def test_the_way_back_to_the_first_chord_counts_when_the_song_repeats():
    # With the index on the fifth string G is nearer to F, with the ring finger on the sixth nearer from C.
    shapes = {"G": (G_123, G_234), "F": (F,), "C": (C,)}
    through = route(["G", "F", "C"], shapes=shapes)
    again = plan_route(["G", "F", "C"], shapes=shapes, repeats=True)
    assert (again.changes[-1].here, again.changes[-1].there) == (2, 0)
    assert (through[0], again.shapes[0]) == (G_123, G_234)


def test_one_chord_that_repeats_has_no_change():
    plan = plan_route(["C"], repeats=True)
    assert len(plan.shapes) == 1
    assert plan.changes == ()


def test_each_change_tells_what_it_saves():
    plan = plan_route(["G", "C"], shapes={"G": (G_123, G_234), "C": (C,)})
    (change,) = plan.changes
    assert (change.move.here, change.textbook.here) == (G_234, G_123)
    assert change.saving == pytest.approx(move(G_123, C).cost - move(G_234, C).cost)


def test_frets_chosen_with_the_symbol_are_kept():
    shapes = route(["C", "G[320033]", "D"])
    assert shapes[1].frets == (3, 2, 0, 0, 3, 3)


def test_fingers_chosen_with_the_symbol_are_kept_even_where_others_were_cheaper():
    shapes = route(["C", "G[320003/210003]", "C"])
    assert shapes[1] == G_123


def test_chosen_frets_for_another_number_of_strings_are_refused():
    with pytest.raises(InputError, match="“G\\[0232\\]”: 4 frets are given for the 6 strings"):
        route(["C", "G[0232]"])


def test_chosen_frets_out_of_reach_are_refused():
    with pytest.raises(InputError, match="cannot be held by one hand"):
        route(["C[1.9.x.x.x.x]"])


def test_an_empty_song_is_refused():
    with pytest.raises(InputError, match="no chord"):
        route([])


def test_what_is_no_chord_is_refused():
    with pytest.raises(InputError, match="H7"):
        route(["C", "H7"])


def test_a_song_in_another_tuning_is_played_in_that_tuning():
    drop_d = Tuning((38, 45, 50, 55, 59, 64))
    shapes = route(["D", "G", "A"], drop_d)
    assert {shape.tuning for shape in shapes} == {drop_d}


def test_given_shapes_in_another_tuning_are_refused():
    with pytest.raises(InputError, match="different tunings"):
        route(["C", "G"], Tuning((38, 45, 50, 55, 59, 64)), shapes={"C": (C,)})


def test_a_song_that_stays_on_a_chord_stays_in_its_shape():
    assert len(set(route(["Am", "Am", "Am", "E"])[:3])) == 1


def test_chords_that_sound_alike_are_fingered_alike_whatever_they_are_called():
    plan = plan_route(("C#m", "A", "Dbm", "E"))
    assert plan.shapes[0] == plan.shapes[2]
    # One whose frets are named keeps them.
    named = plan_route(("C#m", "A", "Dbm[9.11.11.9.9.9]", "E"))
    assert named.shapes[2].frets == (9, 11, 11, 9, 9, 9)
    assert named.shapes[0] != named.shapes[2]
