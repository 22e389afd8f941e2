"""What happens next: `step(state, event) -> (state, effects)`, and nothing else.

Pure: no clock, device, file or screen. Every event carries its own time, so
running `step` over a session's recorded events gives the same states, takes
and effects again. What an event does is a row of the table in `transitions`.
"""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.session.actions import ACTIONS
from pedaltrainer.session.course import Step, acknowledge
from pedaltrainer.session.events import Event, InputBack, InputLost, LogBack, LogLost, Pressed, SoundLost
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import PLAYING, AckKind, Phase, State
from pedaltrainer.session.transitions import row_of


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
    state = pass_time(state, event.heard_s)
    row = row_of(state, event)
    state = _note(state, event)
    return ACTIONS[row.action](state, event) if row else (state, ())


def pass_time(state: State, heard_s: float) -> State:
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


def _note(state: State, event: Event) -> State:
    """What is kept in mind and acknowledged of an event, whatever the phase."""
    match event:
        case Pressed():
            return acknowledge(state, AckKind.PRESS)
        case InputLost(name=name, in_use=True):
            return replace(state, lost_input=name)
        case InputLost(name=name):
            return acknowledge(state, AckKind.INPUT_GONE, name=name)
        case InputBack(name=name):
            still_lost = None if state.lost_input == name else state.lost_input
            return acknowledge(replace(state, lost_input=still_lost), AckKind.INPUT_BACK, name=name)
        case SoundLost(words=words):
            return replace(state, notices=(*state.notices, words))
        case LogLost(words=words):
            return replace(state, log_trouble=words)
        case LogBack():
            return acknowledge(replace(state, log_trouble=None), AckKind.LOG_BACK)
    return state
