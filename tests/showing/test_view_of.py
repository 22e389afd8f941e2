"""From state and heard time to the stage: what the player sees, and when."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.pedals.bindings import Binding, Bindings
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.ways import said
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.screen import view as v
from pedaltrainer.screen.glyphs import SIGNS
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.events import InputLost, LogLost, Pressed, SoundStumbled, Taught
from pedaltrainer.session.state import Ack, AckKind, Phase
from pedaltrainer.showing.beat import plank_height
from pedaltrainer.showing.view_of import STUMBLES_OFTEN, Surroundings, hints, present
from pedaltrainer.songs.shipped import shape_book
from tests.session.playing import Playing, settings

TAP, DOUBLE, HOLD = GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD
AROUND = Surroundings(shape_book(), input_name="old board")


def seen(play: Playing, at_s: float | None = None) -> v.StageView:
    return present(play.state, play.now_s if at_s is None else at_s, AROUND)


# --- the plank ---------------------------------------------------------------


def test_the_plank_lies_flat_exactly_on_the_beat_and_through_its_first_half():
    assert plank_height(0.0) == plank_height(0.25) == plank_height(0.49) == 0.0


def test_the_plank_is_up_between_the_half_and_the_next_beat():
    assert plank_height(0.7) == 1.0


def test_the_plank_falls_so_as_to_lie_flat_on_the_next_beat():
    assert 0 < plank_height(0.95) < plank_height(0.85) < 1.0
    assert plank_height(0.9999) == pytest.approx(0.0, abs=1e-3)


def test_the_plank_moves_without_a_jump():
    heights = [plank_height(step / 1000) for step in range(1000)]
    assert max(abs(b - a) for a, b in zip(heights, [*heights[1:], 0.0], strict=True)) < 0.02


# --- a take ------------------------------------------------------------------


def test_the_count_in_counts_to_four():
    play = Playing(settings("Am E", starts_bpm=(60,)))
    play.give(Control.PASS_)
    run = play.runs[0]
    counts = [seen(play, run.start_s + beat + 0.1).count for beat in range(4)]
    assert counts == [1, 2, 3, 4]


def test_nothing_is_counted_before_the_first_click_is_heard():
    play = Playing(settings())
    play.give(Control.PASS_)
    view = seen(play, play.runs[0].start_s - 0.05)
    assert view.count is None
    assert view.plank.height == 0


def test_the_chord_to_land_changes_at_the_lift_half_a_beat_before_its_landing():
    play = Playing(settings("Am E", starts_bpm=(60,)))
    run = play.begin_take()
    before, after = seen(play, run.beat_s(0.49)), seen(play, run.beat_s(0.51))
    assert (before.now_chord, before.next_chord) == ("Am", "E")
    assert (after.now_chord, after.next_chord) == ("E", "Am")
    assert not before.plank.changing
    assert after.plank.changing


def test_with_four_beats_a_chord_the_hand_stays_down_but_for_the_last_half_beat_of_the_bar():
    play = Playing(settings("Am E", beats=4, starts_bpm=(60,)))
    run = play.begin_take()
    changing = [seen(play, run.beat_s(half / 2 + 0.1)).plank.changing for half in range(8)]
    assert changing == [False] * 7 + [True]
    strums = [seen(play, run.beat_s(beat + 0.7)).plank.height for beat in range(3)]
    assert strums == [1.0, 1.0, 1.0]


def test_after_the_last_landing_there_is_nothing_more_to_lift_for():
    play = Playing(settings("Am E", starts_bpm=(60,)))
    run = play.begin_take()
    view = seen(play, run.beat_s(7.45))
    assert view.landing == 8
    assert not seen(play, run.beat_s(7.6)).plank.changing
    assert seen(play, run.beat_s(7.6)).plank.height == 0


def test_beats_are_numbered_within_the_bar():
    play = Playing(settings("Am E", beats_per_bar=3, starts_bpm=(60,)))
    run = play.begin_take()
    assert [seen(play, run.beat_s(beat + 0.1)).plank.beat for beat in range(5)] == [1, 2, 3, 1, 2]


def test_the_stage_says_where_a_clean_take_and_a_missed_one_lead():
    play = Playing(settings("Am E", starts_bpm=(60,), step_bpm=8))
    view = seen(play)
    assert view.target == "then 68"
    assert (view.ladder.if_fail_bpm, view.ladder.now_bpm, view.ladder.if_pass_bpm) == (52, 60, 68)


@pytest.mark.parametrize("answer", [Control.PASS_, Control.FAIL])
@pytest.mark.parametrize("words", ["Am E", "passage Am G F E7 C D Em Bm A Dm G7 C"])
def test_the_tempo_that_the_stage_foretells_is_the_tempo_that_comes(words, answer):
    play = Playing(settings(words, ladder="seek", starts_bpm=(60,)))
    play.play_take()
    ladder = seen(play).ladder
    foretold = ladder.if_pass_bpm if answer is Control.PASS_ else ladder.if_fail_bpm
    play.give(answer)
    assert play.state.ladder.tempo_bpm == foretold


def test_rungs_carry_what_happened_on_them():
    play = Playing(settings("Am E", starts_bpm=(60,), step_bpm=8))
    play.answer(Control.PASS_)
    play.answer(Control.FAIL)
    marks = {rung.tempo_bpm: rung.mark for rung in seen(play).ladder.rungs}
    assert marks[60] is v.RungMark.PASSED
    assert marks[68] is v.RungMark.FAILED
    assert seen(play).ladder.best_bpm == 60


def test_every_hint_is_what_the_gesture_does_now():
    play = Playing(settings())
    play.play_take()
    assert [(hint.gesture, hint.words) for hint in seen(play).hints] == [
        ("tap", "clean"),
        ("double tap", "missed"),
        ("hold", "menu"),
    ]


@pytest.mark.parametrize("style", list(AnswerStyle))
@pytest.mark.parametrize("phase", [phase for phase in Phase if phase not in {Phase.CLOSED, Phase.TEACHING}])
def test_in_every_phase_one_switch_can_say_something(phase, style):
    state = replace(Playing(settings("Am E", "F", style=style)).state, phase=phase)
    assert hints(state)


def test_the_stage_names_the_switches_of_the_pedal_that_is_there():
    two = Bindings(
        (
            Binding("board", "controller 80", {TAP: Control.PASS_}, foot="a"),
            Binding("board", "controller 81", {TAP: Control.FAIL, HOLD: Control.PAUSE}, foot="b"),
        )
    )
    play = Playing(settings())
    play.play_take()
    around = replace(AROUND, said=said(two, "board"))
    hinted = [(hint.gesture, hint.words) for hint in present(play.state, play.now_s, around).hints]
    assert hinted == [("switch 1", "clean"), ("switch 2", "missed"), ("hold switch 2", "menu")]


def test_a_pedal_without_a_hold_is_told_to_rest_in_a_list_and_the_rest_is_drawn():
    latching = Bindings((Binding("box", "*", {TAP: Control.PASS_, DOUBLE: Control.FAIL}),))
    around = replace(AROUND, said=said(latching, "box"))
    play = Playing(settings())
    play.give(Control.FAIL)
    view = present(play.state, play.now_s, around)
    assert [(hint.gesture, hint.words) for hint in view.hints] == [
        ("tap", "move"),
        ("rest the foot", "choose"),
    ]
    assert view.rested is None
    play.happen(Pressed(play.now_s, play.now_s, "foot", dwells=True))
    play.give(Control.PASS_)
    assert present(play.state, play.now_s + 1.25, around).rested == pytest.approx(0.5)
    assert present(play.state, play.now_s + 1.25, around).chosen == 1


def test_the_end_is_not_called_a_pause():
    play = Playing(settings())
    play.answer(Control.PASS_)
    play.finish()
    play.give(Control.PASS_)
    view = seen(play)
    assert view.title == "That is all"
    assert view.choices[0] == "Close"


def test_speaking_up_says_press_at_a_miss():
    play = Playing(settings(style=AnswerStyle.SPEAK_UP))
    play.begin_take()
    assert seen(play).headline == "Press at a miss"
    assert seen(play).hints[0].words == "missed"


def test_an_answer_is_acknowledged_in_words_and_ages():
    play = Playing(settings(starts_bpm=(60,)))
    play.answer(Control.FAIL)
    ack = seen(play, play.now_s + 0.25).ack
    assert (ack.sign, ack.words) == ("cross", "Missed at 60")
    assert ack.age_s == pytest.approx(0.25)


@pytest.mark.parametrize("kind", AckKind)
def test_every_acknowledgement_has_a_sign_that_the_screen_can_draw(kind):
    play = Playing(settings())
    state = replace(play.state, ack=Ack(kind, 0.0))
    assert present(state, 0.0, AROUND).ack.sign in SIGNS


def test_a_chord_that_is_not_in_the_book_has_a_box_too():
    view = seen(Playing(settings("Ebm9 C")))
    assert view.now_box is not None
    assert view.next_box is not None


def test_a_chord_that_the_tuning_cannot_play_is_practised_without_a_box():
    one_note = Surroundings(ShapeBook({}, Tuning((40, 40, 40, 40))))
    view = present(Playing(settings("F C13")).state, 0.0, one_note)
    assert view.now_box is None
    assert view.now_chord == "F"


def test_the_stage_shows_the_symbol_and_the_frets_that_were_chosen():
    view = seen(Playing(settings("G[320033/210034] C")))
    assert view.now_chord == "G"
    assert view.now_box.frets == (3, 2, 0, 0, 3, 3)
    assert view.drill == "C – G"


def test_a_left_handed_player_sees_left_handed_boxes():
    view = present(Playing(settings("C Am")).state, 0.0, Surroundings(shape_book(), left_handed=True))
    assert view.left_handed


# --- what was found, and what is planned --------------------------------------------


def the_summary(*answers: Control) -> v.StageView:
    play = Playing(settings("Am E", ladder="seek", starts_bpm=(80,)))
    for answer in answers:
        play.answer(answer)
    play.finish()
    return seen(play)


def test_clean_takes_alone_are_told_as_above_a_tempo():
    assert the_summary(Control.PASS_, Control.PASS_).figure.startswith("faster than ")


def test_missed_takes_alone_are_told_as_below_a_tempo():
    assert the_summary(Control.FAIL, Control.FAIL).figure.startswith("slower than ")


def test_one_clean_and_one_missed_take_are_no_single_figure():
    assert "–" in the_summary(Control.PASS_, Control.FAIL).figure


def test_a_line_of_the_plan_names_its_drill():
    more = {
        "minutes_each": (1, 3),
        "modes": ("slow", "measure"),
        "reasons": ("warm-up: slow, the easiest for you", "F alone: it is new"),
    }
    view = seen(Playing(settings("C G", "F", **more)))
    assert view.lines == ("1 min  C – G, slowly: warm-up", "3 min  F alone: it is new")


def test_a_long_reason_in_the_plan_ends_with_its_first_clause():
    more = {"minutes_each": (3,), "modes": ("measure",)}
    reasons = ("Em – Bm: not measured yet; Low water asks for 96 BPM",)
    view = seen(Playing(settings("Em Bm", reasons=reasons, **more)))
    assert view.lines == ("3 min  Em – Bm: not measured yet",)


def test_slow_work_is_summed_up_by_how_many_takes_were_clean():
    play = Playing(settings("pressure F", ladder="hold"))
    play.answer(Control.PASS_)
    play.finish()
    view = seen(play)
    assert view.figure == "1 of 1"
    assert view.figure_words.endswith("one slow take, clean")


# --- slow pressure work ---------------------------------------------------------


def test_a_pressure_drill_shows_its_stages_a_beat_each():
    play = Playing(settings("pressure F"))
    run = play.begin_take()
    stages = [seen(play, run.beat_s(beat + 0.1)).now_chord for beat in range(5)]
    assert stages == ["ring", "unload", "clear", "meet", "ring"]
    assert seen(play, run.beat_s(2.1)).next_chord == "meet"


def test_the_height_of_clear_begins_at_a_millimetre_and_grows():
    play = Playing(settings("pressure F"))
    run = play.begin_take()
    heights = [seen(play, run.beat_s(4 * landing + 2.1)).instruction for landing in range(8)]
    assert heights[0] == "Off the strings: about 1 mm"
    assert heights[-1] == "Off the strings: about 8 mm"


def test_a_pressure_drill_keeps_its_slow_tempo():
    play = Playing(settings("pressure F", ladder="seek"))
    first = play.answer(Control.PASS_)
    second = play.answer(Control.PASS_)
    assert first.tempo_bpm == second.tempo_bpm == 50


# --- a passage in its rhythm ------------------------------------------------------


def test_the_chords_of_a_passage_come_when_the_song_has_them():
    play = Playing(settings("passage Am:3 G F:3/2 E7:5/2", starts_bpm=(60,)))
    run = play.begin_take()
    assert (run.landings, run.beats) == (8, 16)
    shown = {
        beat: seen(play, run.beat_s(beat)).now_chord for beat in (0.1, 2.4, 2.6, 3.6, 4.9, 5.1, 7.4, 7.6)
    }
    assert list(shown.values()) == ["Am", "Am", "G", "F", "F", "E7", "E7", "Am"]


def test_the_hand_is_told_to_lift_half_a_beat_before_a_chord_off_the_beat():
    play = Playing(settings("passage Am:3 G F:3/2 E7:5/2", starts_bpm=(60,)))
    run = play.begin_take()
    changing = [seen(play, run.beat_s(beat)).plank.changing for beat in (4.9, 5.1, 5.4, 5.6)]
    assert changing == [False, True, True, False]


def test_a_press_in_a_passage_is_about_the_chord_that_sounded():
    play = Playing(settings("passage Am:3 G F:3/2 E7:5/2", starts_bpm=(60,), style=AnswerStyle.SPEAK_UP))
    run = play.begin_take()
    play.until(run.beat_s(3.6))
    play.press()
    assert play.records[-1].answered.take.first_miss == 2


# --- how the hand goes through the gap ------------------------------------------


def test_in_an_instant_change_the_name_changes_a_quarter_beat_early():
    play = Playing(settings("C F instant", starts_bpm=(60,)))
    run = play.begin_take()
    assert seen(play, run.beat_s(0.7)).now_chord == "C"
    assert seen(play, run.beat_s(0.8)).now_chord == "F"
    lifted = Playing(settings("C F", starts_bpm=(60,)))
    assert seen(lifted, lifted.begin_take().beat_s(0.7)).now_chord == "F"


def test_fingers_that_stay_are_marked_in_both_boxes():
    view = seen(Playing(settings("C Am")))
    assert view.now_box.stays == view.next_box.stays
    assert 4 in view.now_box.stays


def test_before_the_first_take_the_stage_names_the_foot():
    assert seen(Playing(settings())).headline == "Foot: old board"
    keys = present(Playing(settings()).state, 0.0, replace(AROUND, input_name=""))
    assert keys.headline == "Space is the foot"


# --- pages and troubles ----------------------------------------------------------


def test_the_first_page_has_the_cautions_and_names_a_doctor_or_teacher():
    view = seen(Playing(settings(show_cautions=True)))
    assert any("pain, tingling or numbness" in line for line in view.lines)
    assert "doctor" in view.small_print[0]
    assert "teacher" in view.small_print[0]


def test_the_summary_shows_the_fastest_rungs_passed_and_the_cautions():
    play = Playing(settings("Am E", "F", starts_bpm=(60, 60), minutes=0.2))
    play.answer(Control.PASS_)
    assert seen(play).figure == "60 BPM"
    assert "Next: F, landed again" in seen(play).lines
    play.give(Control.PASS_)
    play.answer(Control.FAIL)
    view = seen(play)
    assert play.state.phase is Phase.FINISHED
    assert view.lines[:2] == ("Am – E: 60 BPM", "F, landed again: 0 of 1")
    assert "pain" in view.small_print[0]


def test_the_summary_names_three_drills_how_long_it_was_and_what_is_next():
    play = Playing(settings("Am E", "F", "C G", "D A", "Em G", minutes=0.5))
    play.answer(Control.PASS_)
    while play.state.phase is not Phase.FINISHED:
        play.give(Control.PASS_)
        play.answer(Control.PASS_)
    play.state = replace(play.state, played_s=400.0)
    view = present(play.state, play.now_s, Surroundings(shape_book(), next_time="C – F"))
    assert len(view.lines) == 5
    assert view.lines[3:] == ("… 2 more; 6:40 played: now rest.", "Next time: C – F.")
    for size in ((1366, 768), (1920, 1080)):
        assert layout_of(view, size, v.Sight()).shortfalls == ()


def test_a_rest_counts_down():
    play = Playing(settings(rest_after_s=5))
    play.answer(Control.PASS_)
    play.wait(2)
    play.give(Control.PASS_)
    assert [seen(play, play.now_s + gone).figure for gone in (0, 60, 119.5)] == ["2:00", "1:00", "0:01"]


def test_a_lost_pedal_and_a_log_that_refuses_are_said_on_the_stage():
    play = Playing(settings())
    play.happen(InputLost(0.0, "old board"))
    play.happen(LogLost(0.0, "The log is locked."))
    assert seen(play).notices[0] == "The log is locked."
    assert seen(play).notices[1].startswith("old board has gone")


def test_a_song_that_was_left_out_is_told_until_the_first_take_and_hides_no_headline_after():
    around = Surroundings(shape_book(), at_first=("low.chart, line 3: “Q” is not a chord symbol.",))
    play = Playing(settings())
    assert present(play.state, play.now_s, around).notices == around.at_first
    play.give(Control.PASS_)
    assert play.state.phase is Phase.COUNT_IN
    assert present(play.state, play.now_s, around).notices == ()
    play.answer(Control.PASS_)
    assert present(play.state, play.now_s, around).notices == ()


def test_every_phase_can_be_shown():
    shown: set[Phase] = set()
    planned = {"minutes_each": (0.5, 0.5), "modes": ("practise", "measure"), "reasons": ("slow", "new")}
    play = Playing(settings("Am E", "F", show_cautions=True, ask_sight=True, rest_after_s=30, **planned))
    for _ in range(400):
        play.now_s = max(play.now_s, play.state.now_s)
        shown.add(play.state.phase)
        assert seen(play) is not None
        if play.state.phase is Phase.CLOSED:
            break
        if play.state.phase is Phase.BREATH and Phase.NOTES not in shown:
            play.choose(Choice.NOTE)
        elif play.state.phase is Phase.NOTES:
            play.give(Control.PAUSE)
        elif play.state.phase in {Phase.CHANGES, Phase.HURTS}:
            play.give(Control.FAIL)
        elif play.state.due_s is not None:
            play.until(play.state.due_s)
        elif (play.state.phase is Phase.READY and Phase.PAUSED not in shown) or play.state.phase in {
            Phase.SCREEN_SIZE,
            Phase.DISTANCE,
        }:
            play.give(Control.PAUSE)
        elif play.state.phase is Phase.PAUSED and Phase.FINISHED not in shown:
            rows = {
                Phase.TEACHING: Choice.TEACH,
                Phase.SWITCHES: Choice.SWITCHES,
                Phase.CHANGES: Choice.CHANGE,
            }
            play.choose(next((row for phase, row in rows.items() if phase not in shown), Choice.GO_ON))
        elif play.state.phase is Phase.TEACHING:
            play.happen(Taught(play.now_s, "Learnt"))
        elif play.state.phase is Phase.READY and Phase.FINISH_ASKED not in shown:
            play.give(Control.QUIT)
        elif play.state.phase is Phase.FINISH_ASKED:
            play.give(Control.FAIL)
        elif play.state.phase is Phase.PAUSED:
            play.give(Control.PAUSE)
        else:
            play.give(Control.PASS_)
    # The sound check is in tests/session/test_ear.py.
    assert shown == set(Phase) - {Phase.STILL_THERE, Phase.SOUND_CHECK}


# --- the shapes while playing ------------------------------------------------------------


def test_a_passage_says_how_long_each_chord_lasts():
    play = Playing(settings("passage Am:2 G F:4 C:3/2", starts_bpm=(60,)))
    assert seen(play).drill == "Am 2 – G 1 – F 4 – C 1.5 beats"
    run = play.begin_take()
    said = [seen(play, run.beat_s(beat)).headline for beat in (0.1, 2.1, 3.1, 7.1)]
    assert said == ["2 beats, then 1", "1 beat, then 4", "4 beats, then 1.5", "1.5 beats, then 2"]


def test_a_pressure_drill_names_its_chord_beside_the_stage_and_says_what_to_do_in_a_line_of_its_own():
    play = Playing(settings("pressure F"))
    run = play.begin_take()
    view = seen(play, run.beat_s(1.1))
    assert (view.now_chord, view.instruction) == ("unload", "Stop pressing, stay in touch")
    assert [box.title for box in view.boxes] == ["F"]
    assert view.boxes_in_take


def test_a_level_drill_names_the_shape_it_shows():
    view = seen(Playing(settings("level F Cm")))
    assert (view.now_chord, view.next_chord) == ("F", "Bbm")
    assert view.next_box.title == "Bbm"


def test_the_menu_shows_the_shapes_of_the_drill_that_was_stopped():
    play = Playing(settings("Am E"))
    play.give(Control.PAUSE)
    assert [box.title for box in seen(play).boxes] == ["Am", "E"]


def test_the_ladder_keeps_its_place_in_a_take_for_who_wants_the_boxes_between_takes():
    view = present(Playing(settings()).state, 0.0, replace(AROUND, boxes_in_take=False))
    assert not view.boxes_in_take


def test_after_the_second_stumble_a_larger_buffer_is_proposed():
    play = Playing(settings(starts_bpm=(60,)))
    for stumbles in (1, 2):
        play.begin_take()
        play.happen(SoundStumbled(play.now_s, play.now_s))
        assert (STUMBLES_OFTEN in seen(play).notices) == (stumbles == 2)
        assert seen(play).ack.words == "The sound stumbled: that was no take"
