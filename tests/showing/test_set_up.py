"""The pages of what is set up: today's values in their rows, and words that are read from two metres."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.practice.tapping_along import FootTrial, SoundLate, steadiness
from pedaltrainer.screen.view import Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.home import BACK, Leaf, Verb, Walk
from pedaltrainer.showing.home import set_up, tapping_along
from pedaltrainer.showing.home.set_up import SetUpFacts
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shipped import configs_folder, shape_book

USUAL = SetUpFacts(Sight(), "Robin", "E A D G B E", 0.4, "ask", True, False, True, 0.0)


def rows(leaf: Leaf) -> list[str]:
    return [row.words for row in leaf.rows]


def test_each_row_says_what_is_set_today():
    assert rows(set_up.set_up(USUAL)) == [
        "Sound: 40 %",
        "Answers: asked after each take",
        "Teach the pedal",
        "Ear: off",
        "Screen: 15.6 in, 2 m away",
        "Boxes while you play: yes",
        "Left-handed: no",
        "Tuning: E A D G B E",
        "Player: Robin",
        "Back",
    ]
    other = replace(USUAL, volume=0.0, answers="speak-up", boxes_in_take=False, left_handed=True)
    assert rows(set_up.set_up(other))[:7] == [
        "Sound: off",
        "Answers: press at a miss",
        "Teach the pedal",
        "Ear: off",
        "Screen: 15.6 in, 2 m away",
        "Boxes while you play: no",
        "Left-handed: yes",
    ]


def test_the_ways_to_answer_are_gone_round():
    for now, words, then in (
        ("ask", "Answers: asked after each take", "count"),
        ("count", "Answers: asked, misses counted", "speak-up"),
        ("speak-up", "Answers: press at a miss", "ask"),
    ):
        row = set_up.set_up(replace(USUAL, answers=now)).rows[1]
        assert (row.words, row.errand.value) == (words, f"answer_style {then}")


def test_a_thing_with_two_values_is_changed_where_it_stands_and_one_with_many_on_a_page_of_its_own():
    verbs = {row.words.partition(":")[0]: row.errand.verb for row in set_up.set_up(USUAL).rows}
    assert verbs["Left-handed"] is verbs["Answers"] is verbs["Boxes while you play"] is Verb.DO
    assert verbs["Sound"] is verbs["Tuning"] is verbs["Player"] is Verb.TURN
    assert verbs["Teach the pedal"] is Verb.TEACH


def test_the_value_of_today_is_marked_where_there_are_many():
    near = Sight(screen_inches=24.0, distance_m=0.7)
    assert rows(set_up.screen(near))[set_up.screen(near).marked] == "24 in  (61 cm)"
    assert rows(set_up.distance(near))[set_up.distance(near).marked] == "0.6 m"
    dropped = set_up.tuning(replace(USUAL, tuning="D A D G B E"))
    assert rows(dropped)[dropped.marked].startswith("D A D G B E")
    own = set_up.tuning(replace(USUAL, tuning="C G D G B E"))
    assert rows(own)[own.marked] == "C G D G B E: as it is"


@pytest.mark.parametrize("notes", [notes for notes, _ in set_up.TUNINGS])
def test_every_tuning_that_is_offered_is_one(notes):
    assert parse_tuning(notes).name == notes


def test_somebody_new_gets_a_name_that_nobody_has():
    leaf = set_up.players("Robin", ["Robin", "player 2", "Kim"])
    assert rows(leaf) == [
        "Robin plays now",
        "player 2",
        "Kim",
        "Somebody new: player 3",
        "Somebody new, by name",
        "Back",
    ]
    assert rows(leaf)[leaf.marked] == "player 2", "the likeliest is who played last of the others"
    assert rows(set_up.players("Robin", []))[set_up.players("Robin", []).marked] == "Somebody new: player 2"


def test_a_name_begins_with_a_capital_and_goes_on_in_small_letters():
    first = set_up.letters("VWXYZ -", "")
    assert [row.errand.value for row in first.rows[:-1]] == list("VWXYZ")
    later = set_up.letters("VWXYZ -", "An")
    assert [row.errand.value for row in later.rows[:-1]] == list("vwxyz -")
    assert [row.errand.value for row in set_up.letters("ABCDEFG", "An ").rows[:2]] == ["A", "B"]
    assert rows(set_up.name(""))[0] == "A to G"
    assert rows(set_up.name("An"))[0] == "Done: An"
    assert rows(set_up.name("x" * set_up.LONGEST_NAME)) == [
        f"Done: {'x' * set_up.LONGEST_NAME}",
        "Take the last letter away",
        "Back",
    ]


def test_the_page_that_turns_the_ear_on_says_what_becomes_of_what_it_hears():
    assert set_up.ear(USUAL).lines == ("No sound is kept, and nothing leaves this computer.",)


BEGAN = datetime(2026, 11, 26, 18, tzinfo=UTC)
STEADY = steadiness([-0.03 + 0.02 * (number % 3) for number in range(13)])
LEAVES = [
    set_up.set_up(replace(USUAL, sight=Sight(43.0, 2.5), tuning="Eb Ab Db Gb Bb Eb")),
    set_up.ear(replace(USUAL, ear="answers", ear_input="MIDI guitar: a converter of six strings")),
    set_up.ear_inputs(
        "Shed", ["Built-in Audio Analog Stereo", "USB"], ["A converter of six strings MIDI 1", "Foot"]
    ),
    set_up.sound(USUAL),
    set_up.sound_delay(replace(USUAL, sound_delay_ms=120.0)),
    set_up.sound_delay(replace(USUAL, sound_heard_ms=1000.0)),
    set_up.device(replace(USUAL, sound_device="Headphones of the long name, stereo")),
    set_up.devices("Lamp", ["Lamp", "Built-in Audio Analog Stereo", "Shed"]),
    tapping_along.sound_tapped("Lamp", SoundLate(0.183, 0.05, 13), 0.021),
    tapping_along.sound_tapped("Lamp", None, 0.021),
    tapping_along.foot([FootTrial(BEGAN, STEADY)] * 9, is_broken=True),
    set_up.screen(Sight()),
    set_up.distance(Sight()),
    set_up.tuning(USUAL),
    set_up.players("Robin", ["Kim", "player 2"]),
    set_up.name("Robin"),
    set_up.letters("VWXYZ -", "Robin"),
]


@pytest.mark.parametrize("leaf", LEAVES, ids=lambda leaf: leaf.title)
@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
def test_every_page_is_read_from_two_metres_and_has_a_way_back(leaf, size):
    around = Surroundings(shape_book(configs_folder()))
    view = walk_view(Walk(leaf=leaf, marker=leaf.marked), 0.0, around)
    assert layout_of(view, size, Sight()).shortfalls == ()
    assert leaf.rows[-1].errand == BACK
