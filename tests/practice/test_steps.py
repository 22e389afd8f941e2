"""Drills that get harder by steps: two clean takes in a row lead on, two missed ones back."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.kinds import KINDS
from pedaltrainer.practice.steps import step_after, step_words
from pedaltrainer.practice.take import Outcome, Take

EASE = parse_drill("ease F")


def takes(outcomes: str, drill=EASE) -> list[Take]:
    """ "c" a clean one, "m" a missed one, "v" one that was broken off."""
    meant = {"c": Outcome.PASS_, "m": Outcome.FAIL, "v": Outcome.VOID}
    return [Take(drill, 60, 4, meant[one]) for one in outcomes]


def fret(outcomes: str, start: int = 0) -> str:
    return step_words(EASE.row, step_after(takes(outcomes), EASE.row, start))


def test_a_barre_is_eased_in_from_the_eighth_fret_to_the_first():
    # Two clean takes a fret, seven frets to go.
    assert [fret("c" * clean) for clean in (0, 1, 2, 3, 4, 14, 40)] == [
        "fret 8", "fret 8", "fret 7", "fret 7", "fret 6", "fret 1", "fret 1",
    ]  # fmt: skip


def test_a_miss_between_two_clean_takes_starts_the_count_again():
    assert fret("cmc") == "fret 8"
    assert fret("cmcc") == "fret 7"


def test_two_misses_in_a_row_lead_a_step_back_and_never_before_the_first():
    assert fret("ccccmm") == "fret 7"
    assert fret("mmmm") == "fret 8"


def test_a_take_that_was_broken_off_counts_neither_way():
    assert fret("cvc") == "fret 7"


def test_a_session_goes_on_where_the_last_one_was():
    assert fret("", start=3) == "fret 5"
    assert fret("cc", start=3) == "fret 4"


@given(st.text("cmv", max_size=60), st.integers(0, 7))
def test_takes_in_two_sessions_come_to_the_same_where_a_step_was_just_taken(outcomes, start):
    first = step_after(takes(outcomes), EASE.row, start)
    assert 0 <= first <= 7
    assert step_after(takes("cc"), EASE.row, first) == min(first + 1, 7)


def test_a_drill_without_steps_stays_where_it_is():
    drill = parse_drill("Am E")
    assert step_after(takes("cccc", drill), drill.row) == 0
    assert step_words(drill.row, 0) == ""


def test_the_rest_of_the_fingers_comes_sooner_with_each_step_until_all_come_at_once():
    later = KINDS[parse_drill("lead C G").kind].steps
    assert later == ("a beat later", "half a beat later", "a quarter beat later", "with it")
