"""A take from its first landing to its answer, and answers that come late or are taken back. Pure."""

from __future__ import annotations

import math
from dataclasses import replace

from pedaltrainer.practice.foot import missed_landing
from pedaltrainer.practice.take import MORE, AnswerStyle, Outcome
from pedaltrainer.session.causes import EAR
from pedaltrainer.session.course import (
    Effects,
    Step,
    acknowledge,
    answer,
    cancel_last,
    enter,
    the_run,
    void_run,
)
from pedaltrainer.session.effects import Cue, SoundCue, StopClick
from pedaltrainer.session.events import Due, EarHeard, Given, Pressed
from pedaltrainer.session.state import CLICKING, AckKind, Phase, State
from pedaltrainer.session.stopping import ask_still_there

BELIEVED_IN_A_ROW = 3
"""Silent passes without a sign of the foot, before it is asked whether anybody is there."""
LATE_PRESS_MARGIN_S = 0.35
"""How much later than the player's own reaction time a press may still come inside a take."""


def land(state: State, due: Due) -> Step:
    run = the_run(state.run)
    close_s = run.end_s
    if state.settings.answer_style is AnswerStyle.SPEAK_UP:
        close_s = max(close_s, run.last_landing_s + state.settings.reaction_s + LATE_PRESS_MARGIN_S)
    return enter(state, Phase.TAKE, due_s=close_s), ()


def ask(state: State, due: Due) -> Step:
    # A foot that answers with the last chord still ringing is answering the question.
    return replace(enter(state, Phase.ASKING), since_s=the_run(state.run).last_landing_s), ()


def silence_passes(state: State, due: Due) -> Step:
    late_until_s = the_run(state.run).last_landing_s + state.settings.grace_s
    state, effects = answer(state, Outcome.PASS_, "silence")
    state = replace(state, late_until_s=late_until_s, unseen=state.unseen + 1)
    # A drill that is done waits for the foot anyway.
    if state.settings.grammar > 1 and state.unseen >= BELIEVED_IN_A_ROW and state.phase is Phase.BREATH:
        state, effects = ask_still_there(state), (*effects, SoundCue(Cue.REST))
    return state, effects


def clean(state: State, given: Given) -> Step:
    silenced: Effects = (StopClick(),) if state.phase in CLICKING else ()
    state, effects = answer(state, Outcome.PASS_, given.judge, None, given.pressed_s, given.pressed_heard_s)
    return state, (*silenced, *effects)


def missed(state: State, given: Given) -> Step:
    misses, silent = 1 if state.settings.counts_misses else None, _silent(state)
    pressed = (given.pressed_s, given.pressed_heard_s)
    return answer(state, Outcome.FAIL, given.judge, None, *pressed, misses, silent)


def missed_more(state: State, given: Given) -> Step:
    """More than one landing was missed: the take that has just been answered is answered anew."""
    last = state.answers[-1]
    why = "counted: more than one was missed"
    return _anew(state, why, Outcome.FAIL, given.judge, None, last.pressed_s, last.heard_press_s, MORE)


def _anew(
    state: State,
    why: str,
    outcome: Outcome,
    judge: str,
    first_miss: int | None = None,
    pressed_s: float | None = None,
    heard_press_s: float | None = None,
    misses: int | None = None,
) -> Step:
    """The take that was answered last, answered anew: a new row; the cancelled one stays as it was."""
    last = state.answers[-1]
    stopped, effects = void_run(state)
    state, cancelled = cancel_last(stopped, why)
    state = replace(state, run=last.run)
    state, answered = answer(state, outcome, judge, first_miss, pressed_s, heard_press_s, misses)
    return state, (*effects, *cancelled, *answered)


def missed_here(state: State, said: Given | Pressed) -> Step:
    """The take ends at this press; of a foot that speaks up the miss is the landing the press is about."""
    if isinstance(said, Pressed):
        heard_s, t_s = said.heard_s, said.t_s
    else:
        heard_s, t_s = said.pressed_heard_s, said.pressed_s
    run, clicking = the_run(state.run), state.phase in CLICKING
    first_miss, settings = None, state.settings
    if settings.answer_style is AnswerStyle.SPEAK_UP or settings.measured_by.hears_the_moment:
        off_beats = settings.taken_off_s(run.drill, run.tempo_bpm) * run.tempo_bpm / 60
        first_miss = missed_landing(run.beat_at(heard_s), off_beats, run.drill, run.landings)
    asks, over = settings.answer_style is AnswerStyle.ASK, heard_s >= run.last_landing_s
    misses = 1 if settings.counts_misses and asks and over else None
    state, effects = answer(state, Outcome.FAIL, said.judge, first_miss, t_s, heard_s, misses)
    silenced: Effects = (StopClick(),) if clicking else ()
    return replace(state, miss_pressed_s=t_s), (*silenced, *effects)


def name_string(state: State, pressed: Pressed) -> Step:
    """The string that was just picked did not ring; the take goes on."""
    name = _string(state, pressed)
    named = (
        state.named if any(_string(state, one) == name for one in state.named) else (*state.named, pressed)
    )
    return acknowledge(replace(state, named=named), AckKind.STRING, name=name), ()


def strings_missed(state: State, due: Due) -> Step:
    """A take in which strings were named is over: it was played to its end."""
    judge = state.named[0].judge if state.named else EAR
    return answer(state, Outcome.FAIL, judge, silent=_silent(state))


def _silent(state: State) -> tuple[str, ...]:
    """The strings that did not ring in a take that is played by them, as foot and ear have it."""
    if not the_run(state.run).drill.row.by_string:
        return ()
    heard = state.heard.silent if state.heard is not None else ()
    return tuple(dict.fromkeys((*(_string(state, one) for one in state.named), *heard)))


STRUM = "strum"
"""What is named by a press after the last string."""


def _string(state: State, pressed: Pressed) -> str:
    """What a press is about: the string that was picked last when its foot set out."""
    names = state.settings.strings_of(state.drill_index)
    beat = math.floor(max(_beat(state, pressed), 0.0)) % the_run(state.run).drill.beats_per_chord
    return names[beat] if beat < len(names) else STRUM


def _beat(state: State, pressed: Pressed) -> float:
    """The beat that a press is about."""
    run, settings = the_run(state.run), state.settings
    off_s = settings.measured_by.off_s(settings.reaction_s, 60 / run.tempo_bpm)
    return run.beat_at(pressed.heard_s) - off_s * run.tempo_bpm / 60


def missed_after_all(state: State, given: Given) -> Step:
    """A late answer: the silent take before was no pass, and its last landing is the miss."""
    landings, why = state.answers[-1].run.landings, "late answer: it missed"
    pressed = (given.pressed_s, given.pressed_heard_s)
    return _anew(state, why, Outcome.FAIL, given.judge, landings, *pressed)


def ear_missed(state: State, heard: EarHeard) -> Step:
    """The ear is sure: the take that waits for its answer was missed."""
    return answer(state, Outcome.FAIL, EAR, _first_miss(state, heard), silent=_silent(state))


def ear_missed_after_all(state: State, heard: EarHeard) -> Step:
    """The silent take that has just gone by was no pass, as the ear is sure."""
    state = replace(state, heard=heard)
    why = "the ear is sure: it missed"
    return _anew(state, why, Outcome.FAIL, EAR, _first_miss(state, heard))


def _first_miss(state: State, heard: EarHeard) -> int | None:
    """Where every take is asked about it is not told where it went wrong, whoever answers."""
    return heard.first_sure if state.settings.answer_style is AnswerStyle.SPEAK_UP else None


def overrule(state: State, given: Given) -> Step:
    """The foot says that the ear was wrong: the take was clean."""
    pressed = (given.pressed_s, given.pressed_heard_s)
    return _anew(state, "the foot overruled the ear", Outcome.PASS_, given.judge, None, *pressed)


def undo(state: State, event: Given | Due) -> Step:
    """Take back the last answer, and ask again when asking is how this session answers."""
    if not state.answers:
        return acknowledge(state, AckKind.NOTHING_TO_UNDO), ()
    last = state.answers[-1]
    state, stopped = void_run(state)
    state, cancelled = cancel_last(state, "undone by the player")
    state = acknowledge(state, AckKind.TAKEN_BACK)
    effects = (*stopped, *cancelled, SoundCue(Cue.NEXT))
    if state.settings.answer_style is AnswerStyle.ASK:
        return enter(replace(state, run=last.run), Phase.ASKING), effects
    return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.breath_s), effects
