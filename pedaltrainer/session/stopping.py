"""What stops a session, asks before it ends, and waits for a foot: actions of `transitions`. Pure."""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.session.causes import Choice
from pedaltrainer.session.course import (
    Effects,
    Step,
    acknowledge,
    cancel_last,
    drill_done,
    enter,
    open_menu,
    void_run,
)
from pedaltrainer.session.effects import Close, Cue, SoundCue
from pedaltrainer.session.events import Due, Given, Shut
from pedaltrainer.session.state import CLICKING, AckKind, Phase, State

STILL_THERE_S = 20.0
MARGIN_S = 0.1
"""A gesture is waited for a little longer than it takes to be known."""


def ask_still_there(state: State) -> State:
    return enter(state, Phase.STILL_THERE, due_s=state.now_s + STILL_THERE_S)


def stand(state: State, event: Given | Due) -> Step:
    """Somebody is there: the silent passes stand, and it goes on."""
    state = acknowledge(state, AckKind.STANDS)
    return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.breath_s), (SoundCue(Cue.NEXT),)


def nobody_there(state: State, due: Due) -> Step:
    state, effects = cancel_unseen(state)
    state, more = open_menu(replace(state, went_on_to=Phase.BREATH))
    return acknowledge(state, AckKind.NOBODY_THERE), (*effects, *more)


def cancel_unseen(state: State) -> Step:
    """The silent passes since the foot showed itself are void: nobody may have played them."""
    effects: Effects = ()
    for _ in range(state.unseen):
        state, more = cancel_last(state, "silent, and nobody there")
        effects = (*effects, *more)
    return replace(state, unseen=0), effects


def wait(state: State, due: Due) -> Step:
    """Until it is known what the foot that is down wants."""
    return replace(state, due_s=max(down.known_s for down in state.downs) + MARGIN_S), ()


def stop(state: State, event: Given) -> Step:
    """Everything stops, nothing is lost: a take that is on is void, the question after one stays open."""
    asked_in_the_take = event.pressed_heard_s < _end_s(state)
    marked = None if asked_in_the_take else _LIKELY.get(state.phase)
    state, effects = still(state)
    state, more = open_menu(state, marked)
    return state, (*effects, *more)


def _end_s(state: State) -> float:
    return float("-inf") if state.run is None else state.run.end_s


_LIKELY = {
    Phase.READY: Choice.SKIP,
    Phase.ASKING: Choice.SKIP_TAKE,
    Phase.BREATH: Choice.UNDO,
    Phase.STILL_THERE: Choice.UNDO,
    Phase.DRILL_DONE: Choice.UNDO,
    Phase.FINISHED: Choice.CLOSE,
    Phase.SWITCHES: Choice.SWITCHES,
}
"""What a stop most likely wants, by where it is said; elsewhere, to go on in a while."""
_LEADS_BACK_TO = {
    Phase.COUNT_IN: Phase.BREATH,
    Phase.TAKE: Phase.BREATH,
    Phase.STILL_THERE: Phase.BREATH,
    Phase.REST_OFFERED: Phase.BREATH,
}
_KEEP_THEIR_WAY_BACK = {
    Phase.PAUSED,
    Phase.RESTING,
    Phase.FINISH_ASKED,
    Phase.SWITCHES,
    Phase.CHANGES,
    Phase.NOTES,
    Phase.HURTS,
}


def still(state: State) -> Step:
    """Everything stops; what was on is gone back to by `go_on`."""
    leads_to = _LEADS_BACK_TO.get(state.phase, state.phase)
    if state.phase in _KEEP_THEIR_WAY_BACK:
        leads_to = state.went_on_to
    state, effects = void_run(state) if state.phase in CLICKING else (state, ())
    return replace(state, went_on_to=leads_to), effects


def ask_to_finish(state: State, event: Given | Due) -> Step:
    state, effects = still(state)
    return enter(state, Phase.FINISH_ASKED), (*effects, SoundCue(Cue.NEXT))


def skip_take(state: State, event: Given | Due) -> Step:
    """The take that waits for its answer does not count; it is played again."""
    state, effects = void_run(state)
    return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.breath_s), (
        *effects,
        SoundCue(Cue.NEXT),
    )


def show_switches(state: State, event: Given | Due) -> Step:
    return enter(state, Phase.SWITCHES), (SoundCue(Cue.NEXT),)


def finish(state: State, given: Given) -> Step:
    """To the summary; from the summary, or before anything was played, to the door."""
    if state.phase in {Phase.FINISH_ASKED, Phase.HURTS}:
        state, effects = void_run(state)
        if state.answers or state.results:
            return finish_up(state), (*effects, SoundCue(Cue.NEXT))
        return enter(state, Phase.CLOSED), (*effects, Close())
    at_the_end = Phase.FINISHED in {state.phase, state.went_on_to if state.phase is Phase.PAUSED else None}
    if at_the_end or (not state.answers and not state.results):
        state, effects = void_run(state)
        return enter(state, Phase.CLOSED), (*effects, Close())
    state, effects = void_run(state)
    return finish_up(state), (*effects, SoundCue(Cue.NEXT))


def finish_up(state: State) -> State:
    if state.answers:
        state = drill_done(state)
    return enter(state, Phase.FINISHED)


def close(state: State, event: Given | Due) -> Step:
    return enter(state, Phase.CLOSED), (Close(),)


def shut(state: State, event: Shut) -> Step:
    state, effects = void_run(state)
    told = state.phase in {Phase.DRILL_DONE, Phase.FINISHED}
    if state.settings.grammar > 1 and state.unseen:
        state, cancelled = cancel_unseen(state)
        effects, told = (*effects, *cancelled), False
    # A drill that was under way has come to something too.
    if state.answers and not told:
        state = drill_done(state)
    return enter(state, Phase.CLOSED), (*effects, Close())
