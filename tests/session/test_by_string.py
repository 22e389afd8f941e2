"""A take played string by string: a press names the string that was just picked, and the take goes on."""

from __future__ import annotations

import pytest

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle, Outcome
from pedaltrainer.session.effects import CancelTake, NoteTake
from pedaltrainer.session.events import EarHeard, LandingTold
from pedaltrainer.session.replay import (
    event_from_json,
    event_to_json,
    replay,
    settings_from_json,
    settings_to_json,
)
from pedaltrainer.session.state import AckKind, Phase
from pedaltrainer.showing.heard import heard_words
from tests.session.playing import Playing, settings

YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE
STRINGS = ("low E", "A", "D", "G", "B", "high E")
REACTION_S = 0.3


def ring(style: AnswerStyle = AnswerStyle.ASK, **more: object) -> Playing:
    return Playing(settings("ring F", style=style, strings=(STRINGS,), **more))


def name(play: Playing, *beats: int, kind: Control = YES) -> None:
    """Press so soon after a pick as a foot does; the gesture is known a moment later."""
    run = play.state.run
    for beat in beats:
        play.until(run.beat_s(beat) + REACTION_S)
        play.press(known_within_s=0.4)
        play.wait(0.35)
        play.give(kind, pressed_ago_s=0.35)


def noted(play: Playing) -> list[str]:
    return [effect.note for effect in play.effects if isinstance(effect, NoteTake)]


@pytest.mark.parametrize("style", AnswerStyle)
def test_a_press_names_the_string_that_was_picked_and_the_take_goes_on_to_its_end(style):
    play = ring(style)
    run = play.begin_take()
    name(play, 2)
    assert play.state.ack.kind is AckKind.STRING
    assert play.state.ack.name == "D"
    name(play, 4)
    assert play.state.phase is Phase.TAKE
    play.until(run.end_s + 0.1)
    assert play.state.phase is Phase.BREATH
    (record,) = play.records
    assert record.answered.take.outcome is Outcome.FAIL
    assert record.answered.silent == ("D", "B")
    assert noted(play) == ["D", "B"]


def test_a_string_that_is_silent_in_both_rounds_is_named_once():
    play = ring(AnswerStyle.SPEAK_UP)
    run = play.begin_take()
    name(play, 2, 10)
    play.until(run.end_s + 0.1)
    assert noted(play) == ["D"]


def test_a_press_after_the_last_string_is_about_the_strum():
    play = ring()
    run = play.begin_take()
    name(play, 6)
    play.until(run.end_s + 0.1)
    assert noted(play) == ["strum"]


def test_a_double_tap_names_a_string_like_a_tap():
    play = ring()
    play.begin_take()
    name(play, 3, kind=NO)
    assert play.state.phase is Phase.TAKE
    assert play.state.ack.name == "G"


def test_where_no_string_was_named_the_take_is_asked_about_as_ever():
    play = ring()
    play.play_take()
    assert play.state.phase is Phase.ASKING
    play.wait(0.5)
    play.give(YES)
    assert play.outcomes == ["pass"]
    assert noted(play) == []


def test_and_in_silence_it_passes_where_the_foot_speaks_up():
    play = ring(AnswerStyle.SPEAK_UP)
    play.play_take()
    assert play.outcomes == ["pass"]


def test_a_take_that_is_stopped_is_no_take_and_leaves_no_strings():
    play = ring()
    play.begin_take()
    name(play, 2)
    play.wait(0.1)
    play.give(STOP)
    assert play.outcomes == ["void"]
    assert noted(play) == []


def test_a_gesture_that_is_known_only_after_the_take_asks_for_nothing():
    play = ring()
    run = play.begin_take()
    play.until(run.beat_s(15) + 0.45)
    play.press(known_within_s=0.4)
    play.wait(0.35)
    assert play.state.phase is Phase.BREATH
    play.give(YES, pressed_ago_s=0.35)
    assert play.state.phase is Phase.BREATH
    assert play.outcomes == ["fail"]
    assert noted(play) == ["strum"]


def test_an_answer_taken_back_takes_its_strings_with_it():
    play = ring()
    run = play.begin_take()
    name(play, 2)
    play.until(run.end_s + 0.1)
    play.give(Control.UNDO)
    assert any(isinstance(effect, CancelTake) for effect in play.effects)
    assert play.state.phase is Phase.ASKING
    play.wait(0.3)
    play.give(YES)
    assert play.outcomes == ["fail", "pass"]
    assert play.records[-1].answered.silent == ()


def test_the_tempo_stays_whatever_is_missed():
    play = ring(AnswerStyle.SPEAK_UP)
    for _ in range(4):
        run = play.begin_take()
        name(play, 1)
        play.until(run.end_s + 0.1)
    assert {run.tempo_bpm for run in play.runs} == {60}


def test_what_the_drill_came_to_tells_how_often_each_string_was_silent():
    play = ring(AnswerStyle.SPEAK_UP)
    for beats in ((1, 2), (2,), ()):
        run = play.begin_take()
        name(play, *beats)
        play.until(run.end_s + 1.0)
    play.finish()
    (found,) = play.state.all_results
    assert found.silent == {"A": 1, "D": 2}
    assert found.takes == 3


def test_it_is_told_again_from_its_settings_and_events():
    play = ring()
    run = play.begin_take()
    name(play, 2, 4)
    play.until(run.end_s + 0.1)
    kept = settings_from_json(settings_to_json(play.state.settings))
    *_, (again, _) = replay(kept, (event_from_json(event_to_json(event)) for event in play.events))
    assert again == play.state


# --- with the ear ----------------------------------------------------------------------------


def hears(play: Playing, *holds: tuple[str, ...], **more: object) -> EarHeard:
    """What the ear makes of the take that is on: the strings that it heard silent, hold by hold."""
    landings = tuple(LandingTold("dead" if silent else "ok", None, silent, bool(silent)) for silent in holds)
    told = {"guard": True, "has_reference": True, "clearness_db": 40.0, "take": "missed"} | more
    assert play.state.last_run is not None
    return EarHeard(play.now_s, play.state.last_run.serial, landings=landings, **told)  # type: ignore[arg-type]


def listening(judge: bool = False, style: AnswerStyle = AnswerStyle.ASK) -> Playing:
    play = ring(style, ear=True, ear_answers=judge)
    play.give(Control.NEXT)
    return play


def test_a_take_that_the_foot_calls_missed_has_the_strings_that_the_ear_heard_silent():
    play = listening()
    run = play.begin_take()
    play.until(run.end_s - 0.5)
    play.happen(hears(play, ("B",), ("D", "B")))
    assert play.state.phase is Phase.TAKE
    play.until(run.end_s + 0.1)
    assert play.state.phase is Phase.ASKING
    assert heard_words(play.state.heard) == "Landing 1: B silent (1 of 2)"
    play.wait(0.4)
    play.give(NO)
    assert play.records[-1].answered.silent == ("B", "D")
    assert noted(play) == ["B", "D"]


def test_a_foot_that_calls_it_clean_is_believed():
    play = listening()
    run = play.begin_take()
    play.until(run.end_s - 0.5)
    play.happen(hears(play, ("B",), ()))
    play.until(run.end_s + 0.5)
    play.give(YES)
    assert play.outcomes == ["pass"]
    assert not noted(play)


@pytest.mark.parametrize("style", AnswerStyle)
def test_an_ear_that_answers_waits_for_the_end_and_names_the_strings(style):
    play = listening(judge=True, style=style)
    run = play.begin_take()
    play.until(run.end_s - 0.5)
    play.happen(hears(play, ("B",), ()))
    assert play.state.phase is Phase.TAKE
    play.until(run.end_s + 0.1)
    (record,) = play.records
    assert (record.answered.judge, record.answered.silent) == ("ear", ("B",))


def test_an_ear_that_is_late_answers_at_the_question():
    play = listening(judge=True)
    run = play.begin_take()
    play.until(run.end_s + 0.1)
    assert play.state.phase is Phase.ASKING
    play.happen(hears(play, (), ("A",)))
    assert play.records[-1].answered.silent == ("A",)


def test_what_the_foot_has_named_is_joined_by_what_the_ear_heard():
    play = listening(judge=True)
    run = play.begin_take()
    name(play, 2)
    play.until(run.end_s - 0.5)
    play.happen(hears(play, ("B",), ()))
    play.until(run.end_s + 0.1)
    (record,) = play.records
    assert record.answered.silent == ("D", "B")
    assert record.answered.judge != "ear"


def test_an_ear_that_only_tells_answers_nothing():
    play = listening(judge=False)
    run = play.begin_take()
    play.until(run.end_s - 0.5)
    play.happen(hears(play, ("B",), ()))
    play.until(run.end_s + 3)
    assert play.state.phase is Phase.ASKING
    assert not play.records
