"""From the session's state and the heard time to what the stage shows. Pure.

Cues follow the heard time, so the plank falls when the click is heard, not
when it was written.
"""

from __future__ import annotations

import math
from dataclasses import KW_ONLY, dataclass, replace
from typing import Protocol

from pedaltrainer.cues import count_shown, plank_view
from pedaltrainer.meanings import hints, pause_choices, words
from pedaltrainer.neck import Shape, ShapeBook, staying_strings
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.practice.ladder import FASTEST_BPM, SLOWEST_BPM, Ladder
from pedaltrainer.practice.take import AnswerStyle, Outcome, Take
from pedaltrainer.screen import view as v
from pedaltrainer.session_state import (
    DISTANCE_CHOICES_M,
    SCREEN_CHOICES_INCHES,
    DrillResult,
    Phase,
    Run,
    State,
)

ONE_SWITCH = {
    Control.PASS_: GestureKind.TAP,
    Control.FAIL: GestureKind.DOUBLE,
    Control.NEXT: GestureKind.HOLD,
}

CAUTIONS = (
    "Warm up: a minute of slow, light playing.",
    "Press only as hard as the note needs.",
    "Stop at pain, tingling or numbness.",
    "Rest a few minutes in every twenty.",
    "Keep the click quiet.",
)
SEE_SOMEBODY = "If it hurts again, see a doctor or a teacher before you go on."
STOP_AND_SEE = "Stop at pain, tingling or numbness; if it comes back, see a doctor or a teacher."
WORTH_A_REST_S = 5 * 60
"""Playing for so long is worth saying, with the advice to rest."""

_PLAY_PHASES = {
    Phase.READY: v.Phase.READY,
    Phase.COUNT_IN: v.Phase.COUNT_IN,
    Phase.TAKE: v.Phase.TAKE,
    Phase.ASKING: v.Phase.ASKING,
    Phase.BREATH: v.Phase.BREATH,
}

_HEADLINES = {
    Phase.COUNT_IN: "Count-in",
    Phase.TAKE: "",
    Phase.ASKING: "How was it?",
    Phase.BREATH: "",
}


class Lesson(Protocol):
    """What a lesson for a pedal says, as `pedals.teaching.TeachState` does."""

    @property
    def title(self) -> str: ...
    @property
    def lines(self) -> tuple[str, ...]: ...
    @property
    def hint(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the stage says besides the session: shapes, where presses come from, and standing troubles."""

    shapes: ShapeBook
    _: KW_ONLY
    input_name: str = ""
    lesson: Lesson | None = None
    notices: tuple[str, ...] = ()


def present(state: State, heard_s: float, around: Surroundings) -> v.StageView:
    """The view of a state at a heard second."""
    if state.phase in _PLAY_PHASES:
        return _play_view(state, heard_s, around)
    if state.phase in {Phase.PAUSED, Phase.SCREEN_SIZE, Phase.DISTANCE}:
        return _menu_view(state, heard_s, around)
    if state.phase is Phase.TEACHING:
        return _lesson_view(state, heard_s, around)
    return _page_view(state, heard_s, around)


# --- while a drill is on ------------------------------------------------------


def _play_view(state: State, heard_s: float, around: Surroundings) -> v.PlayView:
    run = state.run
    beat = run.beat_at(heard_s) if run and state.phase in {Phase.COUNT_IN, Phase.TAKE} else None
    landing = _landing_shown(run, beat)
    if state.phase is Phase.ASKING and run:
        landing = run.landings
    now_chord, next_chord = _chords(state, landing)
    now_box, next_box = _boxes(around.shapes, now_chord, next_chord)
    tempo_bpm = run.tempo_bpm if run else state.ladder.tempo_bpm
    return v.PlayView(
        phase=_PLAY_PHASES[state.phase],
        headline=_headline(state, around),
        drill=state.drill.title,
        now_chord=now_chord,
        next_chord=next_chord,
        tempo_bpm=tempo_bpm,
        target=_target(state, tempo_bpm),
        landing=landing,
        landings=state.settings.landings,
        ladder=_ladder_view(state.ladder, tempo_bpm, state),
        hints=_hints(state),
        plank=plank_view(run, beat),
        count=count_shown(run, beat),
        now_box=now_box,
        next_box=next_box,
        ack=_ack(state, heard_s),
        time_left=_minutes(max(0.0, state.settings.drill_allowance_s - _spent_s(state, heard_s))),
        notices=_notices(state, around),
        input_name=around.input_name,
    )


def _headline(state: State, around: Surroundings) -> str:
    if state.phase is Phase.READY:
        return f"Foot: {around.input_name}" if around.input_name else "Space is the foot"
    if state.phase is Phase.TAKE and state.settings.answer_style is AnswerStyle.SPEAK_UP:
        return "Press at a miss"
    if state.phase is Phase.BREATH:
        return f"Next: {state.ladder.tempo_bpm} BPM"
    return _HEADLINES[state.phase]


def _landing_shown(run: Run | None, beat: float | None) -> int:
    """The 1-based landing on the stage: it changes at the lift, so the eye is there before the hand."""
    if run is None or beat is None or beat < -0.5:
        return 0
    return min(int((beat + 0.5) // run.drill.beats_per_chord) + 1, run.landings)


def _chords(state: State, landing: int) -> tuple[str, str]:
    """The chord to land now and the one to aim for after it."""
    drill = state.drill
    now = max(landing - 1, 0)
    return drill.chord_at(now), drill.chord_at(now + 1)


def _boxes(shapes: ShapeBook, now: str, then: str) -> tuple[v.BoxView | None, v.BoxView | None]:
    here, there = shapes.find(now), shapes.find(then)
    stays = staying_strings(here, there) if here and there and now != then else frozenset()
    return _box(here, stays), _box(there, stays)


def _box(shape: Shape | None, stays: frozenset[int]) -> v.BoxView | None:
    return v.BoxView(shape.frets, shape.fingers, stays) if shape else None


def _spent_s(state: State, heard_s: float) -> float:
    playing = state.phase in {Phase.COUNT_IN, Phase.TAKE, Phase.ASKING, Phase.BREATH}
    return state.spent_s + (max(0.0, heard_s - state.now_s) if playing else 0.0)


def _minutes(seconds: float) -> str:
    whole = math.ceil(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


# --- the ladder ---------------------------------------------------------------


def _hypothetical(state: State, tempo_bpm: int, outcome: Outcome) -> Ladder:
    take = Take(state.drill, tempo_bpm, state.settings.landings, outcome)
    return state.ladder.answered(take)


def _target(state: State, tempo_bpm: int) -> str:
    """The next target: where a clean take leads. In the breath the next take is itself the target."""
    if state.phase is Phase.BREATH:
        return ""
    after = _hypothetical(state, tempo_bpm, Outcome.PASS_)
    return "then done" if after.ended else f"then {after.tempo_bpm}"


def _ladder_view(ladder: Ladder, now_bpm: int, state: State) -> v.LadderView:
    if_pass = _hypothetical(state, now_bpm, Outcome.PASS_)
    if_fail = _hypothetical(state, now_bpm, Outcome.FAIL)
    up_bpm, down_bpm = if_pass.tempo_bpm, if_fail.tempo_bpm
    marks = {rung.tempo_bpm: _mark(rung.passes, rung.fails) for rung in ladder.rungs()}
    shown = set(marks) | {now_bpm, up_bpm, down_bpm}
    shown |= {2 * up_bpm - now_bpm, 2 * down_bpm - now_bpm}
    result = ladder.result()
    return v.LadderView(
        rungs=tuple(
            v.RungView(bpm, marks.get(bpm, v.RungMark.NONE))
            for bpm in sorted(shown)
            if SLOWEST_BPM <= bpm <= FASTEST_BPM
        ),
        now_bpm=now_bpm,
        if_pass_bpm=None if if_pass.ended else up_bpm,
        if_fail_bpm=None if if_fail.ended else down_bpm,
        best_bpm=result.best_bpm,
        band_bpm=result.interval_bpm,
    )


def _mark(passes: int, fails: int) -> v.RungMark:
    if passes and fails:
        return v.RungMark.MIXED
    return v.RungMark.PASSED if passes else v.RungMark.FAILED


# --- words --------------------------------------------------------------------


def _hints(state: State) -> tuple[v.HintView, ...]:
    return tuple(
        v.HintView(ONE_SWITCH[control].value, words(state, action)) for control, action in hints(state)
    )


def _ack(state: State, heard_s: float) -> v.AckView | None:
    if state.ack is None:
        return None
    return v.AckView(v.AckKind(state.ack.kind.value), state.ack.words, max(0.0, heard_s - state.ack.at_s))


def _notices(state: State, around: Surroundings) -> tuple[str, ...]:
    lost = (
        (f"{state.lost_input} has gone: use the keyboard, or plug it in again",) if state.lost_input else ()
    )
    log = (state.log_trouble,) if state.log_trouble else ()
    return (*log, *lost, *state.notices, *around.notices)


def _menu_view(state: State, heard_s: float, around: Surroundings) -> v.MenuView:
    title, choices = {
        Phase.PAUSED: ("Paused", tuple(str(choice.value) for choice in pause_choices(state))),
        Phase.SCREEN_SIZE: (
            "How big is this screen, corner to corner?",
            tuple(f"{inches:g} in  ({inches * 2.54:.0f} cm)" for inches in SCREEN_CHOICES_INCHES),
        ),
        Phase.DISTANCE: (
            "How far away are your eyes when you play?",
            tuple(f"{metres:g} m" for metres in DISTANCE_CHOICES_M),
        ),
    }[state.phase]
    return v.MenuView(
        title=title,
        choices=choices,
        chosen=state.chosen,
        hints=_hints(state),
        notices=_notices(state, around),
        ack=_ack(state, heard_s),
    )


def _lesson_view(state: State, heard_s: float, around: Surroundings) -> v.PageView:
    lesson = around.lesson
    return v.PageView(
        title=lesson.title if lesson else "Teach the pedal",
        lines=lesson.lines if lesson else (),
        hints=(),
        small_print=(*((lesson.hint,) if lesson and lesson.hint else ()), "Escape: leave it as it was."),
        notices=_notices(state, around),
    )


def _page_view(state: State, heard_s: float, around: Surroundings) -> v.PageView:
    page = {
        Phase.CAUTIONS: _cautions_page,
        Phase.REST_OFFERED: _rest_offer_page,
        Phase.RESTING: _resting_page,
        Phase.DRILL_DONE: _drill_done_page,
        Phase.FINISHED: _summary_page,
        Phase.CLOSED: _closed_page,
    }[state.phase](state, heard_s)
    return replace(page, hints=_hints(state), notices=_notices(state, around), ack=_ack(state, heard_s))


def _cautions_page(state: State, heard_s: float) -> v.PageView:
    return v.PageView(title="Before you play", lines=CAUTIONS, hints=(), small_print=(SEE_SOMEBODY,))


def _rest_offer_page(state: State, heard_s: float) -> v.PageView:
    minutes = round(state.settings.rest_after_s / 60)
    return v.PageView(
        title="Time for a rest",
        lines=(
            f"You have played for {minutes} minutes.",
            "Let the hands hang, shake them out, look far away.",
        ),
        hints=(),
        small_print=(SEE_SOMEBODY,),
    )


def _resting_page(state: State, heard_s: float) -> v.PageView:
    left_s = max(0.0, (state.due_s or heard_s) - heard_s)
    return v.PageView(
        title="Rest",
        lines=("Let the hands hang.",),
        hints=(),
        figure=_minutes(left_s),
        figure_words="then it goes on by itself",
    )


def _result_words(one: DrillResult) -> str:
    best = f"{one.result.best_bpm} BPM" if one.result.best_bpm else "not clean yet"
    return f"{one.drill.title}: {one.result.words or best}, {_takes(one)}"


def _takes(one: DrillResult) -> str:
    return f"{one.takes} take{'' if one.takes == 1 else 's'}"


def _figure(one: DrillResult) -> tuple[str, str]:
    """The one large figure of a drill, and the words under it."""
    result, title = one.result, one.drill.title
    if result.clean_bpm is not None and result.interval_bpm is not None:
        low_bpm, high_bpm = result.interval_bpm
        last = f"; last time {one.last_bpm:.0f}" if one.last_bpm else ""
        return f"{result.clean_bpm:.0f} BPM", f"{title}: between {low_bpm:.0f} and {high_bpm:.0f}{last}"
    if result.words is not None:
        return "–", f"{title}: {result.words}"
    if result.best_bpm is None:
        return "–", f"{title}: no take came out clean yet"
    return f"{result.best_bpm} BPM", f"{title}: the fastest rung passed today"


def _drill_done_page(state: State, heard_s: float) -> v.PageView:
    done = state.results[-1]
    figure, figure_words = _figure(done)
    following = state.settings.drills[state.drill_index + 1]
    return v.PageView(
        title="That drill is done",
        lines=(f"{_takes(done)}; {done.result.why_ended}.", f"Next: {following.title}"),
        hints=(),
        figure=figure,
        figure_words=figure_words,
    )


def _summary_page(state: State, heard_s: float) -> v.PageView:
    small_print = (STOP_AND_SEE,)
    if not state.results:
        return v.PageView(
            title="That is all", lines=("No take was answered.",), hints=(), small_print=small_print
        )
    *earlier, last = state.results
    figure, figure_words = _figure(last)
    ended = f"{_takes(last)}; {last.result.why_ended}."
    played = (f"Played for {_minutes(state.played_s)}; rest the hands before more.",)
    lines = tuple(_result_words(one) for one in state.results) if earlier else (ended,)
    return v.PageView(
        title="That is all",
        lines=(*lines, *(played if state.played_s >= WORTH_A_REST_S else ())),
        hints=(),
        figure=figure,
        figure_words=figure_words,
        small_print=small_print,
    )


def _closed_page(state: State, heard_s: float) -> v.PageView:
    return v.PageView(title="Good-bye", lines=(), hints=())
