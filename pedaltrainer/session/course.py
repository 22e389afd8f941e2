"""The course of a drill: count-in, take, answer, breath, and on to the next.

Shared by the session's events and by the player's actions. Pure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from pedaltrainer.practice.ladders.ladder import climb
from pedaltrainer.practice.ladders.rungs import STOPPED, EndedBy, Ending
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.session.causes import EAR, Choice
from pedaltrainer.session.effects import (
    Answered,
    CancelTake,
    Cue,
    Effect,
    NoteTake,
    PlayRun,
    RecordTake,
    Run,
    SoundCue,
    StopClick,
)
from pedaltrainer.session.state import (
    CLICKING,
    DISTANCE_CHOICES_M,
    PLAYING,
    SCREEN_CHOICES_INCHES,
    Ack,
    AckKind,
    DrillResult,
    Phase,
    State,
)
from pedaltrainer.session.transitions import pause_choices
from pedaltrainer.timing.grid import nearest_sample_s

Effects = tuple[Effect, ...]
Step = tuple[State, Effects]


def enter(state: State, phase: Phase, due_s: float | None = None) -> State:
    return replace(state, phase=phase, since_s=state.now_s, due_s=due_s, may_count=False)


def acknowledge(state: State, kind: AckKind, take: Take | None = None, name: str = "") -> State:
    return replace(state, ack=Ack(kind, state.now_s, take, name))


def the_run(run: Run | None) -> Run:
    if run is None:
        raise AssertionError("no take is on")
    return run


def after_cautions(state: State) -> State:
    if state.settings.ask_sight:
        return enter_list(state, Phase.SCREEN_SIZE)
    return before_the_first_drill(state)


def before_the_first_drill(state: State) -> State:
    """The sound check, where the ear is to listen; then the plan, if there is one, and the first drill."""
    to_be_checked = state.settings.ear and not state.settings.sound_checked
    return enter(state, Phase.SOUND_CHECK) if to_be_checked else to_the_plan(state)


def to_the_plan(state: State) -> State:
    """The plan, where there is one; else straight to the first drill."""
    return enter(state, Phase.PLAN if state.settings.reasons else Phase.READY)


def count_in(state: State) -> Step:
    """Start the next take on a sample of the stream, or offer a rest first when one is due."""
    settings = state.settings
    if state.since_rest_s >= settings.rest_after_s:
        return enter(state, Phase.REST_OFFERED), (SoundCue(Cue.REST),)
    run = Run(
        serial=state.serial + 1,
        drill=state.drill,
        tempo_bpm=state.tempo_bpm,
        start_s=nearest_sample_s(state.now_s + settings.lead_s, settings.rate),
        count_in_beats=settings.count_in_beats(state.drill_index, state.tempo_bpm, first=not state.answers),
        metre=settings.metre_of(state.drill_index),
        landings=settings.landings_of(state.drill),
    )
    state = replace(
        enter(state, Phase.COUNT_IN, due_s=run.beat_s(0)),
        run=run,
        last_run=run,
        serial=run.serial,
        miss_pressed_s=None,
        named=(),
        heard=None,
    )
    return state, (PlayRun(run),)


def answer(
    state: State,
    outcome: Outcome,
    judge: str,
    first_miss: int | None = None,
    pressed_s: float | None = None,
    heard_press_s: float | None = None,
    misses: int | None = None,
    silent: Sequence[str] = (),
) -> Step:
    """The take that is on has its answer. silent: the strings that did not ring, of one played by them."""
    run = the_run(state.run)
    settings, press_beat = state.settings, None
    if first_miss is not None and heard_press_s is not None and settings.measured_by.hears_the_moment:
        press_beat = run.beat_at(heard_press_s)
    off_s = settings.taken_off_s(run.drill, run.tempo_bpm)
    take = Take(run.drill, run.tempo_bpm, run.landings, outcome, first_miss, press_beat, off_s, misses)
    # A take that was broken off ended with the press, however long its gesture took to be understood.
    broken_off = heard_press_s is not None and heard_press_s < run.end_s
    ended_s = heard_press_s if broken_off and heard_press_s is not None else state.now_s
    answered = Answered(run, take, judge, ended_s, pressed_s, heard_press_s, tuple(silent))
    answers = (*state.answers, answered)
    ladder = climb(state.new_ladder, (one.take for one in answers))
    state = replace(
        state,
        answers=answers,
        ladder=ladder,
        run=None,
        late_until_s=float("-inf"),
        next_bpm=None,
        may_count=misses == 1,
        named=(),
    )
    notes = tuple(NoteTake(run, name) for name in silent)
    passed = outcome is Outcome.PASS_
    failed = AckKind.EAR if judge == EAR else AckKind.FAIL
    state = acknowledge(state, AckKind.PASS_ if passed else failed, take, ", ".join(silent))
    effects: Effects = (RecordTake(answered), *notes, SoundCue(Cue.PASS_ if passed else Cue.FAIL))
    return after_answer(state), effects


def after_answer(state: State) -> State:
    if state.may_count:
        # Whatever comes next waits for what may be said yet.
        return replace(enter(state, Phase.BREATH, state.now_s + state.settings.count_s), may_count=True)
    if _goes_on(state):
        return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.breath_s)
    return drill_done(state)


def _goes_on(state: State) -> bool:
    """Is there another take of this drill, by its ladder, its time and its target?"""
    stays = state.held_bpm is not None
    return not state.ended(state.ladder) and not state.time_up and (stays or not state.is_ready)


def after_breath(state: State) -> Step:
    """The next take; after a breath in which misses could be counted, the drill may be done."""
    if state.may_count and not _goes_on(state):
        return drill_done(replace(state, may_count=False)), ()
    return count_in(state)


def drill_done(state: State) -> State:
    known = state.settings.histories[state.drill_index : state.drill_index + 1]
    before = [past.bpm for past in (known[0] if known else ()) if past.tells and not past.related]
    found = state.found
    if state.is_ready:
        found = replace(found, ending=Ending(EndedBy.READY, state.target_bpm or 0.0))
    elif state.ladder.ended is None and not state.time_up:
        found = replace(found, ending=STOPPED)
    last_bpm = before[0] if before else None
    result = DrillResult(
        state.drill,
        found,
        len(state.answers),
        last_bpm,
        len(state.visited),
        state.target_bpm,
        state.was_reached(state.drill_index),
        Counter(name for one in state.answers for name in one.silent),
    )
    state = replace(state, results=(*_results_before(state), result))
    return enter(state, Phase.FINISHED if state.last_drill else Phase.DRILL_DONE)


def _results_before(state: State) -> tuple[DrillResult, ...]:
    return tuple(one for one in state.results if one.place < len(state.visited))


def following(state: State) -> int:
    """The drill after the current one: a planned one that this session has made ready is passed over.

    Unless all that come have been. At its end a plan with minutes left comes round to the drill with a target
    that was left longest ago.
    """
    after = range(state.drill_index + 1, len(state.settings.drills))
    to_come = [index for index in after if index not in state.dropped]
    if to_come:
        return next((index for index in to_come if not state.was_reached(index)), to_come[0])
    targets_bpm = enumerate(state.settings.targets_bpm)
    again = [index for index, target in targets_bpm if target and index not in state.dropped]
    # Of a drill's visits the last one counts; the drill that is being left was the last of all.
    last = {index: visit for visit, index in enumerate((*state.visited, state.drill_index))}
    keys = [drill.key for drill in state.settings.drills]
    last_of = {keys[index]: visit for index, visit in sorted(last.items(), key=lambda pair: pair[1])}
    return min(again, key=lambda index: (state.was_reached(index), last_of.get(keys[index], -1), index))


def next_drill(state: State) -> State:
    """On to the next drill; what this one has left of its time goes to those still to come."""
    drill_index = following(state)
    state = replace(
        state,
        allowances_s=_shared_out(state, drill_index),
        drill_index=drill_index,
        visited=(*state.visited, state.drill_index),
        used_s=state.used_s + state.spent_s,
        earlier=(*state.earlier, *state.takes_so_far),
        answers=(),
        spent_s=0.0,
        tempo_steps=0,
        held_bpm=None,
        next_bpm=None,
    )
    return enter(replace(state, ladder=state.new_ladder), Phase.READY)


MOST_GIVEN = 2.0
"""How many times its planned length a drill may become when others are skipped: longer tires."""


def _shared_out(state: State, following: int) -> tuple[float, ...]:
    """The allowances when a drill is next: the time that is spare by then goes by shares to those to come.

    Only a planned session is one whole; drills that a player named keep to their own time.
    """
    if following <= state.drill_index:
        left_s = sum(state.settings.allowances_s) - state.used_s - state.spent_s
        round_s = min(left_s, state.settings.allowances_s[following])
        return (*state.allowances_s[:following], round_s, *state.allowances_s[following + 1 :])
    now, after = state.allowances_s[:following], state.allowances_s[following:]
    spare_s = sum(now[state.drill_index :]) - state.spent_s
    if not state.settings.minutes_each or spare_s <= 0 or not sum(after):
        return state.allowances_s
    planned = state.settings.allowances_s[following:]
    longer = 1 + spare_s / sum(after)
    return (*now, *(min(s * longer, most * MOST_GIVEN) for s, most in zip(after, planned, strict=True)))


def void_run(state: State, judge: str = "interrupted") -> Step:
    """Stop a take that is on. Only one whose landings had begun leaves a row in the log."""
    if state.run is None:
        return state, ()
    run = state.run
    stop: Effects = (StopClick(),) if state.phase in CLICKING else ()
    emptied = replace(state, run=None)
    if state.phase is Phase.COUNT_IN:
        return emptied, stop
    void = Take(run.drill, run.tempo_bpm, run.landings, Outcome.VOID)
    return emptied, (*stop, RecordTake(Answered(run, void, judge, state.now_s)))


def cancel_last(state: State, reason: str) -> Step:
    """Take the last answer of this drill back; the ladder is what the others make of it."""
    if not state.answers:
        return state, ()
    *kept, last = state.answers
    ladder = climb(state.new_ladder, (one.take for one in kept))
    state = replace(
        state,
        answers=tuple(kept),
        ladder=ladder,
        results=_results_before(state),
        late_until_s=float("-inf"),
        miss_pressed_s=None,
    )
    return state, (CancelTake(last.run.serial, reason),)


def pause(state: State) -> Step:
    if state.phase in {Phase.PAUSED, Phase.CLOSED}:
        return state, ()
    leads_to = Phase.BREATH if state.phase in PLAYING else state.phase
    if state.phase in {Phase.REST_OFFERED, Phase.RESTING}:
        leads_to = Phase.BREATH
    return open_menu(replace(state, went_on_to=leads_to))


def open_menu(state: State, marked: Choice | None = None) -> Step:
    """The menu, with its marker on a row that it offers, else on the first."""
    state = enter(replace(state, chosen=0), Phase.PAUSED)
    if state.went_on_to is not Phase.FINISHED:
        state = acknowledge(state, AckKind.PAUSED)
    choices = pause_choices(state)
    chosen = choices.index(marked) if marked in choices else 0
    return replace(state, chosen=chosen), (SoundCue(Cue.NEXT),)


def go_on(state: State) -> Step:
    """Back from a pause or a rest: a take never resumes in its middle, it is counted in afresh."""
    if state.went_on_to is Phase.BREATH:
        return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.breath_s), ()
    return enter_list(state, state.went_on_to), ()


FIRST_MARKED = {
    Phase.SCREEN_SIZE: SCREEN_CHOICES_INCHES.index(15.6),
    Phase.DISTANCE: DISTANCE_CHOICES_M.index(2.0),
}
"""Where the marker stands at first."""


def enter_list(state: State, phase: Phase) -> State:
    """Enter a phase; where it is a list, with the marker on its usual row."""
    return replace(enter(state, phase), chosen=FIRST_MARKED.get(phase, 0))
