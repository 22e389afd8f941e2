"""Which fingers hold given frets: what a player with the book on the stand would say."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import HIGHEST_FRET, STANDARD_TUNING
from pedaltrainer.neck.costs import FINGERING_COSTS
from pedaltrainer.neck.fingering import Barre, costs_of, fingerings
from pedaltrainer.neck.geometry import NeckSize
from tests.neck.open_shapes import read_rows

CAPO_5 = replace(STANDARD_TUNING, capo=5)


def frets_of(text: str) -> tuple[int | None, ...]:
    return tuple(None if word == "x" else int(word) for word in text.split())


def choices(text: str) -> list[str]:
    return ["".join(map(str, held.fingers)) for held in fingerings(frets_of(text))]


def best_cost(text: str) -> float:
    return fingerings(frets_of(text))[0].cost


# What any chord book for beginners prints: common practice, no published source.
@pytest.mark.parametrize(
    ("chord", "frets", "fingers"),
    [
        ("C", "x 3 2 0 1 0", "032010"),
        ("D", "x x 0 2 3 2", "000132"),
        ("Dm", "x x 0 2 3 1", "000231"),
        ("D7", "x x 0 2 1 2", "000213"),
        ("E", "0 2 2 1 0 0", "023100"),
        ("Em", "0 2 2 0 0 0", "023000"),
        ("A", "x 0 2 2 2 0", "001230"),
        ("Am", "x 0 2 2 1 0", "002310"),
        ("B7", "x 2 1 2 0 2", "021304"),
        ("C7", "x 3 2 3 1 0", "032410"),
        ("G7", "3 2 0 0 0 1", "320001"),
        ("Fmaj7", "x x 3 2 1 0", "003210"),
        ("F, four strings", "x x 3 2 1 1", "003211"),
        ("F", "1 3 3 2 1 1", "134211"),
        ("Bm", "x 2 4 4 3 2", "013421"),
        ("C9", "x 3 2 3 3 x", "021340"),
        ("Dm7b5", "x 5 6 5 6 x", "013240"),
        ("Gm7 on inner strings", "3 x 3 3 3 x", "102340"),
    ],
)
def test_the_first_choice_is_what_the_books_print(chord, frets, fingers):
    assert choices(frets)[0] == fingers, chord


def test_both_usual_fingerings_of_open_g_are_at_the_top():
    # Common practice, no published source.
    assert set(choices("3 2 0 0 0 3")[:3]) >= {"210003", "320004"}


def test_open_a_may_be_held_with_part_of_a_barre():
    # Common practice, no published source.
    assert "001120" in choices("x 0 2 2 2 0")[:4]
    assert "001110" in choices("x 0 2 2 2 0")


def test_open_a_may_be_held_with_the_middle_finger_behind_the_index():
    # Common practice, no published source: 2-1-3 leaves more room in the fret.
    assert "002130" in choices("x 0 2 2 2 0")[1:]


def test_the_thumb_comes_after_what_the_fingers_can_do():
    f_barre = choices("1 3 3 2 1 1")
    assert not f_barre[0].startswith("5")
    assert "534211" in f_barre
    assert not any("5" in held for held in choices("x x 0 2 3 2") + choices("x 3 2 0 1 0"))


def test_the_thumb_does_not_reach_over_seven_strings():
    assert not any("5" in held for held in choices("1 3 3 2 1 1 x"))


def test_seven_strings_are_held_like_six_with_one_more_not_played():
    assert choices("x x 3 2 0 1 0")[0] == "0" + choices("x 3 2 0 1 0")[0]


def test_four_strings_are_held_too():
    assert choices("0 0 0 3")[0] == "0001"
    assert choices("2 0 1 0")[0] == "2010"


def test_nothing_pressed_is_held_by_no_finger():
    (held,) = fingerings((None, 0, 0, 0, None, None))
    assert held.fingers == (0,) * 6
    assert held.barres == ()


@pytest.mark.parametrize(
    "frets", ["1 2 3 4 5 6", "1 x 5 x x x", "x 1 5 5 5 x", "2 x 0 x x 12", "5 4 3 2 1 1"]
)
def test_what_no_hand_can_hold_has_no_fingering(frets):
    assert choices(frets) == []


def test_four_frets_apart_can_be_held_up_the_neck_and_not_at_the_nut():
    assert choices("x 1 5 x x x") == []
    assert choices("x 9 13 x x x") != []


def test_a_capo_shortens_the_frets_and_so_the_stretch():
    assert fingerings(frets_of("x 1 5 x x x"), CAPO_5) != ()


def test_a_shorter_neck_lets_the_fingers_reach_further():
    short = NeckSize(scale_mm=430.0)
    assert fingerings(frets_of("x 1 5 x x x"), neck=short) != ()


def test_the_f_barre_is_one_finger_over_six_strings():
    assert fingerings(frets_of("1 3 3 2 1 1"))[0].barres == (Barre(1, 1, 0, 5),)


def test_a_full_barre_costs_more_than_an_open_chord():
    dearest_open = max(map(best_cost, ["x 3 2 0 1 0", "3 2 0 0 0 3", "x x 0 2 3 2", "0 2 2 1 0 0"]))
    assert best_cost("1 3 3 2 1 1") > 2 * dearest_open
    assert best_cost("x 2 4 4 3 2") > 1.5 * dearest_open


def test_the_same_stretch_costs_less_up_the_neck():
    assert best_cost("x 2 4 x 5 x") > best_cost("x 9 11 x 12 x")


def test_a_cost_can_be_taken_apart():
    frets, fingers = frets_of("1 3 3 2 1 1"), (1, 3, 4, 2, 1, 1)
    bill = costs_of(frets, fingers)
    assert bill is not None
    assert sum(bill.values()) == pytest.approx(best_cost("1 3 3 2 1 1"))
    assert {"index barre", "more strings than fingers"} <= bill.keys()
    assert costs_of(frets, (1, 2, 3, 4, 1, 1)) is None


def test_every_cost_has_a_reason_and_none_rewards():
    for name, cost in FINGERING_COSTS.items():
        assert cost.weight > 0, name
        assert cost.reason, name


def test_every_cost_is_met_on_the_open_data():
    met: set[str] = set()
    for row in read_rows():
        for held in fingerings(row.frets):
            met |= (costs_of(row.frets, held.fingers) or {}).keys()
    assert met == FINGERING_COSTS.keys()


@pytest.mark.parametrize(
    ("frets", "complaint"),
    [
        ((0, 0, 0), r"A list of 3 frets will not do; give one for each of 4 to 8 strings\."),
        ((0,) * 9, r"A list of 9 frets will not do"),
        ((0, -1, 0, 0), r"There is no fret -1 here; give a whole number from 0 to 24\."),
        ((0, 0, 0, 25), r"There is no fret 25 here"),
        ((0, 0, 2.5, 0), r"There is no fret 2\.5 here"),
        ((0, "2", 0, 0), r"There is no fret '2' here"),
        ((0, True, 0, 0), r"There is no fret True here"),
    ],
)
def test_what_is_no_list_of_frets_is_refused_with_the_mend(frets, complaint):
    with pytest.raises(InputError, match=complaint):
        fingerings(frets)


def test_a_capo_leaves_fewer_frets():
    with pytest.raises(InputError, match="There is no fret 20 here; give a whole number from 0 to 19"):
        fingerings((0, 0, 0, 20), CAPO_5)


@st.composite
def grips(draw: st.DrawFn) -> tuple[int | None, ...]:
    base = draw(st.integers(0, 14))
    string = st.sampled_from([None, 0, *range(base + 1, base + 5)])
    return tuple(draw(st.lists(string, min_size=4, max_size=8)))


@given(grips())
def test_every_pressed_string_has_a_finger_and_no_other(frets):
    for held in fingerings(frets):
        assert [finger > 0 for finger in held.fingers] == [bool(fret) for fret in frets]


@given(grips())
def test_a_finger_is_at_one_fret(frets):
    for held in fingerings(frets):
        places = {(finger, fret) for finger, fret in zip(held.fingers, frets, strict=True) if finger}
        assert len(places) == len({finger for finger, _ in places})


@given(grips())
def test_fingers_are_in_the_order_of_the_hand(frets):
    for held in fingerings(frets):
        pressed = [
            (finger, fret, string)
            for string, (finger, fret) in enumerate(zip(held.fingers, frets, strict=True))
            if finger in (1, 2, 3, 4)
        ]
        for (low, low_fret, low_string), (high, high_fret, high_string) in combinations(sorted(pressed), 2):
            assert low_fret <= high_fret
            if low < high and low_fret == high_fret and (low, high) != (1, 2):
                assert low_string < high_string


@given(grips())
def test_a_barre_lies_over_nothing_open_and_nothing_lower(frets):
    for held in fingerings(frets):
        for barre in held.barres:
            under = frets[barre.first_string : barre.last_string + 1]
            assert all(fret is None or fret >= barre.fret for fret in under)


@given(grips())
def test_a_finger_on_two_strings_is_a_barre_from_the_first_to_the_last(frets):
    for held in fingerings(frets):
        strings = {
            finger: [string for string, other in enumerate(held.fingers) if other == finger]
            for finger in set(held.fingers) - {0}
        }
        expected = {
            Barre(finger, frets[on[0]], on[0], on[-1]) for finger, on in strings.items() if len(on) > 1
        }
        assert set(held.barres) == expected


@given(grips(), st.integers(0, 5))
def test_the_best_come_first_and_a_limit_keeps_them(frets, limit):
    held = fingerings(frets)
    costs = [one.cost for one in held]
    assert costs == sorted(costs)
    assert all(cost >= 0 for cost in costs)
    assert len({one.fingers for one in held}) == len(held)
    assert fingerings(frets, limit=limit) == held[:limit]


@given(grips(), st.integers(1, 7))
def test_without_open_strings_a_capo_is_the_same_as_higher_frets(frets, capo):
    closed = tuple(fret or None for fret in frets)
    higher = tuple(fret and fret + capo for fret in closed)
    assume(max(fret or 0 for fret in higher) <= HIGHEST_FRET)
    with_capo = fingerings(closed, replace(STANDARD_TUNING, capo=capo))
    assert {held.fingers: pytest.approx(held.cost) for held in with_capo} == {
        held.fingers: held.cost for held in fingerings(higher)
    }


def test_a_hand_is_not_its_own_mirror_image():
    # In one fret the earlier finger is on the lower string, whichever way round the rest of the chord is.
    assert choices("0 2 2 1 0 0")[0] == "023100"
    assert choices("0 0 1 2 2 0")[0] == "001230"
