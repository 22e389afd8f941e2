"""What a player changes while practising, and notes of takes: by foot from the menu, and told again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.effects import Close, Note, NoteTake, VolumeStep
from pedaltrainer.session.events import Due, Given, Noted, Pressed
from pedaltrainer.session.replay import event_from_json, event_to_json, replay
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import A_STEP, DWELL_S, AckKind, Phase
from pedaltrainer.session.step import begin, step
from pedaltrainer.session.transitions import pause_choices
from tests.session.playing import Playing, settings

AT = "2026-11-20T18:00:00.000Z"
YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE


def change(play: Playing, *choices: Choice) -> None:
    """Open the list of what can be changed, where it is not open, and take rows of it."""
    if play.state.phase is not Phase.CHANGES:
        play.choose(Choice.CHANGE)
    for choice in choices:
        take_row(play, choice)


def take_row(play: Playing, choice: Choice) -> None:
    play.wait(0.1)
    rows = pause_choices(play.state)
    for _ in range((rows.index(choice) - play.state.chosen) % len(rows)):
        play.give(YES)
    play.give(STOP)


def go_on(play: Playing) -> None:
    """From a list behind the menu back into the drill."""
    play.wait(0.1)
    play.give(NO)
    play.wait(0.1)
    play.give(NO)


def started(*drills: str, **more: object) -> Playing:
    return Playing(settings(*drills, ladder="seek", starts_bpm=(80,) * max(1, len(drills)), **more))


def test_the_list_opens_from_the_menu_and_no_leads_back_to_its_row_there():
    play = started()
    change(play)
    assert play.state.phase is Phase.CHANGES
    assert pause_choices(play.state) == (
        Choice.SLOWER,
        Choice.FASTER,
        Choice.STAY,
        Choice.PLAY_ON,
        Choice.MODE,
        Choice.MORE_TIME,
        Choice.BEATS,
        Choice.GAP,
        Choice.STYLE,
        Choice.LANDINGS,
        Choice.LOUDER,
        Choice.QUIETER,
        Choice.MENU,
    )
    play.wait(0.1)
    play.give(NO)
    assert play.state.phase is Phase.PAUSED
    assert pause_choices(play.state)[play.state.chosen] is Choice.CHANGE
    play.wait(0.1)
    play.give(NO)
    assert play.state.phase is Phase.READY


def test_slower_and_faster_move_what_the_ladder_asks_for_and_go_on_from_there():
    play = started()
    asked = play.state.tempo_bpm
    change(play, Choice.SLOWER, Choice.SLOWER)
    assert play.state.tempo_bpm == round(asked / A_STEP**2)
    change(play, Choice.FASTER)
    go_on(play)
    assert play.answer(YES).tempo_bpm == round(asked / A_STEP)
    assert play.state.tempo_bpm == round(play.state.ladder.tempo_bpm / A_STEP)


def test_from_the_tempo_it_is_three_taps_and_a_hold_back_into_the_drill():
    play = started()
    change(play, Choice.SLOWER)
    for control in (YES, YES, YES, STOP):
        play.wait(0.1)
        play.give(control)
    assert play.state.phase is Phase.READY


def test_a_step_beyond_the_slowest_tempo_is_not_one_that_has_to_be_taken_back():
    play = started()
    change(play, *[Choice.SLOWER] * 40)
    slowest = play.state.tempo_bpm
    assert slowest == 20
    change(play, Choice.FASTER)
    assert play.state.tempo_bpm > slowest


def test_stay_here_keeps_to_the_last_take_s_tempo_whatever_is_answered_until_it_is_let_go():
    play = started()
    here = play.answer(YES).tempo_bpm
    change(play, Choice.STAY)
    go_on(play)
    assert [play.answer(answer).tempo_bpm for answer in (YES, NO, YES, YES)] == [here] * 4
    change(play, Choice.STAY)
    assert play.state.held_bpm is None
    assert play.state.tempo_bpm == play.state.ladder.tempo_bpm


def test_who_stays_at_a_tempo_goes_on_when_the_measurement_would_be_over():
    play = Playing(settings(starts_bpm=(80,), ladder="steps"))
    play.answer(NO)
    change(play, Choice.STAY)
    go_on(play)
    assert play.answer(NO).tempo_bpm == 80
    assert play.state.phase is Phase.BREATH
    assert play.state.ladder.ended is not None


def test_the_next_drill_begins_at_its_own_tempo():
    play = started("Am E", "C G")
    change(play, Choice.SLOWER, Choice.STAY)
    go_on(play)
    play.give(Control.NEXT)
    assert (play.state.drill_index, play.state.held_bpm, play.state.tempo_steps) == (1, None, 0)


def test_measuring_becomes_practising_and_back_with_the_takes_so_far():
    play = started()
    for answer in (YES, YES, NO):
        play.answer(answer)
    measured = play.state.ladder
    change(play, Choice.MODE)
    assert play.state.ladder.start.mode == "practise"
    assert play.state.ladder.takes == measured.takes
    change(play, Choice.MODE)
    assert play.state.ladder == measured


def test_five_more_minutes_are_five_more_minutes():
    play = started(minutes=1.0)
    change(play, Choice.MORE_TIME)
    assert play.state.allowance_s == 6 * 60


def test_a_drill_that_is_left_out_is_not_come_round_to_again():
    planned = {"minutes_each": (5.0, 5.0), "modes": ("measure",) * 2, "reasons": ("new",) * 2}
    play = started("Am E", "C G", targets_bpm=(100.0, 100.0), **planned)
    play.give(YES)
    play.answer(YES)
    change(play, Choice.DROP)
    assert (play.state.phase, play.state.drill_index) == (Phase.READY, 1)
    assert [one.drill.names for one in play.state.results] == [("Am", "E")]
    play.give(Control.NEXT)
    assert play.state.drill_index == 1, "what is left comes round without it"


def test_the_last_drill_cannot_be_left_out():
    play = started("Am E")
    change(play)
    assert Choice.DROP not in pause_choices(play.state)


def test_more_beats_on_a_chord_are_another_drill_at_the_same_tempo_and_what_was_found_stands():
    play = started("Am E", targets_bpm=(90.0,))
    play.answer(YES)
    play.answer(NO)
    tempo_bpm = play.state.tempo_bpm
    change(play, Choice.BEATS)
    assert play.state.phase is Phase.CHANGES
    assert play.state.drill.key == "change Am E x2"
    assert (play.state.target_bpm, play.state.answers) == (None, ())
    assert play.state.results[0].takes == 2
    change(play, Choice.SLOWER)
    change(play, Choice.FASTER)
    go_on(play)
    run = play.answer(YES)
    assert run.drill.beats_per_chord == 2
    assert run.tempo_bpm == pytest.approx(tempo_bpm, abs=1)
    change(play, Choice.BEATS, Choice.BEATS)
    assert play.state.drill.key == "change Am E"
    assert len(play.state.ladder.takes) == 2, "back at the first drill its takes are known"


def test_the_hand_is_lifted_muted_or_instant_in_turn():
    play = started("Am E")
    gaps = []
    for _ in range(3):
        change(play, Choice.GAP)
        gaps.append(play.state.drill.gap.value)
    assert gaps == ["muted", "instant", "lifted"]


@pytest.mark.parametrize(("drill", "missing"), [("pressure F", {Choice.BEATS, Choice.GAP, Choice.MODE})])
def test_what_a_drill_does_not_have_is_not_offered(drill, missing):
    play = Playing(settings(drill, ladder="seek"))
    change(play)
    assert not missing & set(pause_choices(play.state))


def test_a_question_that_is_open_when_the_drill_changes_is_void():
    play = started()
    play.play_take()
    assert play.state.phase is Phase.ASKING
    play.wait(0.5)
    change(play, Choice.GAP)
    assert play.outcomes == ["void"]
    go_on(play)
    assert play.state.phase is Phase.READY


def test_the_answer_style_changes_with_the_next_take():
    play = started()
    play.answer(YES)
    change(play, Choice.STYLE)
    go_on(play)
    assert play.state.settings.answer_style is AnswerStyle.SPEAK_UP
    assert play.state.ladder.start.speak_up
    play.play_take()
    assert play.outcomes == ["pass", "pass"]


def test_landings_change_with_the_next_take_and_the_takes_before_still_count():
    play = started()
    assert play.answer(YES).landings == 8
    change(play, Choice.LANDINGS)
    go_on(play)
    assert play.answer(YES).landings == 12
    assert [one.landings for one in play.state.ladder.takes] == [8, 12]


def test_the_volume_is_asked_for_by_steps():
    play = started()
    change(play, Choice.LOUDER, Choice.LOUDER, Choice.QUIETER)
    steps = [effect.steps for effect in play.effects if isinstance(effect, VolumeStep)]
    assert steps == [1, 1, -1]


def test_where_a_pedal_cannot_say_stop_a_rest_of_the_foot_takes_a_row_once():
    play = started()
    change(play)
    asked = play.state.tempo_bpm
    now_s = play.now_s + 1
    play.happen(Pressed(now_s, now_s + 1000, "foot", dwells=True))
    play.happen(Given(now_s, now_s, now_s + 1000, YES, "foot"))
    play.happen(Due(now_s + DWELL_S))
    assert play.state.tempo_bpm == round(asked * A_STEP)
    assert play.state.due_s is None


# --- notes -----------------------------------------------------------------------------------


def note(play: Playing, choice: Choice) -> None:
    play.choose(Choice.NOTE)
    take_row(play, choice)


def test_before_the_first_take_there_is_nothing_to_note():
    play = started()
    play.give(STOP)
    assert Choice.NOTE not in pause_choices(play.state)


@pytest.mark.parametrize(
    ("choice", "kind"), [(Choice.BUZZ, Note.BUZZ), (Choice.WRONG_FINGER, Note.WRONG_FINGER)]
)
def test_a_note_is_about_the_take_that_was_begun_last_and_leads_back_to_the_menu(choice, kind):
    play = started()
    play.answer(YES)
    run = play.answer(NO)
    note(play, choice)
    assert NoteTake(run, kind) in play.effects
    assert (play.state.phase, play.state.ack.kind) == (Phase.PAUSED, AckKind.NOTED)
    play.wait(0.1)
    play.give(NO)
    assert play.state.phase is Phase.BREATH


def test_pain_stops_says_the_caution_and_asks_whether_to_finish():
    play = started()
    play.answer(YES)
    run = play.begin_take()
    play.give(STOP)
    note(play, Choice.HURTS)
    assert NoteTake(run, Note.HURTS) in play.effects
    assert play.state.phase is Phase.HURTS
    play.wait(30)
    assert play.state.phase is Phase.HURTS, "nothing goes on by itself"
    play.give(YES)
    assert play.state.phase is Phase.FINISHED


def test_pain_before_any_answer_closes_when_yes_is_said_and_no_goes_on():
    play = started()
    play.begin_take()
    note(play, Choice.HURTS)
    play.wait(0.1)
    play.give(NO)
    assert play.state.phase is Phase.BREATH
    play.wait(0.1)
    note(play, Choice.HURTS)
    play.wait(0.1)
    assert Close() in play.give(YES)


# --- what is told again ----------------------------------------------------------------------


def test_a_session_with_changes_and_notes_is_told_again_as_it_was():
    play = started("Am E", "C G")
    play.answer(YES)
    change(play, Choice.SLOWER, Choice.STAY, Choice.LANDINGS, Choice.STYLE, Choice.GAP)
    go_on(play)
    play.answer(YES)
    note(play, Choice.BUZZ)
    play.happen(
        Noted(play.state.now_s, "2026-11-20T18:00:00.000Z", "2026-11-20T17:59:00.000Z", "k", 80, "buzz")
    )
    change(play, Choice.DROP)
    record = [event_from_json(event_to_json(event)) for event in play.events]
    first = started("Am E", "C G").state.settings
    *_, (state, _) = replay(first, record)
    assert state == play.state


def test_a_session_of_the_grammar_before_has_the_menu_that_it_had():
    before = Playing(settings("Am E", grammar=2))
    before.give(STOP)
    assert not {Choice.CHANGE, Choice.NOTE} & set(pause_choices(before.state))
    assert pause_choices(replace(before.state, settings=replace(before.state.settings, grammar=3))) != (
        pause_choices(before.state)
    )


def test_what_was_noted_changes_nothing_of_the_session():
    state = begin(Settings(settings("Am E").drills))
    noted = Noted(0.0, AT, AT, "change Am E", 80, "buzz")
    assert step(state, noted) == (state, ())
