"""What a player changes while practising, and notes of takes: actions of `transitions`. Pure.

Settings that are changed are those of the state: what was begun with stays in the log, and the events that
changed them are told again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from pedaltrainer.neck.gap import Gap
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.ladders.ladder import climb
from pedaltrainer.practice.ladders.rungs import on_the_ladder
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.course import (
    Effects,
    Step,
    acknowledge,
    drill_done,
    enter,
    next_drill,
    open_menu,
    void_run,
)
from pedaltrainer.session.effects import Cue, Note, NoteTake, SoundCue, VolumeStep
from pedaltrainer.session.events import Due, Given
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import A_STEP, AckKind, Phase, State

T = TypeVar("T")
MORE_S = 5 * 60.0
BEATS = (1, 2, 4)
LANDINGS = (4, 8, 12, 16)


def show_changes(state: State, event: Given | Due) -> Step:
    return enter(replace(state, chosen=0), Phase.CHANGES), (SoundCue(Cue.NEXT),)


def show_notes(state: State, event: Given | Due) -> Step:
    return enter(replace(state, chosen=0), Phase.NOTES), (SoundCue(Cue.NEXT),)


def to_menu(state: State, event: Given | Due) -> Step:
    return open_menu(state, Choice.NOTE if state.phase is Phase.NOTES else Choice.CHANGE)


def _changed(state: State) -> Step:
    return acknowledge(replace(state, due_s=None), AckKind.CHANGED), (SoundCue(Cue.NEXT),)


# --- the tempo --------------------------------------------------------------------------


def slower(state: State, event: Given | Due) -> Step:
    return _changed(_stepped(state, -1))


def faster(state: State, event: Given | Due) -> Step:
    return _changed(_stepped(state, 1))


def _stepped(state: State, steps: int) -> State:
    """The next takes a step slower or faster, however the ladder goes on from there."""
    if state.held_bpm is not None:
        return replace(state, held_bpm=on_the_ladder(state.held_bpm * A_STEP**steps))
    if state.next_bpm is not None:
        return replace(state, next_bpm=on_the_ladder(state.next_bpm * A_STEP**steps))
    after = replace(state, tempo_steps=state.tempo_steps + steps)
    # At an end of the ladder there is no step more to take back.
    return state if after.tempo_bpm == state.tempo_bpm else after


def stay_here(state: State, event: Given | Due) -> Step:
    """Keep to the tempo of the last take, or let it move again."""
    if state.held_bpm is not None:
        return _changed(replace(state, held_bpm=None))
    here_bpm = state.tempo_bpm
    if state.run is not None:
        here_bpm = state.run.tempo_bpm
    elif state.answers:
        here_bpm = state.answers[-1].run.tempo_bpm
    return _changed(replace(state, held_bpm=here_bpm))


# --- the drill --------------------------------------------------------------------------


def other_mode(state: State, event: Given | Due) -> Step:
    """Measure, or practise."""
    mode = "measure" if state.mode == "practise" else "practise"
    settings = state.settings
    if settings.modes:
        return _changed(_with(state, replace(settings, modes=_put(settings.modes, state.drill_index, mode))))
    return _changed(_with(state, replace(settings, mode=mode)))


def more_time(state: State, event: Given | Due) -> Step:
    allowances_s = _put(state.allowances_s, state.drill_index, state.allowance_s + MORE_S)
    return _changed(replace(state, allowances_s=allowances_s))


def drop(state: State, event: Given | Due) -> Step:
    """Leave this drill, and do not come round to it again in this session."""
    state, effects = void_run(state)
    state = acknowledge(replace(state, dropped=(*state.dropped, state.drill_index)), AckKind.NEXT)
    return next_drill(drill_done(state) if state.answers else state), (*effects, SoundCue(Cue.NEXT))


def other_beats(state: State, event: Given | Due) -> Step:
    return _another_drill(
        state, replace(state.drill, beats_per_chord=_after(BEATS, state.drill.beats_per_chord))
    )


def other_gap(state: State, event: Given | Due) -> Step:
    return _another_drill(state, replace(state.drill, gap=_after(tuple(Gap), state.drill.gap)))


def _another_drill(state: State, drill: Drill) -> Step:
    """Go on with another drill in this one's place, first at its tempo; what this one came to stands."""
    tempo_bpm, chosen = state.tempo_bpm, state.chosen
    state, effects = void_run(state)
    if state.answers:
        state = drill_done(state)
        state = replace(state, visited=(*state.visited, state.drill_index))
    at, settings = state.drill_index, state.settings
    known = len(settings.drills)
    settings = replace(
        settings,
        drills=_put(settings.drills, at, drill),
        starts_bpm=_put(_filled(settings.starts_bpm, known, settings.first_bpm), at, tempo_bpm),
        histories=_put(_filled(settings.histories, known, ()), at, ()),
        targets_bpm=_put(_filled(settings.targets_bpm, known, 0.0), at, 0.0),
    )
    state = replace(
        state,
        settings=settings,
        earlier=(*state.earlier, *state.takes_so_far),
        answers=(),
        tempo_steps=0,
        next_bpm=tempo_bpm,
        went_on_to=Phase.READY,
    )
    state = enter(replace(state, ladder=state.new_ladder, chosen=chosen), Phase.CHANGES)
    state, more = _changed(state)
    return state, (*effects, *more)


# --- takes ------------------------------------------------------------------------------


def other_style(state: State, event: Given | Due) -> Step:
    asks = state.settings.answer_style is AnswerStyle.ASK
    style = AnswerStyle.SPEAK_UP if asks else AnswerStyle.ASK
    return _changed(_with(state, replace(state.settings, answer_style=style)))


def other_landings(state: State, event: Given | Due) -> Step:
    landings = _after(LANDINGS, state.settings.landings)
    return _changed(_with(state, replace(state.settings, landings=landings)))


def _with(state: State, settings: Settings) -> State:
    """Other settings from here on; the ladder is what the answers so far make of it."""
    state = replace(state, settings=settings)
    return replace(state, ladder=climb(state.new_ladder, state.takes_so_far))


def louder(state: State, event: Given | Due) -> Step:
    return replace(state, due_s=None), (VolumeStep(1),)


def quieter(state: State, event: Given | Due) -> Step:
    return replace(state, due_s=None), (VolumeStep(-1),)


def _after(values: tuple[T, ...], now: T) -> T:
    return values[0] if now not in values else values[(values.index(now) + 1) % len(values)]


def _put(values: tuple[T, ...], at: int, value: T) -> tuple[T, ...]:
    return (*values[:at], value, *values[at + 1 :])


def _filled(values: tuple[T, ...], length: int, filler: T) -> tuple[T, ...]:
    return (*values, *((filler,) * (length - len(values))))


# --- notes ------------------------------------------------------------------------------


def it_hurts(state: State, event: Given | Due) -> Step:
    """Everything has stopped already: the caution, and the question whether to finish."""
    state, effects = _noted(state, Note.HURTS)
    return enter(state, Phase.HURTS), (*effects, SoundCue(Cue.REST))


def a_buzz(state: State, event: Given | Due) -> Step:
    state, effects = _noted(state, Note.BUZZ)
    return _back_from_notes(state, effects)


def a_wrong_finger(state: State, event: Given | Due) -> Step:
    state, effects = _noted(state, Note.WRONG_FINGER)
    return _back_from_notes(state, effects)


def _noted(state: State, note: Note) -> Step:
    return acknowledge(state, AckKind.NOTED), (NoteTake(state.last_run, note),) if state.last_run else ()


def _back_from_notes(state: State, effects: Effects) -> Step:
    state, more = open_menu(state)
    return acknowledge(state, AckKind.NOTED), (*effects, *more)
