"""What happens next: `step(state, event) -> (state, effects)`, and nothing else.

Pure: no clock, device, file or screen. Every event carries its own time, so
running `step` over a session's recorded events gives the same states, takes
and effects again. What an event does is a row of the table in `transitions`.
"""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.session.actions import ACTIONS
from pedaltrainer.session.course import Step, acknowledge
from pedaltrainer.session.events import (
    EarHeard,
    Event,
    Given,
    InputBack,
    InputLost,
    LogBack,
    LogLost,
    Pressed,
    SoundBack,
    SoundLost,
)
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import LISTS, PLAYING, AckKind, Down, Phase, State
from pedaltrainer.session.transitions import row_of

KEPT_S = 5.0
"""How long a press that came to nothing is remembered."""


def begin(settings: Settings) -> State:
    """The state before anything has happened."""
    return State(
        settings=settings,
        phase=Phase.READY,
        ladder=settings.new_ladder(0),
        allowances_s=settings.allowances_s,
        since_rest_s=settings.played_before_s,
    )


def since_rest_s(before: State, now_s: float) -> float:
    """What has been played since the last rest when another session follows at `now_s`."""
    # So long a way through home is a rest too.
    rested = now_s - before.now_s >= before.settings.rest_s
    return 0.0 if rested else before.since_rest_s


def step(state: State, event: Event) -> Step:
    """The state after one event, and what the world is to do about it."""
    state = pass_time(state, event.heard_s)
    row = row_of(state, event)
    state = _note(state, event)
    return ACTIONS[row.action](state, event) if row else (state, ())


def pass_time(state: State, heard_s: float) -> State:
    """Time goes on; only playing counts as practice, and only sounding takes tire the hand."""
    gone_s = heard_s - state.now_s
    if gone_s <= 0:
        return state
    playing_s = gone_s if state.phase in PLAYING else 0.0
    tiring_s = playing_s if state.phase is not Phase.ASKING else 0.0
    return replace(
        state,
        now_s=heard_s,
        spent_s=state.spent_s + playing_s,
        played_s=state.played_s + tiring_s,
        since_rest_s=state.since_rest_s + tiring_s,
    )


def _foot_went_down(state: State, pressed: Pressed) -> State:
    """The foot has shown itself; what its gesture will mean is what stands there now."""
    state = replace(state, unseen=0)
    if state.settings.grammar == 1:
        return state
    lately = (down for down in state.downs if down.known_s >= state.now_s - KEPT_S)
    down = Down(pressed.t_s, pressed.heard_s + pressed.known_within_s, replace(state, downs=()))
    # A rest of the foot begins when it has gone up again.
    due_s = None if state.phase in LISTS else state.due_s
    return replace(state, downs=(*lately, down), dwells=pressed.dwells, due_s=due_s)


def _note(state: State, event: Event) -> State:
    """What is kept in mind and acknowledged of an event, whatever the phase."""
    match event:
        case Pressed():
            return acknowledge(_foot_went_down(state, event), AckKind.PRESS)
        case Given(pressed_s=pressed_s):
            downs = tuple(down for down in state.downs if down.pressed_s != pressed_s)
            return replace(state, downs=downs, unseen=0)
        case EarHeard(serial=serial) if state.last_run is not None and serial == state.last_run.serial:
            return replace(state, heard=event)
        case InputLost(name=name, in_use=True):
            return replace(state, lost_input=name)
        case InputLost(name=name):
            return acknowledge(state, AckKind.INPUT_GONE, name=name)
        case InputBack(name=name):
            still_lost = None if state.lost_input == name else state.lost_input
            return acknowledge(replace(state, lost_input=still_lost), AckKind.INPUT_BACK, name=name)
        case SoundLost(words=words):
            return replace(state, notices=(*state.notices, words))
        case SoundBack(name=name, lead_s=lead_s):
            settings = replace(state.settings, lead_s=max(lead_s, state.settings.lead_s))
            if not name:
                return replace(state, settings=settings)
            return acknowledge(replace(state, settings=settings, notices=()), AckKind.SOUND_BACK, name=name)
        case LogLost(words=words):
            return replace(state, log_trouble=words)
        case LogBack():
            return acknowledge(replace(state, log_trouble=None), AckKind.LOG_BACK)
    return state
