"""What holds a change back: a shape, or the travel."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice.coach.limits import NAMED, Ratio, Which, limit_of, ratio_of
from pedaltrainer.practice.drill import parse_drill
from tests.practice.knowing import evidence, known

CHANGE = parse_drill("C F")


def test_a_change_at_five_sixths_of_a_slow_shape_is_held_back_by_that_shape():
    # Common practice, no published source: 5/6 of 72 is 60.
    limit = limit_of(CHANGE, known(C=110, F=72, C_F=60))
    assert limit.which is Which.SECOND
    assert limit_of(CHANGE, known(C=72, F=110, C_F=60)).which is Which.FIRST


def test_a_change_much_slower_than_both_shapes_is_held_back_by_the_travel():
    limit = limit_of(CHANGE, known(C=110, F=100, C_F=60))
    assert limit.which is Which.TRAVEL
    assert limit.chance > 0.95


def test_two_shapes_alike_are_not_told_apart():
    limit = limit_of(CHANGE, known(C=72, F=72, C_F=60))
    assert limit.which is Which.UNSURE
    assert limit.chances[Which.FIRST] == pytest.approx(limit.chances[Which.SECOND], rel=1e-6)


def test_nothing_is_named_before_all_three_were_measured():
    for some in (known(), known(C_F=60), known(C=110, F=72), known(C=110, C_F=60)):
        limit = limit_of(CHANGE, some)
        assert limit.which is Which.UNSURE
        assert limit.measure_first is not None
        assert limit.seconds is not None


def test_the_shape_that_was_never_landed_alone_is_measured_first():
    limit = limit_of(CHANGE, known(C=110, C_F=60))
    assert limit.measure_first == parse_drill("F")
    assert (limit.which, limit.seconds) == (Which.UNSURE, 60)


def test_a_shape_known_only_roughly_is_measured_for_a_shorter_time():
    limit = limit_of(CHANGE, known(evidence("F", 75, sd=0.2), C=110, C_F=60))
    assert limit.measure_first == parse_drill("F")
    assert limit.seconds == 40


def test_a_limit_that_is_settled_asks_for_no_more_measuring():
    limit = limit_of(CHANGE, known(C=110, F=100, C_F=50))
    assert limit.measure_first is None
    assert limit.seconds is None
    assert limit.which is Which.TRAVEL


def test_the_wider_the_intervals_the_less_is_claimed():
    chances = [
        limit_of(CHANGE, known(*(evidence(w, b, sd) for w, b in (("C", 100), ("F", 95), ("C F", 65))))).chance
        for sd in (0.02, 0.06, 0.12)
    ]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > chances[-1]


def test_a_barred_shape_is_judged_by_its_figures_like_any_other():
    # Common practice, no published source: alone a barred shape is often no slower than an open one.
    barred = limit_of(parse_drill("C F"), known(C=110, F=72, C_F=60))
    open_one = limit_of(parse_drill("C E"), known(C=110, E=72, C_E=60))
    assert dict(barred.chances) == dict(open_one.chances)


def test_an_instant_change_is_judged_by_its_air_time():
    # At 60 BPM it leaves as long in the air as a lifted one at 120: both shapes are far ahead of that.
    limit = limit_of(parse_drill("C F instant"), known(evidence("C F instant", 60), C=145, F=220))
    assert limit.which is Which.FIRST
    assert limit.measure_first != parse_drill("C instant")


def test_only_a_change_has_a_limit():
    with pytest.raises(ValueError, match="no change"):
        limit_of(parse_drill("F"), known(F=72))


@settings(max_examples=40)
@given(st.floats(30, 250), st.floats(30, 250), st.floats(30, 250))
def test_the_chances_are_of_one_thing_and_do_not_mind_which_chord_is_named_first(first, second, change):
    facts = known(evidence("C", first), evidence("F", second), evidence("C F", change))
    one, other = limit_of(CHANGE, facts), limit_of(parse_drill("F C"), facts)
    assert sum(one.chances.values()) == pytest.approx(1)
    assert set(one.chances) == set(NAMED)
    assert one.chances[Which.FIRST] == pytest.approx(other.chances[Which.SECOND], abs=1e-9)
    assert one.chances[Which.TRAVEL] == pytest.approx(other.chances[Which.TRAVEL], abs=1e-9)


# --- the player's own ratio ---------------------------------------------------------------


def ratio_from(changes: int, share: float) -> Ratio:
    names = ["C", "G", "D", "A", "E", "F", "Am", "Em"][: changes + 1]
    drills = [parse_drill(f"{names[0]} {name}") for name in names[1:]]
    shapes = [evidence(names[0], 70), *(evidence(name, 120) for name in names[1:])]
    return ratio_of(drills, known(*shapes, *(evidence(drill.words, 70 * share) for drill in drills)))


def test_without_a_log_the_ratio_is_the_rule_of_thumb():
    ratio = ratio_of([CHANGE], known(C_F=60))
    assert ratio.value == pytest.approx(5 / 6, rel=0.01)
    assert ratio.changes == 0


def test_a_players_own_ratio_is_learnt_and_shrunk_to_the_rule_of_thumb():
    few, many = ratio_from(1, 0.95), ratio_from(7, 0.95)
    assert 5 / 6 < few.value < many.value < 0.95
    assert many.sd < few.sd
    assert many.changes == 7


def test_travels_do_not_pass_for_a_low_ratio():
    # Half as fast as the slower shape is no ratio; it is the travel.
    assert ratio_from(1, 0.5).value > 0.80
    assert ratio_from(7, 0.5).value > 0.70


def test_a_player_who_loses_little_in_a_change_is_told_of_the_travel_sooner():
    facts = known(C=110, F=80, C_F=64)
    usual, own = limit_of(CHANGE, facts), limit_of(CHANGE, facts, Ratio(0.95, 0.02, 8))
    assert own.chances[Which.TRAVEL] > usual.chances[Which.TRAVEL] + 0.2
