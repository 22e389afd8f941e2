"""The ear beside the foot: what it hears is told at the question, and answers by itself only where it may."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.screen.view import Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.effects import CancelTake, CheckSound
from pedaltrainer.session.events import EarHeard, LandingTold, SoundChecked
from pedaltrainer.session.replay import (
    event_from_json,
    event_to_json,
    replay,
    settings_from_json,
    settings_to_json,
)
from pedaltrainer.session.state import Phase
from pedaltrainer.showing.heard import ADVISES, ANSWERS, NOT_OVER_THE_CLICK, heard_words
from pedaltrainer.showing.view_of import Surroundings, hints, present
from pedaltrainer.showing.words import action_words
from pedaltrainer.songs.shipped import shape_book
from tests.session.playing import Playing, settings

YES, NO, NEXT = Control.PASS_, Control.FAIL, Control.NEXT
OK, LATE = LandingTold("ok", 3.0), LandingTold("late", 90.4)
THREE = ("low E", "B", "high E")
MISSED = (OK,) * 4 + (LATE,) + (OK,) * 3


def heard(
    play: Playing, landings: tuple[LandingTold, ...] = MISSED, take: str = "missed", **more: object
) -> EarHeard:
    """What the ear makes of the take that was begun last, sure of it where nothing else is said."""
    told = {"guard": True, "has_reference": True, "clearness_db": 36.0} | more
    assert play.state.last_run is not None
    return EarHeard(play.now_s, play.state.last_run.serial, take, landings=landings, **told)  # type: ignore[arg-type]


def playing(judge: bool = True, style: AnswerStyle = AnswerStyle.ASK, **more: object) -> Playing:
    play = Playing(settings("Am E", style=style, ear=True, ear_answers=judge, **more))
    play.give(NEXT)
    return play


# --- the sound check -------------------------------------------------------------------------


def test_a_session_with_the_ear_begins_with_a_sound_check_by_foot():
    play = Playing(settings("Am E", ear=True))
    assert play.state.phase is Phase.SOUND_CHECK
    assert play.give(YES) == (CheckSound(),)
    assert play.give(YES) == ()
    play.wait(4)
    play.happen(SoundChecked(play.now_s, "mic", -60, None, None))
    assert play.state.phase is Phase.SOUND_CHECK
    assert CheckSound() in play.give(NO)
    play.happen(SoundChecked(play.now_s, "mic", -60, None, None))
    play.give(YES)
    assert play.state.phase is Phase.READY


def test_without_the_ear_there_is_none_nor_where_it_was_checked_in_a_session_before():
    assert Playing(settings("Am E")).state.phase is Phase.READY
    assert Playing(settings("Am E", ear=True, sound_checked=True)).state.phase is Phase.READY


@pytest.mark.parametrize(
    ("checked", "said"),
    [
        (SoundChecked(1.0, "mic", -62, None, None), "The click does not reach it: good."),
        (
            SoundChecked(1.0, "mic", -62, 31.2, 118.0),
            "The click reaches it 31 dB above the room, after 118 ms: use headphones.",
        ),
        (
            SoundChecked(1.0, "", why="no input"),
            "No microphone was found.",
        ),
        (
            SoundChecked(1.0, "mic", why="silent"),
            "Is it the right one, and turned up?",
        ),
    ],
)
def test_the_page_says_what_came_of_it_and_that_no_sound_is_kept(checked, said):
    play = Playing(settings("Am E", ear=True))
    play.give(YES)
    play.happen(checked)
    page = present(play.state, play.now_s, Surroundings(shape_book(), level=0.2))
    assert said in page.lines
    assert layout_of(page, (1366, 768), Sight(15.6, 2.0)).shortfalls == ()
    assert page.small_print[0].startswith("No sound is kept, and nothing leaves this computer")


@pytest.mark.parametrize(("answers", "who"), [(False, ADVISES), (True, ANSWERS)])
@pytest.mark.parametrize("strings", [None, ("low E", "A", "D")])
def test_the_page_says_who_answers(answers, who, strings):
    play = Playing(settings("Am E", ear=True, ear_answers=answers))
    page = present(play.state, play.now_s, Surroundings(shape_book(), level=0.2, strings=strings))
    assert page.small_print[0].endswith(who)
    assert layout_of(page, (1366, 768), Sight(15.6, 2.0)).shortfalls == ()


@pytest.mark.parametrize(
    ("strings", "checked", "lines"),
    [
        ((), None, ("Play each string, open.", "I hear none yet.", "Then tap.")),
        (("low E", "A", "D"), None, ("Play each string, open.", "I hear: low E, A, D.", "Then tap.")),
        (
            ("low E", "A", "D", "G", "B", "high E"),
            SoundChecked(1.0, "Six", by_notes=True),
            ("I hear every string: good.", "Two clean takes come first: others are held to them."),
        ),
        (
            (),
            SoundChecked(1.0, "Six", why="silent", by_notes=True),
            ("The MIDI guitar sends nothing.", "Is it the right one, and turned up?"),
        ),
        (
            (),
            SoundChecked(1.0, "", why="no input", by_notes=True),
            ("No MIDI guitar was found.", "Plug one in, or play without it."),
        ),
        (
            (),
            SoundChecked(1.0, "Keys", why="other instrument", by_notes=True),
            ("Those are no guitar's notes.", "Is it the right one, and tuned as is set up?"),
        ),
    ],
)
def test_of_a_midi_guitar_the_page_names_the_strings_that_it_hears(strings, checked, lines):
    play = Playing(settings("Am E", ear=True))
    if checked is not None:
        play.give(YES)
        play.happen(checked)
    page = present(play.state, play.now_s, Surroundings(shape_book(), strings=strings))
    assert page.lines == lines
    assert layout_of(page, (1366, 768), Sight(15.6, 2.0)).shortfalls == ()
    assert page.small_print[0].startswith("No notes are kept, and nothing leaves this computer")


# --- what is told ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("landings", "take", "more", "words"),
    [
        ((OK,) * 8, "clean", {}, "Heard: all 8 in order"),
        (MISSED, "missed", {}, "Landing 5 was 90 ms late"),
        ((LandingTold("absent"), LATE, *[OK] * 6), "missed", {}, "Landing 1 was not struck (1 of 2)"),
        ((OK, LandingTold("dead", 2.0, ("D",))), "missed", {}, "Landing 2: D silent"),
        ((OK, LandingTold("dead", 2.0, THREE)), "missed", {}, "Landing 2: low E, B, high E silent"),
        (
            (LandingTold("dead", None, (*THREE, "A")),) * 2,
            "missed",
            {},
            "Landing 1: 4 strings silent (1 of 2)",
        ),
        ((LandingTold("unsure"), OK, LandingTold("unsure")), "unsure", {}, "Not sure of landing 1, 3"),
        ((), "unsure", {"guard": False}, NOT_OVER_THE_CLICK),
        ((), "unsure", {"why": "no chords"}, "I heard no chords"),
        ((), "unsure", {"why": "gone"}, "The microphone has gone"),
        ((), "unsure", {"why": "clipped"}, "The microphone is too loud"),
        ((), "unsure", {"why": "gone", "by_notes": True}, "The MIDI guitar has gone"),
        ((), "unsure", {"why": "no chords", "by_notes": True}, "No note came from the MIDI guitar"),
        ((), "unsure", {"why": "flood", "by_notes": True}, "Too many notes for a guitar"),
    ],
)
def test_at_the_question_it_is_told_what_was_heard_and_the_foot_answers_as_ever(landings, take, more, words):
    play = playing(judge=False)
    play.play_take()
    play.happen(heard(play, landings, take, **more))
    assert play.state.phase is Phase.ASKING
    view = present(play.state, play.now_s, Surroundings(shape_book()))
    assert view.instruction == words == heard_words(play.state.heard)
    assert layout_of(view, (1366, 768), Sight(15.6, 2.0)).shortfalls == ()
    play.wait(0.5)
    play.give(YES)
    assert play.outcomes == ["pass"]
    assert play.records[0].answered.judge == "foot"


def test_of_several_landings_each_is_told_in_turn():
    play = playing(judge=False)
    play.play_take()
    silent = LandingTold("dead", 2.0, ("D", "high E"))
    play.happen(heard(play, (LandingTold("absent"), LATE, silent, LandingTold("unsure"), *[OK] * 4)))
    views = [
        present(play.state, play.state.since_s + after_s, Surroundings(shape_book()))
        for after_s in (0.5, 2.5, 4.5, 6.5, 8.5)
    ]
    assert [view.instruction for view in views] == [
        "Landing 1 was not struck (1 of 4)",
        "Landing 2 was 90 ms late (2 of 4)",
        "Landing 3: D, high E silent (3 of 4)",
        "Not sure of landing 4 (4 of 4)",
        "Landing 1 was not struck (1 of 4)",
    ]
    for view in views:
        assert layout_of(view, (1366, 768), Sight(15.6, 2.0)).shortfalls == ()


def test_what_is_told_of_another_take_is_not_taken_for_this_one():
    play = playing()
    play.play_take()
    play.happen(replace(heard(play), serial=7))
    assert play.state.heard is None
    assert play.state.phase is Phase.ASKING


# --- where it answers by itself ----------------------------------------------------------------


def test_where_it_may_it_answers_a_take_that_it_is_sure_was_missed():
    play = playing()
    play.play_take()
    play.happen(heard(play))
    assert play.outcomes == ["fail"]
    answered = play.records[0].answered
    assert (answered.judge, answered.pressed_s) == ("ear", None)
    # Where every take is asked about, no answer tells where it went wrong: so it reads from the log.
    assert answered.take.first_miss is None


@pytest.mark.parametrize(
    "unsure",
    [
        {"guard": False},
        {"has_reference": False},
        {"clearness_db": 29.0},
        {"click": True},
        {"take": "unsure"},
        {"take": "clean", "landings": (OK,) * 8},
        {"landings": (LandingTold("dead", 1.0, ("D",)), *[OK] * 7)},
        {"landings": (LandingTold("wrong", 1.0), *[OK] * 7)},
        {"landings": (LandingTold("wrong", 1.0, sure=False), *[OK] * 7)},
        {"landings": (LandingTold("late", 51.0, sure=False), LandingTold("absent", sure=False), *[OK] * 6)},
    ],
)
def test_it_never_answers_without_reference_guard_clearness_or_of_what_it_only_tells(unsure):
    play = playing()
    play.play_take()
    play.happen(heard(play, **unsure))
    assert play.state.phase is Phase.ASKING
    assert play.outcomes == []


def test_of_a_midi_guitar_neither_room_nor_click_matter():
    play = playing()
    play.play_take()
    play.happen(heard(play, clearness_db=0.0, by_notes=True))
    assert play.outcomes == ["fail"]
    other = playing()
    other.play_take()
    other.happen(heard(other, clearness_db=0.0, by_notes=True, has_reference=False))
    assert other.outcomes == []


def test_of_another_chord_it_answers_where_it_is_sure_of_it_and_tells_the_first_that_it_is_sure_of():
    play = playing(style=AnswerStyle.SPEAK_UP)
    play.play_take()
    told = (LandingTold("late", 51.0, sure=False), OK, LandingTold("wrong", 1.0, sure=True), *[OK] * 5)
    play.happen(heard(play, told))
    assert play.outcomes == ["pass", "fail"]
    assert play.records[-1].answered.take.first_miss == 3


def test_the_foot_overrules_it_with_one_gesture():
    play = playing()
    play.play_take()
    play.happen(heard(play))
    assert play.state.phase is Phase.BREATH
    assert (NO, "it was clean") in [
        (control, action_words(play.state, action)) for control, action in hints(play.state)
    ]
    play.wait(0.2)
    play.give(NO)
    assert play.outcomes == ["fail", "pass"]
    assert play.records[-1].answered.judge == "foot"
    assert [effect for effect in play.effects if isinstance(effect, CancelTake)]
    # What the foot has said stands: no is the menu again.
    play.wait(0.1)
    play.give(NO)
    assert play.state.phase is Phase.PAUSED


def test_of_a_foot_that_speaks_up_it_corrects_the_silence():
    play = playing(style=AnswerStyle.SPEAK_UP)
    play.play_take()
    assert play.outcomes == ["pass"]
    play.happen(heard(play))
    assert play.outcomes == ["pass", "fail"]
    answered = play.records[-1].answered
    assert (answered.judge, answered.take.first_miss) == ("ear", 5)


def test_it_never_contradicts_the_foot():
    play = playing(style=AnswerStyle.SPEAK_UP)
    run = play.begin_take()
    play.until(run.beat_s(2.3))
    play.press()
    play.happen(heard(play))
    assert play.outcomes == ["fail"]
    asked = playing()
    asked.play_take()
    asked.wait(0.1)
    asked.give(YES)
    asked.happen(heard(asked))
    assert asked.outcomes == ["pass"]


def test_a_session_with_the_ear_is_told_again_without_any_sound():
    play = playing()
    play.play_take()
    play.happen(heard(play, (LandingTold("absent", sure=True), *[OK] * 7)))
    play.wait(0.2)
    play.give(NO)
    kept = settings_from_json(settings_to_json(play.state.settings))
    *_, (again, _) = replay(kept, (event_from_json(event_to_json(event)) for event in play.events))
    assert again == play.state


def test_a_log_from_before_it_told_how_sure_it_is_is_told_as_it_was():
    now = event_to_json(EarHeard(1.0, 1, "missed", True, True, 40.0, MISSED))
    then = now | {"landings": [one[:3] for one in now["landings"]]}
    assert event_from_json(then) == event_from_json(now)
    assert event_from_json(then).first_sure == 5
    assert event_from_json(then).is_sure
