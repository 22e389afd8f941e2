"""The foot keeps its word: a press means what the stage showed when it went down; nothing ends unasked."""

from __future__ import annotations

from collections.abc import Sequence

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.effects import CancelTake, Effect
from pedaltrainer.session.events import Given, Pressed, Shut
from pedaltrainer.session.replay import replay, settings_from_json, settings_to_json
from pedaltrainer.session.state import DWELL_S, AckKind, Phase
from pedaltrainer.session.transitions import pause_choices
from tests.session.playing import Playing, settings

SPEAK_UP = AnswerStyle.SPEAK_UP


def down(play: Playing, dwells: bool = False) -> float:
    """The foot goes down; returns the raw time of its press."""
    play.happen(Pressed(play.now_s, play.now_s + 1000, "foot", known_within_s=0.6, dwells=dwells))
    return play.now_s + 1000


def become(play: Playing, control: Control, pressed_s: float) -> Sequence[Effect]:
    """The gesture of a press is known."""
    return play.happen(Given(play.now_s, pressed_s - 1000, pressed_s, control, "foot"))


def marked(play: Playing) -> Choice:
    return pause_choices(play.state)[play.state.chosen]


# --- the meaning is that of the press ---------------------------------------------


def test_the_breath_waits_for_a_foot_that_is_down():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.until((play.state.due_s or 0) - 0.1)
    pressed_s = down(play)
    play.wait(0.6)
    assert play.state.phase is Phase.BREATH
    become(play, Control.PAUSE, pressed_s)
    assert play.state.phase is Phase.PAUSED
    assert marked(play) is Choice.UNDO


def test_the_breath_does_not_wait_for_ever_for_a_press_that_came_to_nothing():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.until((play.state.due_s or 0) - 0.1)
    down(play)
    play.wait(1)
    assert play.state.phase is Phase.COUNT_IN


def test_a_hold_begun_in_a_take_that_ends_meanwhile_stops_and_the_question_stays_open():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.end_s - 0.1)
    pressed_s = down(play)
    play.wait(0.6)
    become(play, Control.PAUSE, pressed_s)
    assert play.state.phase is Phase.PAUSED
    assert marked(play) is Choice.GO_ON
    play.give(Control.PAUSE)
    assert play.state.phase is Phase.ASKING
    play.give(Control.FAIL)
    assert play.outcomes == ["fail"]


def test_a_double_tap_begun_in_the_take_is_the_miss_it_was_meant_as():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.beat_s(6) + 0.3)
    pressed_s = down(play)
    play.until(run.end_s + 0.05)
    become(play, Control.FAIL, pressed_s)
    assert play.outcomes == ["fail"]
    assert play.records[0].answered.pressed_s == pressed_s


def test_what_a_press_was_meant_for_and_has_gone_by_is_said():
    play = Playing(settings())
    play.play_take()
    pressed_s = down(play)
    play.wait(0.1)
    play.give(Control.FAIL)
    become(play, Control.PASS_, pressed_s)
    assert play.outcomes == ["fail"]
    assert play.state.phase is Phase.BREATH
    assert play.state.ack.kind is AckKind.TOO_LATE


def test_a_control_that_means_nothing_here_is_said_to():
    play = Playing(settings())
    play.begin_take()
    play.give(Control.QUIT)
    play.give(Control.REPEAT)
    assert play.state.phase is Phase.FINISH_ASKED
    assert play.state.ack.kind is AckKind.OUT_OF_PLACE


# --- stop loses nothing -------------------------------------------------------------


def test_a_stop_at_the_question_keeps_the_take_and_offers_to_skip_it():
    play = Playing(settings(starts_bpm=(60,)))
    play.play_take()
    play.wait(1)
    play.give(Control.PAUSE)
    assert marked(play) is Choice.SKIP_TAKE
    play.choose(Choice.GO_ON)
    assert play.state.phase is Phase.ASKING
    play.choose(Choice.SKIP_TAKE)
    assert play.outcomes == ["void"]
    assert play.begin_take().tempo_bpm == 60


def test_no_leaves_the_menu_and_finishing_can_be_thought_better_of():
    play = Playing(settings())
    play.play_take()
    play.give(Control.PAUSE)
    play.give(Control.FAIL)
    assert play.state.phase is Phase.ASKING
    play.give(Control.QUIT)
    play.give(Control.FAIL)
    assert play.state.phase is Phase.ASKING
    play.give(Control.PASS_)
    assert play.outcomes == ["pass"]


def test_a_foot_that_cannot_hold_chooses_by_resting_and_only_after_it_has_tapped():
    play = Playing(settings())
    become(play, Control.FAIL, down(play, dwells=True))
    assert play.state.phase is Phase.PAUSED
    play.wait(60)
    assert play.state.phase is Phase.PAUSED
    while marked(play) is not Choice.FINISH:
        become(play, Control.PASS_, down(play, dwells=True))
        play.wait(0.2)
    play.wait(DWELL_S)
    assert play.state.phase is Phase.FINISH_ASKED


# --- presence -----------------------------------------------------------------------


def silent_takes(play: Playing, n: int) -> None:
    for _ in range(n):
        play.play_take()


def test_after_three_silent_takes_it_is_asked_whether_anybody_is_there_and_a_press_lets_them_stand():
    play = Playing(settings(style=SPEAK_UP))
    silent_takes(play, 1)
    play.press()
    silent_takes(play, 3)
    assert play.state.phase is Phase.STILL_THERE
    play.wait(0.1)
    become(play, Control.PASS_, down(play))
    assert play.state.phase is Phase.BREATH
    play.happen(Shut(play.now_s))
    assert not any(isinstance(effect, CancelTake) for effect in play.effects)


def test_silent_takes_that_nobody_answers_for_are_void_and_the_stage_waits():
    play = Playing(settings(style=SPEAK_UP, starts_bpm=(60,)))
    silent_takes(play, 3)
    play.wait(600)
    assert play.state.phase is Phase.PAUSED
    assert play.state.ladder.tempo_bpm == 60
    assert sum(isinstance(effect, CancelTake) for effect in play.effects) == 3
    assert len(play.runs) == 3


def test_silent_takes_are_void_when_the_window_is_shut_unless_the_foot_has_shown_itself_since():
    play = Playing(settings(style=SPEAK_UP))
    silent_takes(play, 1)
    play.press()
    silent_takes(play, 2)
    play.happen(Shut(play.now_s))
    assert [effect.serial for effect in play.effects if isinstance(effect, CancelTake)] == [3, 2]
    assert play.state.all_results[0].takes == 1


# --- sessions of before ---------------------------------------------------------------


def test_a_session_of_before_is_told_by_what_its_controls_meant():
    record = settings_to_json(settings())
    del record["grammar"]
    kept = settings_from_json(record)
    states = [state for state, _ in replay(kept, [Given(1.0, 1.0, 1.0, Control.NEXT, "foot")])]
    assert states[-1].phase is Phase.FINISHED
