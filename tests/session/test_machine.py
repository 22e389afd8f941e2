"""Whatever a foot does, in whatever order: properties of the session that always hold."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.ladders.ladder import climb
from pedaltrainer.practice.take import AnswerStyle, Outcome
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.effects import CancelTake, PlayRun, RecordTake, StopClick
from pedaltrainer.session.events import InputBack, InputLost, SoundLost, Taught
from pedaltrainer.session.state import CLICKING, Phase
from pedaltrainer.session.transitions import pause_choices
from tests.session.playing import Playing
from tests.session.playing import settings as session_settings

DOINGS = st.one_of(
    st.tuples(st.just("give"), st.sampled_from(Control)),
    st.tuples(st.just("press"), st.none()),
    st.tuples(st.just("wait"), st.floats(0.01, 12)),
    st.tuples(st.just("tap in a take"), st.floats(0.0, 1.0)),
    st.tuples(st.just("play on to the end of the take"), st.none()),
    st.tuples(st.sampled_from(["lose pedal", "pedal back", "lose sound"]), st.none()),
)


def play_all(style: AnswerStyle, drills: list[str], doings: list[tuple[str, object]]) -> Playing:
    play = Playing(session_settings(*drills, style=style, minutes=2, show_cautions=True, ask_sight=True))
    for what, value in doings:
        match what:
            case "give":
                play.press()
                play.give(value)
            case "press":
                play.press()
            case "wait":
                play.wait(value)
            case "tap in a take":
                play.wait(value)
                play.press()
                play.wait(0.3)
                play.give(Control.PASS_, pressed_ago_s=0.3)
            case "play on to the end of the take":
                if play.state.phase in {Phase.READY, Phase.BREATH}:
                    play.give(Control.PASS_)
                while play.state.phase in CLICKING:
                    play.until(play.state.due_s or play.now_s)
            case "lose pedal":
                play.happen(InputLost(play.now_s, "pedal"))
            case "pedal back":
                play.happen(InputBack(play.now_s, "pedal"))
            case "lose sound":
                play.happen(SoundLost(play.now_s, "gone"))
    return play


SESSIONS = {
    "style": st.sampled_from(AnswerStyle),
    "drills": st.lists(st.sampled_from(["Am E", "F", "C G"]), min_size=1, max_size=3),
    "doings": st.lists(DOINGS, max_size=60),
}


@settings(max_examples=300)
@given(**SESSIONS)
def test_the_ladder_is_always_what_the_standing_answers_make_of_it(style, drills, doings):
    state = play_all(style, drills, doings).state
    assert state.ladder == climb(state.new_ladder, state.takes_so_far)


@settings(max_examples=300)
@given(**SESSIONS)
def test_a_take_is_cancelled_only_while_it_stands(style, drills, doings):
    standing: set[int] = set()
    for effect in play_all(style, drills, doings).effects:
        if isinstance(effect, RecordTake) and effect.answered.take.outcome is not Outcome.VOID:
            assert effect.answered.run.serial not in standing
            standing.add(effect.answered.run.serial)
        if isinstance(effect, CancelTake):
            standing.remove(effect.serial)


@settings(max_examples=300)
@given(**SESSIONS)
def test_the_click_never_runs_twice_at_once_nor_on_a_waiting_stage(style, drills, doings):
    play = play_all(style, drills, doings)
    sounding_until_s = float("-inf")
    for effect in play.effects:
        if isinstance(effect, PlayRun):
            assert effect.run.start_s >= sounding_until_s
            sounding_until_s = effect.run.beat_s(effect.run.beats - 1)
        if isinstance(effect, StopClick):
            sounding_until_s = float("-inf")
    if play.state.phase not in CLICKING and play.state.phase is not Phase.BREATH:
        assert sounding_until_s <= play.now_s


@settings(max_examples=300)
@given(**SESSIONS)
def test_an_ask_session_scores_only_what_the_player_said(style, drills, doings):
    play = play_all(AnswerStyle.ASK, drills, doings)
    said = sum(what == "give" and value in {Control.PASS_, Control.FAIL} for what, value in doings)
    said += sum(what == "tap in a take" for what, _ in doings)
    assert sum(outcome != "void" for outcome in play.outcomes) <= said


@settings(max_examples=200)
@given(**SESSIONS)
def test_every_session_can_be_left_by_foot_alone(style, drills, doings):
    play = play_all(style, drills, doings)
    for _ in range(60 * len(drills)):
        if play.state.phase is Phase.CLOSED:
            break
        # A hold stops everything and opens the menu, a tap says yes, two leave a list. Only a lesson ends
        # by itself.
        asked, behind = {Phase.FINISH_ASKED, Phase.HURTS}, {Phase.CHANGES, Phase.NOTES}
        no = Control.FAIL if play.state.phase in behind else Control.PAUSE
        play.give(Control.PASS_ if play.state.phase in asked else no)
        if play.state.phase is Phase.TEACHING:
            play.happen(Taught(play.now_s, "Nothing was learnt"))
        if play.state.phase is Phase.PAUSED:
            ways_out = {Choice.FINISH, Choice.CLOSE} & {*pause_choices(play.state)}
            play.choose(*ways_out)
        play.wait(0.5)
    assert play.state.phase is Phase.CLOSED
