"""Misses that are counted: after a miss one more press says that there was more than one."""

from __future__ import annotations

import pytest

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import MORE
from pedaltrainer.session.effects import CancelTake
from pedaltrainer.session.replay import (
    event_from_json,
    event_to_json,
    replay,
    settings_from_json,
    settings_to_json,
)
from pedaltrainer.session.state import Phase
from pedaltrainer.session.transitions import NO, STOP, YES, meaning
from pedaltrainer.showing.words import ack_words, action_words
from tests.session.playing import Playing, settings


def counting(**more: object) -> Playing:
    return Playing(settings("Am E", counts_misses=True, **more))


def misses(playing: Playing) -> list[int | None]:
    return [answered.take.misses for answered in playing.state.answers]


def test_a_miss_that_nothing_follows_was_one():
    playing = counting()
    playing.answer(NO)
    assert playing.state.phase is Phase.BREATH
    assert ack_words(playing.state.ack).startswith("Missed once at ")
    playing.begin_take()
    assert misses(playing) == [1]


@pytest.mark.parametrize("control", [YES, NO])
def test_one_more_press_in_the_breath_says_more_than_one_and_is_shown_to_do_so(control: Control):
    playing = counting()
    playing.answer(NO)
    assert action_words(playing.state, meaning(playing.state, control)) == "more than one"
    playing.wait(0.3)
    playing.give(control)
    assert misses(playing) == [MORE]
    assert ack_words(playing.state.ack).startswith("Missed more than once at ")
    assert playing.outcomes == ["fail", "fail"]
    assert [type(effect) for effect in playing.effects].count(CancelTake) == 1
    # A press after that goes on, as ever.
    assert action_words(playing.state, meaning(playing.state, YES)) == "go now"


def test_a_clean_take_is_followed_by_a_breath_as_ever():
    playing = counting()
    playing.answer(YES)
    assert action_words(playing.state, meaning(playing.state, YES)) == "go now"
    assert misses(playing) == [None]


def test_a_press_that_began_in_the_breath_counts_though_the_next_take_is_counted_in_by_then():
    playing = counting()
    playing.answer(NO)
    playing.until(playing.state.due_s - 0.01)
    pressed_s = playing.now_s
    playing.press()
    playing.wait(0.3)
    assert playing.state.phase is Phase.COUNT_IN
    playing.give(YES, pressed_ago_s=playing.now_s - pressed_s)
    assert playing.state.phase is Phase.BREATH
    assert misses(playing) == [MORE]


def test_the_last_answer_of_a_drill_can_be_counted_too_and_then_it_is_done():
    for presses in ((), (YES,)):
        playing = counting(minutes=0.2)
        playing.answer(NO)
        while playing.state.phase is Phase.BREATH and playing.state.run is None and not playing.state.time_up:
            playing.answer(NO)
        assert playing.state.phase is Phase.BREATH
        for control in presses:
            playing.give(control)
        playing.wait(2.0)
        assert playing.state.phase is Phase.FINISHED
        assert misses(playing)[-1] == (MORE if presses else 1)
        assert len(playing.state.results) == 1


def test_who_breaks_off_is_not_asked_how_often():
    playing = counting()
    playing.begin_take()
    playing.wait(1.0)
    playing.give(NO)
    assert misses(playing) == [None]
    assert action_words(playing.state, meaning(playing.state, YES)) == "go now"


def test_with_the_last_chord_ringing_a_miss_is_counted_as_at_the_question():
    playing = counting()
    run = playing.begin_take()
    playing.until(run.last_landing_s + 0.05)
    playing.give(NO)
    assert misses(playing) == [1]
    playing.wait(0.3)
    playing.give(YES)
    assert misses(playing) == [MORE]


def test_stop_opens_the_menu_in_that_breath_too_and_taking_back_takes_all_of_it_back():
    playing = counting()
    playing.answer(NO)
    playing.give(YES)
    playing.give(STOP)
    assert playing.state.phase is Phase.PAUSED
    playing.give(Control.UNDO)
    assert playing.state.phase is Phase.ASKING
    assert misses(playing) == []


def test_a_session_that_counts_replays_from_its_inputs():
    playing = counting()
    for control in (NO, YES, NO):
        playing.answer(control)
        if control is NO:
            playing.give(YES)
    events = [event_from_json(event_to_json(event)) for event in playing.events]
    *_, (state, _) = replay(settings_from_json(settings_to_json(playing.state.settings)), events)
    assert state.answers == playing.state.answers
