"""What happens next: `step(state, event) -> (state, effects)`, and nothing else.

Pure: no clock, device, file or screen. Every event carries its own time, so
running `step` over a session's recorded events gives the same states, takes
and effects again.
"""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.actions import ACTIONS
from pedaltrainer.session.course import (
    Step,
    acknowledge,
    count_in,
    drill_done,
    enter,
    first_page,
    go_on,
    land,
    lesson_over,
    miss_now,
    pause,
    silence_is_a_pass,
    take_back,
    the_run,
    void_run,
)
from pedaltrainer.session.effects import Close, StartTeaching
from pedaltrainer.session.events import (
    Due,
    Event,
    Given,
    InputBack,
    InputLost,
    LogBack,
    LogLost,
    Opened,
    Pressed,
    Shut,
    SoundLost,
    Taught,
)
from pedaltrainer.session.meanings import meaning
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import CLICKING, PLAYING, AckKind, Phase, State

AT_AN_END = frozenset({Phase.DRILL_DONE, Phase.FINISHED, Phase.CLOSED})
"""Phases in which the drill's result is there already."""


def begin(settings: Settings) -> State:
    """The state before anything has happened."""
    return State(
        settings=settings,
        phase=Phase.READY,
        ladder=settings.new_ladder(0),
        allowances_s=settings.allowances_s,
    )


def step(state: State, event: Event) -> Step:
    """The state after one event, and what the world is to do about it."""
    state = _pass_time(state, event.heard_s)
    match event:
        case Opened() if state.settings.teach:
            return enter(state, Phase.TEACHING), (StartTeaching(),)
        case Opened():
            return first_page(state), ()
        case Pressed():
            return _pressed(state, event)
        case Given():
            return _given(state, event)
        case Due():
            return _due(state)
        case InputLost():
            return _input_lost(state, event)
        case InputBack():
            back = acknowledge(state, AckKind.OTHER, f"{event.name} is back")
            still_lost = None if state.lost_input == event.name else state.lost_input
            return replace(state, lost_input=still_lost, ack=back), ()
        case SoundLost():
            return _sound_lost(state, event.words)
        case LogLost():
            return _log_lost(state, event.words)
        case LogBack():
            back = acknowledge(state, AckKind.OTHER, "The log is written again")
            return replace(state, log_trouble=None, ack=back), ()
        case Taught() if state.phase is Phase.TEACHING:
            return lesson_over(state, event.words)
        case Taught():
            return state, ()
        case Shut():
            state, effects = void_run(state)
            # A drill that was under way has come to something too.
            told = drill_done(state) if state.answers and state.phase not in AT_AN_END else state
            return enter(told, Phase.CLOSED), (*effects, Close())


def _pass_time(state: State, heard_s: float) -> State:
    """Time goes on; only playing counts as practice, and only sounding takes tire the hand."""
    now_s = max(state.now_s, heard_s)
    gone_s = now_s - state.now_s
    playing_s = gone_s if state.phase in PLAYING else 0.0
    tiring_s = playing_s if state.phase is not Phase.ASKING else 0.0
    return replace(
        state,
        now_s=now_s,
        spent_s=state.spent_s + playing_s,
        played_s=state.played_s + tiring_s,
        since_rest_s=state.since_rest_s + tiring_s,
    )


def _pressed(state: State, press: Pressed) -> Step:
    speaking_up = state.settings.answer_style is AnswerStyle.SPEAK_UP
    if speaking_up and state.phase is Phase.TAKE and press.heard_s >= state.since_s:
        return miss_now(state, press.heard_s, press.t_s, press.judge)
    return replace(state, ack=acknowledge(state, AckKind.PRESS, "")), ()


def _given(state: State, given: Given) -> Step:
    if given.pressed_s == state.miss_pressed_s:
        # The press has already marked a miss; held on, it meant pause and the miss is taken back.
        return take_back(state) if given.control is Control.NEXT else (state, ())
    if given.pressed_heard_s < state.since_s:
        return state, ()
    action = meaning(state, given.control)
    return ACTIONS[action](state, given)


def _due(state: State) -> Step:
    if state.due_s is None or state.now_s < state.due_s:
        return state, ()
    match state.phase:
        case Phase.COUNT_IN:
            return land(state), ()
        case Phase.TAKE if state.settings.answer_style is AnswerStyle.SPEAK_UP:
            return silence_is_a_pass(state)
        case Phase.TAKE:
            # A foot that answers with the last chord still ringing is answering the question.
            return replace(enter(state, Phase.ASKING), since_s=the_run(state.run).last_landing_s), ()
        case Phase.BREATH:
            return count_in(state)
        case Phase.RESTING:
            return go_on(replace(state, ack=acknowledge(state, AckKind.OTHER, "Rested")))
    return replace(state, due_s=None), ()


def _input_lost(state: State, lost: InputLost) -> Step:
    """A pedal went. If it was the foot's, a take that was on is void; everything before it stands."""
    if not lost.in_use:
        return replace(state, ack=acknowledge(state, AckKind.OTHER, f"{lost.name} has gone")), ()
    return _interrupt(replace(state, lost_input=lost.name), "pedal lost")


def _sound_lost(state: State, words: str) -> Step:
    return _interrupt(replace(state, notices=(*state.notices, words)), "sound lost")


def _log_lost(state: State, words: str) -> Step:
    """Nothing more is counted in until the player has seen that the log cannot be written."""
    first_time = state.log_trouble is None
    state = replace(state, log_trouble=words)
    if not first_time or state.phase not in PLAYING:
        return state, ()
    state, voided = void_run(state, "log lost")
    state, paused = pause(state)
    return state, (*voided, *paused)


def _interrupt(state: State, judge: str) -> Step:
    """Void the take that sounds, if one does, and wait for the player. A question stays open."""
    if state.phase not in CLICKING:
        return state, ()
    state, voided = void_run(state, judge)
    state, paused = pause(state)
    return state, (*voided, *paused)
