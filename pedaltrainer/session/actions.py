"""What each action of the player does to the session: one function an action, one table.

Pure. Which control leads to which action is `meanings`' business.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.take import AnswerStyle, Outcome
from pedaltrainer.session.course import (
    Step,
    acknowledge,
    after_cautions,
    answer,
    before_the_first_drill,
    cancel_last,
    count_in,
    drill_done,
    enter,
    go_on,
    lesson_over,
    miss_now,
    next_drill,
    pause,
    void_run,
)
from pedaltrainer.session.effects import CautionsSeen, Close, Cue, SightChosen, SoundCue, StartTeaching
from pedaltrainer.session.events import Given
from pedaltrainer.session.meanings import Action, Choice, pause_choices
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import (
    DISTANCE_CHOICES_M,
    PLAYING,
    SCREEN_CHOICES_INCHES,
    AckKind,
    Phase,
    State,
)


def _nothing(state: State, given: Given) -> Step:
    return state, ()


def _accept(state: State, given: Given) -> Step:
    return after_cautions(state), (CautionsSeen(), SoundCue(Cue.NEXT))


def _plan_seen(state: State, given: Given) -> Step:
    return enter(state, Phase.READY), (SoundCue(Cue.NEXT),)


def _begin_or_go(state: State, given: Given) -> Step:
    return count_in(state)


def _skip(state: State, given: Given) -> Step:
    """Leave this drill for the next, or for the summary when it was the last."""
    state, effects = void_run(state)
    state = replace(state, ack=acknowledge(state, AckKind.NEXT, "Next"))
    if state.last_drill:
        return _finish_up(state), (*effects, SoundCue(Cue.NEXT))
    done = drill_done(state) if state.answers else state
    return next_drill(done), (*effects, SoundCue(Cue.NEXT))


def _clean(state: State, given: Given) -> Step:
    return answer(state, Outcome.PASS_, given.judge, None, given.pressed_s, given.pressed_heard_s)


def _missed(state: State, given: Given) -> Step:
    return answer(state, Outcome.FAIL, given.judge, None, given.pressed_s, given.pressed_heard_s)


def _missed_here(state: State, given: Given) -> Step:
    return miss_now(state, given.pressed_heard_s, given.pressed_s, given.judge)


def _missed_after_all(state: State, given: Given) -> Step:
    """A late answer: the silent take before was no pass, and its last landing is the miss."""
    last = state.answers[-1]
    stopped, effects = void_run(state)
    state, cancelled = cancel_last(stopped, "late answer: it missed")
    state, answered = answer(
        replace(state, run=last.run),
        Outcome.FAIL,
        given.judge,
        last.run.landings,
        given.pressed_s,
        given.pressed_heard_s,
    )
    # The same take answered anew is a new row, so that the cancelled one stays as it was.
    return state, (*effects, *cancelled, *answered)


def _undo(state: State, given: Given) -> Step:
    """Take back the last answer, and ask again when asking is how this session answers."""
    if not state.answers:
        return replace(state, ack=acknowledge(state, AckKind.OTHER, "Nothing to undo")), ()
    last = state.answers[-1]
    state, stopped = void_run(state)
    state, cancelled = cancel_last(state, "undone by the player")
    state = replace(state, ack=acknowledge(state, AckKind.OTHER, "Taken back"))
    effects = (*stopped, *cancelled, SoundCue(Cue.NEXT))
    if state.settings.answer_style is AnswerStyle.ASK:
        return enter(replace(state, run=last.run), Phase.ASKING), effects
    return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.breath_s), effects


def _pause_here(state: State, given: Given) -> Step:
    state, stopped = void_run(state)
    paused, effects = pause(state)
    return paused, (*stopped, *effects)


def _go_back(state: State, given: Given) -> Step:
    state, effects = go_on(state)
    return state, (*effects, SoundCue(Cue.NEXT))


def _move(state: State, given: Given) -> Step:
    return replace(state, chosen=(state.chosen + 1) % len(_choices(state))), (SoundCue(Cue.PRESS),)


def _choices(state: State) -> tuple[object, ...]:
    return {
        Phase.SCREEN_SIZE: SCREEN_CHOICES_INCHES,
        Phase.DISTANCE: DISTANCE_CHOICES_M,
    }.get(state.phase, pause_choices(state))


def _choose(state: State, given: Given) -> Step:
    if state.phase is Phase.SCREEN_SIZE:
        chosen = SCREEN_CHOICES_INCHES[state.chosen]
        state = replace(enter(state, Phase.DISTANCE), chosen=DISTANCE_CHOICES_M.index(2.0))
        return state, (SightChosen(screen_inches=chosen), SoundCue(Cue.NEXT))
    if state.phase is Phase.DISTANCE:
        distance_m = DISTANCE_CHOICES_M[state.chosen]
        return before_the_first_drill(state), (SightChosen(distance_m=distance_m), SoundCue(Cue.NEXT))
    return _PAUSE_ACTIONS[pause_choices(state)[state.chosen]](state, given)


def _keep(state: State, given: Given) -> Step:
    """Leave the screen's size and distance as they are known, and do not ask again."""
    return before_the_first_drill(state), (SightChosen(), SoundCue(Cue.NEXT))


def _rest(state: State, given: Given) -> Step:
    if state.phase is not Phase.PAUSED:
        state = replace(state, went_on_to=Phase.BREATH)
    state = replace(state, since_rest_s=0.0, rests=state.rests + 1)
    return enter(state, Phase.RESTING, due_s=state.now_s + state.settings.rest_s), (SoundCue(Cue.REST),)


def _play_on(state: State, given: Given) -> Step:
    """Skip the rest; it is offered again after as long a while."""
    if state.phase is Phase.REST_OFFERED:
        return count_in(replace(state, since_rest_s=0.0))
    return go_on(state)


def _to_next_drill(state: State, given: Given) -> Step:
    return next_drill(state), (SoundCue(Cue.NEXT),)


def _same_again(state: State, given: Given) -> Step:
    """All drills once more, from the first; what was just found of them is known."""
    state = replace(
        state,
        settings=_knowing(state),
        rounds_before=state.all_results,
        drill_index=0,
        allowances_s=state.settings.allowances_s,
        earlier=(),
        answers=(),
        results=(),
        spent_s=0.0,
    )
    state = replace(state, ladder=state.new_ladder)
    return enter(state, Phase.READY), (SoundCue(Cue.NEXT),)


def _knowing(state: State) -> Settings:
    """The settings with what this round has found as each drill's history."""
    found = {
        one.drill.key: PastResult(one.result.clean_bpm, *one.result.interval_bpm)
        for one in state.results
        if one.result.clean_bpm is not None and one.result.interval_bpm is not None
    }
    histories = state.settings.histories
    known = tuple(
        (found[drill.key],) if drill.key in found else next(iter(histories[index : index + 1]), ())
        for index, drill in enumerate(state.settings.drills)
    )
    return replace(state.settings, histories=known)


def _again(state: State, given: Given) -> Step:
    """The same tempo once more; the take that was on does not count."""
    if state.phase not in PLAYING and state.phase is not Phase.READY:
        return state, ()
    state, effects = void_run(state, judge="interrupted")
    state, more = count_in(state)
    return replace(state, ack=acknowledge(state, AckKind.OTHER, "Again")), (*effects, *more)


def _teach(state: State, given: Given) -> Step:
    return enter(state, Phase.TEACHING), (SoundCue(Cue.NEXT), StartTeaching())


def _leave_lesson(state: State, given: Given) -> Step:
    return lesson_over(state, "Nothing was changed")


def _finish(state: State, given: Given) -> Step:
    """To the summary; from the summary, or before anything was played, to the door."""
    at_the_end = Phase.FINISHED in {state.phase, state.went_on_to if state.phase is Phase.PAUSED else None}
    if at_the_end or (not state.answers and not state.results):
        state, effects = void_run(state)
        return enter(state, Phase.CLOSED), (*effects, Close())
    state, effects = void_run(state)
    return _finish_up(state), (*effects, SoundCue(Cue.NEXT))


def _finish_up(state: State) -> State:
    if state.answers:
        state = drill_done(state)
    return enter(state, Phase.FINISHED)


def _close(state: State, given: Given) -> Step:
    return enter(state, Phase.CLOSED), (Close(),)


ACTIONS: dict[Action, Callable[[State, Given], Step]] = {
    Action.NOTHING: _nothing,
    Action.ACCEPT: _accept,
    Action.SEE_FIRST: _plan_seen,
    Action.BEGIN: _begin_or_go,
    Action.GO_NOW: _begin_or_go,
    Action.SKIP: _skip,
    Action.CLEAN: _clean,
    Action.MISSED: _missed,
    Action.MISSED_HERE: _missed_here,
    Action.MISSED_AFTER_ALL: _missed_after_all,
    Action.UNDO: _undo,
    Action.PAUSE: _pause_here,
    Action.MOVE: _move,
    Action.CHOOSE: _choose,
    Action.GO_BACK: _go_back,
    Action.KEEP: _keep,
    Action.REST: _rest,
    Action.PLAY_ON: _play_on,
    Action.NEXT_DRILL: _to_next_drill,
    Action.SAME_AGAIN: _same_again,
    Action.AGAIN: _again,
    Action.LEAVE_LESSON: _leave_lesson,
    Action.FINISH: _finish,
    Action.CLOSE: _close,
}

_PAUSE_ACTIONS: dict[Choice, Callable[[State, Given], Step]] = {
    Choice.GO_ON: _go_back,
    Choice.UNDO: _undo,
    Choice.SKIP: _skip,
    Choice.REST: _rest,
    Choice.TEACH: _teach,
    Choice.FINISH: _finish,
}
