"""The session, as a player meets it: what a press means, what is scored, what is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.ladders.ladder import climb
from pedaltrainer.practice.ladders.rungs import EndedBy, Ending
from pedaltrainer.practice.take import AnswerStyle, Outcome
from pedaltrainer.session.causes import Action, Choice
from pedaltrainer.session.effects import (
    CancelTake,
    CautionsSeen,
    Close,
    RecordTake,
    SightChosen,
    StartTeaching,
    StopClick,
    StopTeaching,
)
from pedaltrainer.session.events import (
    Due,
    Given,
    InputBack,
    InputLost,
    Shut,
    SoundBack,
    SoundChecked,
    SoundLost,
    SoundStumbled,
    Taught,
)
from pedaltrainer.session.replay import (
    event_from_json,
    event_to_json,
    replay,
    settings_from_json,
    settings_to_json,
)
from pedaltrainer.session.state import LISTS, PLAYING, AckKind, Phase
from pedaltrainer.session.step import step
from pedaltrainer.session.transitions import meaning, pause_choices
from tests.session.playing import Playing, settings

SPEAK_UP = AnswerStyle.SPEAK_UP


# --- the course of a drill ---------------------------------------------------


def test_a_take_is_four_beats_of_count_in_and_eight_landings_on_the_beat():
    play = Playing(settings("Am E", starts_bpm=(90,)))
    play.give(Control.PASS_)
    (run,) = play.runs
    assert run.count_in_beats == 4
    assert run.landings == 8
    assert run.beat_s(0) - run.start_s == pytest.approx(4 * 60 / 90)
    assert run.last_landing_s - run.beat_s(0) == pytest.approx(7 * 60 / 90)


def test_the_first_click_comes_within_a_second_of_the_player_saying_begin():
    play = Playing(settings())
    play.wait(3.7)
    play.give(Control.PASS_)
    assert 0 < play.runs[0].start_s - play.now_s <= 1.0


def test_takes_start_on_a_sample_of_the_stream():
    play = Playing(settings(rate=44_100))
    play.now_s = 1.23456789
    play.give(Control.PASS_)
    samples = play.runs[0].start_s * 44_100
    assert samples == pytest.approx(round(samples), abs=1e-6)


@pytest.mark.parametrize(("beats_per_bar", "count_in"), [(2, 4), (3, 6), (4, 4), (5, 5), (6, 6), (1, 4)])
def test_the_count_in_is_whole_bars_and_at_least_four_beats(beats_per_bar, count_in):
    assert settings(beats_per_bar=beats_per_bar).whole_count_in(0) == count_in


def test_each_drill_of_a_session_is_counted_in_its_own_metre():
    play = Playing(settings("Am E", "F C", "D A", metres=("3/4", "6/8", ""), starts_bpm=(60, 60, 60)))
    seen = []
    for _ in range(3):
        run = play.answer(Control.PASS_)
        seen.append((str(run.metre), run.metre.beats, run.count_in_beats))
        play.choose(Choice.SKIP) if not play.state.last_drill else None
    assert seen == [("3/4", 3, 6), ("6/8", 2, 4), ("4/4", 4, 4)]


def test_the_last_metre_holds_for_the_drills_beyond_the_end():
    assert [str(settings("Am E", "F", metres=("3/4",)).metre_of(drill)) for drill in range(2)] == ["3/4"] * 2


def test_logs_of_before_count_quarters():
    record = settings_to_json(settings("Am E", beats_per_bar=3))
    del record["metres"]
    assert str(settings_from_json(record).metre_of(0)) == "3/4"


def test_with_four_beats_a_chord_the_take_strums_through_every_bar():
    play = Playing(settings("Am E", beats=4, landings=8))
    run = play.begin_take()
    assert run.beats == 32
    assert run.last_landing_s == pytest.approx(run.beat_s(28))


def test_after_the_take_the_stage_asks_and_waits_as_long_as_it_takes():
    play = Playing(settings())
    play.play_take()
    assert play.state.phase is Phase.ASKING
    play.wait(3600)
    assert play.state.phase is Phase.ASKING
    assert play.records == []


def test_a_pass_moves_the_ladder_up_and_the_next_take_begins_by_itself():
    play = Playing(settings(starts_bpm=(60,), step_bpm=8))
    play.answer(Control.PASS_)
    assert play.outcomes == ["pass"]
    assert play.state.phase is Phase.BREATH
    play.wait(2)
    assert play.state.phase is Phase.COUNT_IN
    assert play.runs[-1].tempo_bpm == 68


def test_a_fail_moves_the_ladder_down():
    play = Playing(settings(starts_bpm=(60,), step_bpm=8))
    play.answer(Control.FAIL)
    play.wait(3)
    assert play.runs[-1].tempo_bpm == 52


def test_a_take_is_recorded_before_the_next_one_is_counted_in():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.wait(3)
    order = [
        type(effect).__name__ for effect in play.effects if type(effect).__name__ in {"RecordTake", "PlayRun"}
    ]
    assert order == ["PlayRun", "RecordTake", "PlayRun"]


def test_an_answer_with_the_last_chord_still_ringing_is_an_answer():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.last_landing_s + 0.05)
    play.until(run.end_s + 0.05)
    play.give(Control.PASS_, pressed_ago_s=play.now_s - run.last_landing_s - 0.04)
    assert play.outcomes == ["pass"]


def test_a_tap_that_began_before_the_last_landing_answers_nothing():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.end_s + 0.05)
    play.give(Control.PASS_, pressed_ago_s=play.now_s - run.last_landing_s + 0.1)
    assert play.state.phase is Phase.ASKING
    assert play.records == []


def test_a_foot_that_taps_along_with_the_take_changes_nothing_in_ask():
    play = Playing(settings())
    run = play.begin_take()
    for beat in range(1, 7):
        play.until(run.beat_s(beat))
        play.press()
        play.give(Control.PASS_)
    assert play.state.phase is Phase.TAKE
    assert play.records == []


def test_a_double_tap_in_the_take_ends_it_as_missed():
    play = Playing(settings(starts_bpm=(60,)))
    run = play.begin_take()
    play.until(run.beat_s(3) + 0.7)
    effects = play.give(Control.FAIL, pressed_ago_s=0.3)
    assert StopClick() in effects
    assert play.outcomes == ["fail"]
    assert play.records[0].answered.ended_s == play.now_s - 0.3


# --- the ladder's end ---------------------------------------------------------


def test_the_drill_ends_when_the_same_rung_was_failed_twice_and_reports_the_fastest_passed():
    play = Playing(settings(starts_bpm=(60,), step_bpm=8))
    for control in (Control.PASS_, Control.FAIL, Control.PASS_, Control.FAIL):
        play.answer(control)  # 60 clean, 68 missed, then by halves: 64 clean, 68 missed again
    assert [run.tempo_bpm for run in play.runs] == [60, 68, 64, 68]
    assert play.state.phase is Phase.FINISHED
    (result,) = play.state.results
    assert result.result.best_bpm == 64
    assert result.takes == 4


def test_the_drill_ends_when_the_time_is_up_but_never_in_the_middle_of_a_take():
    play = Playing(settings(minutes=0.1))
    play.play_take()
    assert play.state.phase is Phase.ASKING
    play.give(Control.PASS_)
    assert play.state.phase is Phase.FINISHED
    assert play.outcomes == ["pass"]


def test_minutes_are_shared_by_the_drills():
    assert settings("Am E", "F", minutes=10).allowances_s == (300, 300)


def test_a_pause_is_not_practice_time():
    play = Playing(settings(minutes=1))
    play.answer(Control.PASS_)
    spent_s = play.state.spent_s
    play.give(Control.PAUSE)
    play.wait(600)
    assert play.state.spent_s == spent_s


def test_several_drills_are_taken_in_turn():
    play = Playing(settings("Am E", "F", starts_bpm=(60, 70)))
    play.give(Control.NEXT)
    assert play.state.phase is Phase.READY
    assert play.state.drill.title == "F, landed again"
    assert play.state.ladder.tempo_bpm == 70
    play.answer(Control.PASS_)
    play.finish()
    assert [one.drill.key for one in play.state.results] == ["re-land F"]


def test_the_summary_can_start_the_same_drills_once_more():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.finish()
    play.choose(Choice.ONCE_MORE)
    assert play.state.phase is Phase.READY
    assert play.state.answers == ()


# --- speaking up -----------------------------------------------------------------


def test_silence_is_a_pass_when_speaking_up():
    play = Playing(settings(style=SPEAK_UP))
    play.play_take()
    assert play.outcomes == ["pass"]
    assert play.records[0].answered.judge == "silence"
    assert play.state.phase is Phase.BREATH


@pytest.mark.parametrize(
    ("press_after_first_landing_s", "landing"),
    [(0.1, 1), (0.24, 1), (1.0, 1), (1.14, 2), (1.12, 1), (6.3, 7), (7.3, 8), (7.55, 8)],
)
def test_a_press_is_about_the_last_landing_that_a_quick_foot_could_have_heard(
    press_after_first_landing_s, landing
):
    play = Playing(settings(style=SPEAK_UP, starts_bpm=(60,), reaction_s=0.25))
    run = play.begin_take()
    play.until(run.beat_s(0) + press_after_first_landing_s)
    effects = play.press()
    (record,) = play.records
    assert record.answered.take.outcome is Outcome.FAIL
    assert record.answered.take.first_miss == landing
    assert record.answered.pressed_s == play.now_s + 1000
    assert StopClick() in effects


def test_only_the_first_press_inside_a_take_is_the_miss():
    play = Playing(settings(style=SPEAK_UP))
    run = play.begin_take()
    play.until(run.beat_s(2) + 0.3)
    play.press()
    play.wait(0.2)
    play.press()
    play.give(Control.FAIL, pressed_ago_s=0.2)
    assert play.outcomes == ["fail"]


def test_a_press_during_the_count_in_is_not_a_miss():
    play = Playing(settings(style=SPEAK_UP))
    play.give(Control.PASS_)
    play.wait(1.0)
    assert play.state.phase is Phase.COUNT_IN
    play.press()
    play.give(Control.PASS_)
    play.until(play.runs[0].beat_s(0))
    assert play.state.phase is Phase.TAKE
    assert play.records == []


def test_a_miss_held_on_means_pause_and_is_taken_back():
    play = Playing(settings(style=SPEAK_UP))
    run = play.begin_take()
    play.until(run.beat_s(2) + 0.3)
    play.press(known_within_s=0.7)
    play.wait(0.6)
    play.give(Control.PAUSE, pressed_ago_s=0.6)
    assert play.state.phase is Phase.PAUSED
    assert any(isinstance(effect, CancelTake) for effect in play.effects)
    assert play.state.answers == ()
    assert play.state.ladder.tempo_bpm == run.tempo_bpm


def test_the_tap_that_marked_a_miss_does_nothing_else():
    play = Playing(settings(style=SPEAK_UP))
    run = play.begin_take()
    play.until(run.beat_s(2) + 0.3)
    play.press()
    play.wait(0.3)
    play.give(Control.PASS_, pressed_ago_s=0.3)
    assert play.state.phase is Phase.BREATH


@pytest.mark.parametrize("phase", [Phase.BREATH, Phase.COUNT_IN])
def test_a_late_press_in_the_grace_time_is_taken_for_the_silent_take_before(phase):
    play = Playing(settings(style=SPEAK_UP, starts_bpm=(120,), grace_s=4.0))
    run = play.play_take()
    if phase is Phase.COUNT_IN:
        play.until((play.state.due_s or 0) + 0.6)
    assert play.state.phase is phase
    play.give(Control.PASS_)
    assert play.outcomes == ["pass", "fail"]
    assert play.records[-1].answered.take.first_miss == run.landings
    assert [effect.serial for effect in play.effects if isinstance(effect, CancelTake)] == [run.serial]
    assert play.state.ladder.tempo_bpm < run.tempo_bpm


def test_a_late_press_is_about_no_take_of_the_drill_before():
    play = Playing(settings("Am E", "F", style=SPEAK_UP, starts_bpm=(200, 60), grace_s=8.0))
    play.play_take()
    play.choose(Choice.SKIP)
    play.give(Control.PASS_)
    play.give(Control.PASS_)
    assert play.state.phase is Phase.COUNT_IN
    assert play.outcomes == ["pass"]


def test_a_press_that_is_held_on_while_the_menu_is_open_still_takes_its_miss_back():
    play = Playing(settings("Am E", style=SPEAK_UP))
    run = play.begin_take()
    play.until(run.beat_s(2))
    play.press()
    play.give(Control.PAUSE, pressed_ago_s=-0.1)
    while pause_choices(play.state)[play.state.chosen] is not Choice.FINISH:
        play.give(Control.PASS_, pressed_ago_s=-0.1)
    assert CancelTake(run.serial, "held on: pause meant") in play.give(Control.PAUSE)
    assert pause_choices(play.state)[play.state.chosen] is Choice.GO_ON


# --- taking back, pausing, leaving ---------------------------------------------------


def test_undo_asks_again_and_the_new_answer_counts():
    play = Playing(settings(starts_bpm=(60,)))
    play.answer(Control.FAIL)
    play.give(Control.UNDO)
    assert play.state.phase is Phase.ASKING
    play.give(Control.PASS_)
    assert play.outcomes == ["fail", "pass"]
    assert sum(isinstance(effect, CancelTake) for effect in play.effects) == 1
    assert play.state.ladder.tempo_bpm == 68


def test_undo_makes_the_ladder_what_it_was():
    play = Playing(settings(starts_bpm=(60,)))
    play.answer(Control.PASS_)
    before = play.state.ladder
    play.answer(Control.FAIL)
    play.give(Control.UNDO)
    assert play.state.ladder == before


def test_undo_at_the_summary_reopens_the_drill():
    play = Playing(settings(minutes=0.1))
    play.answer(Control.FAIL)
    assert play.state.phase is Phase.FINISHED
    play.give(Control.UNDO)
    assert play.state.phase is Phase.ASKING
    assert play.state.results == ()


def test_a_hold_in_the_breath_opens_the_menu_at_taking_the_answer_back():
    play = Playing(settings())
    play.answer(Control.FAIL)
    play.give(Control.PAUSE)
    assert pause_choices(play.state)[play.state.chosen] is Choice.UNDO
    play.give(Control.PAUSE)
    assert play.state.phase is Phase.ASKING


def test_with_nothing_to_undo_it_says_so():
    play = Playing(settings())
    play.give(Control.UNDO)
    assert play.state.ack is not None
    assert play.state.ack.kind is AckKind.NOTHING_TO_UNDO


def test_pausing_inside_a_take_makes_it_void_and_going_on_counts_it_in_afresh():
    play = Playing(settings(starts_bpm=(60,)))
    run = play.begin_take()
    play.until(run.beat_s(2))
    effects = play.give(Control.PAUSE)
    assert StopClick() in effects
    assert play.outcomes == ["void"]
    assert play.state.phase is Phase.PAUSED
    play.give(Control.PAUSE)
    play.wait(3)
    assert play.state.phase is Phase.COUNT_IN
    assert play.runs[-1].tempo_bpm == 60


def test_pausing_in_the_count_in_leaves_no_take_behind():
    play = Playing(settings())
    play.give(Control.PASS_)
    play.wait(1)
    play.give(Control.PAUSE)
    assert play.state.phase is Phase.PAUSED
    assert play.records == []


def test_repeat_plays_the_same_tempo_once_more_and_the_broken_take_does_not_count():
    play = Playing(settings(starts_bpm=(60,)))
    run = play.begin_take()
    play.until(run.beat_s(3))
    play.give(Control.REPEAT)
    assert play.outcomes == ["void"]
    assert [each.tempo_bpm for each in play.runs] == [60, 60]


def test_in_the_menu_a_tap_moves_and_a_hold_chooses():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.give(Control.PAUSE)
    offered = pause_choices(play.state)
    for _ in offered:
        play.give(Control.PASS_)
    assert play.state.phase is Phase.PAUSED
    assert offered[play.state.chosen] is Choice.UNDO
    play.give(Control.PAUSE)
    assert play.state.phase is Phase.ASKING


def test_quitting_asks_and_the_summary_is_seen_before_it_closes():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.give(Control.QUIT)
    assert play.state.phase is Phase.FINISH_ASKED
    play.give(Control.QUIT)
    assert play.state.phase is Phase.FINISH_ASKED, "the switch that asked is not the one that says yes"
    play.give(Control.PASS_)
    assert play.state.phase is Phase.FINISHED
    for control in Control:
        closing = Playing(settings())
        closing.answer(Control.PASS_)
        closing.finish()
        closing.give(control)
        assert closing.state.phase is not Phase.CLOSED
    assert Close() in play.choose(Choice.CLOSE)
    assert play.state.phase is Phase.CLOSED


@pytest.mark.parametrize("control", list(Control))
def test_what_is_said_after_the_good_bye_changes_nothing(control):
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.finish()
    play.choose(Choice.CLOSE)
    assert play.state.phase is Phase.CLOSED
    assert play.give(control) == ()
    assert play.state.phase is Phase.CLOSED
    assert play.outcomes == ["pass"]


def test_closing_the_window_voids_the_take_that_is_on():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.beat_s(2))
    play.happen(Shut(play.now_s))
    assert play.outcomes == ["void"]
    assert play.state.phase is Phase.CLOSED


@pytest.mark.parametrize("style", list(AnswerStyle))
def test_a_switch_without_a_hold_reaches_everything_by_tap_and_double_tap(style):
    """Breadth-first over what the two gestures, silence and the end of a lesson can lead to."""
    planned = {"minutes_each": (0.25, 0.25), "modes": ("measure", "measure"), "reasons": ("new", "new")}
    chosen = settings(
        "Am E", "F", style=style, show_cautions=True, ask_sight=True, rest_after_s=10, ear=True, **planned
    )
    start = Playing(chosen)
    reached, done = {start.state.phase}, set()
    frontier = [start.state]
    for _ in range(60):
        following = []
        for state in frontier:
            # A foot that cannot hold rests on a row to choose it.
            state = replace(state, dwells=True)
            for event in (
                Given(state.now_s, state.now_s, state.now_s, Control.PASS_, "foot"),
                Given(state.now_s, state.now_s, state.now_s, Control.FAIL, "foot"),
                *((Due(state.due_s),) if state.due_s is not None else ()),
                *((Taught(state.now_s, ""),) if state.phase is Phase.TEACHING else ()),
                *((SoundChecked(state.now_s, "mic"),) if state.checks else ()),
            ):
                after, effects = step(state, event)
                done |= {type(effect) for effect in effects}
                rests = after.due_s is not None
                counts = (len(after.answers), after.drill_index, len(after.results))
                key = (after.phase, after.chosen, rests, *counts, after.checks, after.checked is None)
                if key not in reached and len(after.answers) <= 2:
                    reached |= {key, after.phase}
                    following.append(after)
        frontier = following
    unasked = {Phase.STILL_THERE, *({Phase.ASKING} if style is SPEAK_UP else ())}
    assert {phase for phase in reached if isinstance(phase, Phase)} == set(Phase) - unasked
    assert {Close, CancelTake, RecordTake, StartTeaching, SightChosen, CautionsSeen} <= done


# --- once more -------------------------------------------------------------------


def to_the_summary(play: Playing) -> None:
    while play.state.phase is not Phase.FINISHED:
        play.answer(Control.PASS_ if play.state.ladder.tempo_bpm < 90 else Control.FAIL)


def test_a_round_once_more_begins_from_what_the_last_one_found():
    play = Playing(settings("Am E", ladder="seek", minutes=2, starts_bpm=(60,)))
    to_the_summary(play)
    found = play.state.results[0].result.clean_bpm
    assert found is not None
    play.choose(Choice.ONCE_MORE)
    assert play.state.phase is Phase.READY
    assert play.state.ladder.tempo_bpm == pytest.approx(found, rel=0.1)


def test_a_second_round_comes_to_what_all_of_the_sessions_takes_tell():
    """The log knows of no rounds: what it tells of the session has to be what the stage told."""
    play = Playing(settings("Am E", ladder="seek", minutes=2, starts_bpm=(60,)))
    before = play.state.ladder
    to_the_summary(play)
    first = play.state.takes_so_far
    play.choose(Choice.ONCE_MORE)
    to_the_summary(play)
    (one,) = play.state.results
    whole = climb(before, (*first, *play.state.takes_so_far)).result()
    assert (one.result.clean_bpm, one.result.interval_bpm) == (whole.clean_bpm, whole.interval_bpm)
    assert one.takes == len(play.state.takes_so_far)


def test_what_earlier_rounds_came_to_is_told_at_the_end():
    play = Playing(settings("Am E", ladder="seek", minutes=2, starts_bpm=(60,)))
    to_the_summary(play)
    first = play.state.results
    play.choose(Choice.ONCE_MORE)
    play.finish()
    assert play.state.phase is Phase.CLOSED
    assert play.state.all_results == first


def test_a_window_closed_in_the_middle_of_a_drill_still_tells_what_it_came_to():
    play = Playing(settings("Am E"))
    play.answer(Control.PASS_)
    play.happen(Shut(play.now_s))
    (told,) = play.state.all_results
    assert told.takes == 1


# --- a sound that breaks ----------------------------------------------------------


def stumble(play, ago_s=0.2):
    return play.happen(SoundStumbled(play.now_s, play.now_s - ago_s))


def test_a_take_in_which_the_sound_stumbled_is_void_and_counted_in_again():
    play = Playing(settings(starts_bpm=(60,)))
    run = play.begin_take()
    play.wait(3.2)
    stumble(play)
    assert (play.state.phase, play.state.ack.kind) == (Phase.BREATH, AckKind.STUMBLED)
    assert [(one.answered.take.outcome, one.answered.judge) for one in play.records] == [
        (Outcome.VOID, "sound stumbled")
    ]
    again = play.begin_take()
    assert (again.serial, again.tempo_bpm) == (run.serial + 1, run.tempo_bpm)
    assert not play.state.answers


def test_a_stumble_in_the_count_in_leaves_nothing_in_the_log():
    play = Playing(settings(starts_bpm=(60,)))
    play.give(Control.PASS_)
    play.wait(1)
    stumble(play)
    assert play.state.phase is Phase.BREATH
    assert not play.records


def test_a_stumble_that_is_known_once_the_take_is_over_voids_it_while_it_is_not_answered():
    for answers_first, outcomes in ((False, ["void"]), (True, ["pass"])):
        play = Playing(settings(starts_bpm=(60,)))
        play.play_take()
        assert play.state.phase is Phase.ASKING
        if answers_first:
            play.give(Control.PASS_)
        stumble(play)
        assert play.outcomes == outcomes


def test_a_stumble_before_or_after_the_take_harms_nothing():
    play = Playing(settings(starts_bpm=(60,)))
    stumble(play)
    assert play.state.phase is Phase.READY
    play.give(Control.PASS_)
    stumble(play)
    assert play.state.phase is Phase.COUNT_IN
    play.until(play.state.run.beat_s(0))
    play.until(play.state.due_s)
    play.wait(5)
    stumble(play)
    assert play.state.phase is Phase.ASKING


def test_when_three_takes_in_a_row_break_the_menu_opens():
    play = Playing(settings(starts_bpm=(60,)))
    for _ in range(2):
        play.begin_take()
        stumble(play, 0.0)
        assert play.state.phase is Phase.BREATH
    play.begin_take()
    stumble(play, 0.0)
    assert play.state.phase is Phase.PAUSED
    assert play.outcomes == ["void"] * 3
    clean = Playing(settings(starts_bpm=(60,)))
    for _ in range(4):
        clean.begin_take()
        stumble(clean, 0.0)
        clean.answer(Control.PASS_)
    assert clean.state.phase is Phase.BREATH


def test_a_session_whose_sound_stumbled_and_came_back_replays_exactly():
    play = Playing(settings(starts_bpm=(60,)))
    play.begin_take()
    stumble(play)
    play.begin_take()
    play.happen(SoundLost(play.now_s, "gone"))
    play.happen(SoundBack(play.now_s, "Lamp", 0.6))
    assert play.state.notices == ()
    assert play.state.settings.lead_s == 0.6
    events = [event_from_json(event_to_json(event)) for event in play.events]
    *_, (state, _) = replay(settings(starts_bpm=(60,)), events)
    assert state == play.state


# --- a planned session ------------------------------------------------------------


def planned(*drills: str, minutes: tuple[float, ...], modes: tuple[str, ...] = (), **more: object) -> Playing:
    """A session with a plan: why each drill is in it does not matter here."""
    return Playing(
        settings(
            *drills,
            minutes_each=minutes,
            modes=modes or ("measure",) * len(drills),
            reasons=tuple(f"because of {drill}" for drill in drills),
            **more,
        )
    )


def test_a_planned_session_begins_with_its_plan():
    play = planned("F", "C F", minutes=(2, 3))
    assert play.state.phase is Phase.PLAN
    play.give(Control.PASS_)
    assert play.state.phase is Phase.READY


def test_a_drill_that_is_skipped_leaves_its_time_to_those_to_come():
    play = planned("F", "C F", "Am E", minutes=(4, 4, 4))
    play.give(Control.PASS_)
    play.give(Control.NEXT)
    assert play.state.allowances_s == (240, 360, 360)


def test_no_drill_becomes_longer_than_twice_its_plan():
    play = planned("F", "C F", "Am E", minutes=(10, 2, 2))
    play.give(Control.PASS_)
    play.give(Control.NEXT)
    assert play.state.allowances_s == (600, 240, 240)


def test_time_spent_is_not_given_away():
    play = planned("F", "C F", minutes=(0.2, 1))
    play.give(Control.PASS_)
    while play.state.phase is not Phase.DRILL_DONE:
        play.answer(Control.PASS_)
    play.give(Control.PASS_)
    assert play.state.allowances_s == (12, 60)


def test_drills_that_the_player_named_keep_to_their_own_time():
    play = Playing(settings("F", "C F", minutes=10))
    play.give(Control.NEXT)
    assert play.state.allowances_s == (300, 300)


def test_a_drill_that_comes_again_goes_on_from_what_it_has_seen():
    play = planned("F", "C F", "F", minutes=(1, 1, 1), starts_bpm=(60, 60, 60), ladder="steps")
    play.give(Control.PASS_)
    play.answer(Control.PASS_)
    play.answer(Control.PASS_)
    play.choose(Choice.SKIP)
    play.give(Control.NEXT)
    assert play.state.drill_index == 2
    assert play.state.ladder.tempo_bpm == 76


def test_a_warm_up_holds_its_tempo():
    play = planned("Am E", "F", minutes=(1, 4), modes=("slow", "measure"), starts_bpm=(44, 60), ladder="seek")
    play.give(Control.PASS_)
    assert [play.answer(Control.PASS_).tempo_bpm for _ in range(3)] == [44, 44, 44]


WITHOUT_CONTROLS = {Phase.CLOSED, Phase.TEACHING}


@pytest.mark.parametrize("phase", [phase for phase in Phase if phase not in WITHOUT_CONTROLS])
def test_quit_undo_pause_and_repeat_mean_the_same_wherever_they_mean_anything(phase):
    state = replace(Playing(settings()).state, phase=phase)
    at_the_end = {
        Phase.FINISHED: Action.STOP,
        Phase.FINISH_ASKED: Action.NOTHING,
        Phase.SWITCHES: Action.NOTHING,
    }
    assert meaning(state, Control.QUIT) is at_the_end.get(phase, Action.ASK_TO_FINISH)
    assert meaning(state, Control.UNDO) is Action.UNDO
    if phase not in LISTS:
        assert meaning(state, Control.PAUSE) is Action.STOP
    something_to_repeat = phase in PLAYING or phase is Phase.READY
    assert meaning(state, Control.REPEAT) is (Action.REPEAT if something_to_repeat else Action.NOTHING)


def test_a_pedal_is_taught_from_the_pause_menu_and_back_to_it():
    play = Playing(settings())
    assert StartTeaching() in play.choose(Choice.TEACH)
    assert play.state.phase is Phase.TEACHING
    play.give(Control.PASS_)
    assert play.state.phase is Phase.TEACHING, "what is being taught says nothing to the session"
    assert StopTeaching() in play.happen(Taught(play.now_s, "Learnt"))
    assert play.state.phase is Phase.PAUSED


def test_a_lesson_can_be_left_by_key():
    play = Playing(settings(teach=True))
    assert play.state.phase is Phase.TEACHING
    assert StopTeaching() in play.give(Control.QUIT)
    assert play.state.phase is Phase.CLOSED


# --- troubles and care ---------------------------------------------------------------


def test_a_pedal_that_vanishes_in_a_take_voids_it_and_the_ones_before_stand():
    play = Playing(settings())
    play.answer(Control.PASS_)
    run = play.begin_take()
    play.until(run.beat_s(2))
    play.happen(InputLost(play.now_s, "Old board"))
    assert play.outcomes == ["pass", "void"]
    assert play.state.phase is Phase.PAUSED
    assert play.state.lost_input == "Old board"
    play.happen(InputBack(play.now_s, "Old board"))
    assert play.state.lost_input is None


def test_a_pedal_that_nobody_uses_may_vanish_without_a_word_to_the_take():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.beat_s(2))
    play.happen(InputLost(play.now_s, "Spare keyboard", in_use=False))
    assert play.state.phase is Phase.TAKE
    assert play.state.lost_input is None


def test_another_pedal_that_comes_back_is_not_the_one_that_was_lost():
    play = Playing(settings())
    play.happen(InputLost(0.0, "Old board"))
    play.happen(InputBack(1.0, "Spare keyboard"))
    assert play.state.lost_input == "Old board"


def test_a_pedal_that_vanishes_while_the_stage_asks_loses_nothing():
    play = Playing(settings())
    play.play_take()
    play.happen(InputLost(play.now_s, "Old board"))
    assert play.state.phase is Phase.ASKING
    play.give(Control.PASS_)
    assert play.outcomes == ["pass"]


def test_sound_that_stops_in_a_take_voids_it_and_the_stage_says_so():
    play = Playing(settings())
    run = play.begin_take()
    play.until(run.beat_s(2))
    play.happen(SoundLost(play.now_s, "The sound device has stopped"))
    assert play.outcomes == ["void"]
    assert play.state.notices == ("The sound device has stopped",)


def test_the_cautions_and_the_screen_are_asked_about_first_and_once():
    play = Playing(settings(show_cautions=True, ask_sight=True))
    assert play.state.phase is Phase.CAUTIONS
    assert CautionsSeen() in play.give(Control.PASS_)
    assert play.state.phase is Phase.SCREEN_SIZE
    play.give(Control.PASS_)
    assert SightChosen(screen_inches=17.3) in play.give(Control.PAUSE)
    assert SightChosen(distance_m=2.0) in play.give(Control.PAUSE)
    assert play.state.phase is Phase.READY


def test_a_rest_is_offered_after_twenty_minutes_of_playing_and_waits_for_the_foot():
    play = Playing(settings(minutes=600, starts_bpm=(60,), step_bpm=1))
    takes = 0
    while play.state.phase is not Phase.REST_OFFERED:
        play.answer(Control.PASS_ if takes % 2 else Control.FAIL)
        if play.state.phase is Phase.FINISHED:
            play.choose(Choice.ONCE_MORE)
            play.give(Control.PASS_)
            continue
        takes += 1
        play.until(play.state.due_s or play.now_s)
    assert play.state.since_rest_s >= 20 * 60
    play.wait(600)
    assert play.state.phase is Phase.REST_OFFERED
    play.give(Control.PASS_)
    assert play.state.phase is Phase.RESTING
    play.wait(120 + 3)
    assert play.state.phase is Phase.COUNT_IN
    assert play.state.since_rest_s < 60


def test_a_rest_can_be_skipped_by_foot():
    play = Playing(settings(rest_after_s=5))
    play.answer(Control.PASS_)
    play.wait(2)
    assert play.state.phase is Phase.REST_OFFERED
    play.give(Control.FAIL)
    assert play.state.phase is Phase.COUNT_IN


# --- replay ---------------------------------------------------------------------------


def test_the_recorded_events_of_a_session_give_its_states_and_takes_again():
    play = Playing(settings("Am E", "F", starts_bpm=(60, 70)))
    for control in (Control.PASS_, Control.FAIL, Control.FAIL):
        play.answer(control)
    play.give(Control.UNDO)
    play.give(Control.PASS_)
    play.finish()
    kept_settings = settings_from_json(settings_to_json(play.state.settings))
    kept_events = [event_from_json(event_to_json(event)) for event in play.events]
    again = list(replay(kept_settings, kept_events))
    assert kept_settings == play.state.settings
    assert again[-1][0] == play.state
    assert [effect for _, effects in again for effect in effects] == play.effects


def test_a_log_of_before_that_says_again_means_repeat():
    record = event_to_json(Given(1.0, 0.9, 900.9, Control.REPEAT, "key"))
    assert record["control"] == "repeat"
    assert event_from_json(record | {"control": "again"}) == event_from_json(record)


# --- a planned session ---------------------------------------------------------------------


def planned_session(*drills: str, targets: tuple[float, ...], minutes: tuple[float, ...]) -> Playing:
    return Playing(
        settings(
            *drills,
            ladder="seek",
            minutes_each=minutes,
            modes=("practise",) * len(drills),
            reasons=drills,
            targets_bpm=targets,
            starts_bpm=(90,) * len(drills),
        )
    )


def clean_until_done(play: Playing) -> int:
    if play.state.phase is Phase.PLAN:
        play.give(Control.PASS_)
    for takes in range(60):
        if play.state.phase in {Phase.DRILL_DONE, Phase.FINISHED}:
            return takes
        play.answer(Control.PASS_)
    raise AssertionError("it never ended")


def test_a_planned_block_ends_when_it_has_what_the_song_asks_for_and_says_so():
    play = planned_session("Am E", "C F", targets=(60.0, 200.0), minutes=(3.0, 3.0))
    assert clean_until_done(play) >= 3
    assert play.state.results[-1].result.ending == Ending(EndedBy.READY, 60.0)


def test_a_drill_that_the_player_named_goes_on_beyond_what_a_song_asks():
    play = Playing(settings("Am E", ladder="seek", mode="practise", targets_bpm=(60.0,), minutes=2))
    assert clean_until_done(play) > 3
    assert play.state.results[-1].result.ending.by is EndedBy.TIME_UP


def test_a_plan_passes_over_what_this_session_has_made_ready():
    play = planned_session("Am E", "C F", "Am E", "C F", targets=(60.0, 300.0) * 2, minutes=(3.0,) * 4)
    for _ in range(2):
        clean_until_done(play)
        play.give(Control.PASS_)
    assert play.state.drill_index == 3


def test_a_plan_that_came_to_its_end_with_minutes_left_goes_round_again():
    play = planned_session("Am E", "C F", targets=(60.0, 60.0), minutes=(6.0, 6.0))
    left = []
    for _ in range(3):
        clean_until_done(play)
        assert play.state.phase is Phase.DRILL_DONE
        left.append(play.state.drill_index)
        play.give(Control.PASS_)
    assert left == [0, 1, 0]
    assert [one.drill.words for one in play.state.results] == ["Am E", "C F", "Am E"]


def test_a_plan_ends_when_its_minutes_are_used():
    play = planned_session("Am E", "C F", targets=(60.0, 60.0), minutes=(1.0, 1.0))
    for _ in range(9):
        clean_until_done(play)
        if play.state.phase is Phase.FINISHED:
            break
        play.give(Control.PASS_)
    assert play.state.phase is Phase.FINISHED
    assert play.state.used_s + play.state.spent_s > 60
