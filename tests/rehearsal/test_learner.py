"""A made-up player whose hands learn."""

from __future__ import annotations

import pytest

from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.rehearsal.learner import RATIO, Learner
from pedaltrainer.songs.shipped import shape_book

PLAYER = Learner(shape_book(), seed=1)


def bpm(words: str, player: Learner = PLAYER) -> float:
    return player.skill_bpm(parse_drill(words))


def takes(words: str, number: int, outcome: Outcome = Outcome.PASS_) -> list[Take]:
    return [Take(parse_drill(words), 60, 8, outcome)] * number


def test_the_same_seed_is_the_same_player_and_another_seed_another():
    assert bpm("C F") == bpm("C F", Learner(shape_book(), seed=1))
    assert bpm("C F") != bpm("C F", Learner(shape_book(), seed=2))


@pytest.mark.parametrize("words", ["C F", "G D", "Em C", "Bm A"])
def test_a_change_is_no_faster_than_five_sixths_of_its_slower_shape(words):
    assert bpm(words) <= RATIO * min(bpm(chord) for chord in words.split()) + 1e-9


def test_a_barre_is_landed_more_slowly_than_open_shapes():
    assert bpm("F") < min(bpm(chord) for chord in ("C", "G", "D", "Am", "Em"))


def test_without_the_travel_a_change_is_at_least_as_fast():
    assert bpm("level F Bm") >= bpm("F Bm")


def test_an_instant_change_is_clean_at_half_the_tempo():
    # The same time in the air is twice the share of a beat at half the tempo.
    assert bpm("C F instant") == pytest.approx(bpm("C F") / 2)


def test_practice_makes_it_faster_and_the_first_takes_teach_most():
    first = bpm("C F", PLAYER.after(takes("C F", 20))) - bpm("C F")
    later = bpm("C F", PLAYER.after(takes("C F", 220))) - bpm("C F", PLAYER.after(takes("C F", 200)))
    assert first > later > 0


def test_landing_one_shape_alone_helps_every_change_that_it_holds_back():
    practised = PLAYER.after(takes("F", 100))
    assert bpm("F", practised) > bpm("F")
    assert bpm("C", practised) == bpm("C")


def test_a_void_take_teaches_nothing_and_an_early_miss_little():
    assert PLAYER.after(takes("F", 5, Outcome.VOID)).landings == {"F": 0}
    missed = Take(parse_drill("F"), 60, 8, Outcome.FAIL, first_miss=2)
    assert PLAYER.after([missed]).landings == {"F": 2}


def test_a_passage_practises_its_shapes_and_its_ways_in_their_shares():
    passage: Drill = parse_drill("passage C:2 G Am F")
    landings = PLAYER.after([Take(passage, 60, 8, Outcome.PASS_)]).landings
    assert landings == {"C": 2, "G": 2, "Am": 2, "F": 2, "C G": 2, "Am G": 2, "Am F": 2, "C F": 2}
