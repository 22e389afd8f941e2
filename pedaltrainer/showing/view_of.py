"""From the session's state and the heard time to what the stage shows. Pure.

Cues follow the heard time, so the plank falls when the click is heard, not
when it was written.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import KW_ONLY, dataclass, replace
from typing import Protocol

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.neck.shapes import staying_strings
from pedaltrainer.pedals.bindings import ONE_SWITCH, Binding, Bindings
from pedaltrainer.pedals.events import Control
from pedaltrainer.pedals.ways import Said, said
from pedaltrainer.practice.hands import Hand, hands
from pedaltrainer.practice.ladders.ladder import Ladder
from pedaltrainer.practice.ladders.rungs import on_the_ladder
from pedaltrainer.practice.take import AnswerStyle, Outcome, Take
from pedaltrainer.screen import view as v
from pedaltrainer.session.causes import Action, Choice, by_ear
from pedaltrainer.session.effects import Run
from pedaltrainer.session.state import (
    CLICKING,
    DISTANCE_CHOICES_M,
    DWELL_S,
    LISTS,
    PLAYING,
    SCREEN_CHOICES_INCHES,
    Ack,
    AckKind,
    Phase,
    State,
)
from pedaltrainer.session.step import pass_time
from pedaltrainer.session.transitions import NEXT, NO, STOP, YES, meaning, pause_choices
from pedaltrainer.showing.beat import (
    beats_words,
    capo_words,
    count_shown,
    drill_words,
    instruction,
    plank_view,
    stage_at,
    stage_words,
    stages_of,
)
from pedaltrainer.showing.heard import heard_words, sound_check_page
from pedaltrainer.showing.pages import PAGES, minutes
from pedaltrainer.showing.words import (
    LIST_TITLES,
    ack_words,
    action_words,
    choice_words,
    hints_of,
    lost_words,
    menu_title,
    switch_lines,
)
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

ONE_FOOT = said(Bindings((Binding("*", "*", ONE_SWITCH),)), "")
"""What one foot switch can say, before any other is known."""

NOTHING_CONNECTED = "No MIDI pedal is here yet: plug it in. Keys and game controllers can be taught too."

LEAVES_THE_LESSON = "To leave all as it was, rest the foot for half a minute, or press Escape."

_SCENES = {
    Phase.READY: v.Scene.READY,
    Phase.COUNT_IN: v.Scene.COUNT_IN,
    Phase.TAKE: v.Scene.TAKE,
    Phase.ASKING: v.Scene.ASKING,
    Phase.BREATH: v.Scene.BREATH,
}

_SIGNS = {AckKind.PASS_: "check", AckKind.FAIL: "cross", AckKind.EAR: "cross", AckKind.NEXT: "arrow on"}
"""The sign beside an acknowledgement; a plain dot beside any other."""

_HEADLINES = {
    Phase.COUNT_IN: "Count-in",
    Phase.TAKE: "",
    Phase.ASKING: "How was it?",
    Phase.BREATH: "",
}


class Lesson(Protocol):
    """What a lesson for a pedal says, as `pedals.taught.teach_state.TeachState` does."""

    @property
    def title(self) -> str: ...
    @property
    def lines(self) -> tuple[str, ...]: ...
    @property
    def hint(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the stage says besides the session: shapes, where presses come from, and standing troubles.

    at_first: troubles that are told until the first take is counted in.
    """

    shapes: ShapeBook
    _: KW_ONLY
    input_name: str = ""
    lesson: Lesson | None = None
    said: Said = ONE_FOOT
    """What the pedal that is pressed can say."""
    left_handed: bool = False
    boxes_in_take: bool = True
    notices: tuple[str, ...] = ()
    at_first: tuple[str, ...] = ()
    next_time: str = ""
    """What is to be practised next, for the summary."""
    level: float | None = None
    strings: tuple[str, ...] | None = None
    """How loud it is at the microphone, 0-1, or the open strings a MIDI guitar has sent; None without."""
    from_home: bool = False
    """The session leads back home when it is over."""


def present(state: State, heard_s: float, around: Surroundings) -> v.StageView:
    """The view of a state at a heard second."""
    if state.phase in _SCENES:
        return _play_view(state, heard_s, around)
    if state.phase in LISTS:
        return _menu_view(state, heard_s, around)
    if state.phase is Phase.TEACHING:
        return lesson_view(around, _notices(state, around))
    return _page_view(state, heard_s, around)


# --- while a drill is on ------------------------------------------------------


def _play_view(state: State, heard_s: float, around: Surroundings) -> v.PlayView:
    run = state.run
    beat = run.beat_at(heard_s) if run and state.phase in {Phase.COUNT_IN, Phase.TAKE} else None
    landing = _landing_shown(run, beat)
    if state.phase is Phase.ASKING and run:
        landing = run.landings
    now, then = _hands(state, landing, around.shapes)
    (now_chord, now_box), (next_chord, next_box) = _shown(now, then)
    stage, said = stage_at(run, beat), ""
    if stage is not None and (stages := stages_of(state.drill, now.shape)):
        said = instruction(state.drill, stages[stage], landing, now, then)
        now_chord, next_chord = stage_words(stages, stages_of(state.drill, then.shape), stage)
    if state.phase is Phase.ASKING or (state.phase is Phase.BREATH and by_ear(state, None)):
        said = heard_words(state.heard, heard_s - state.since_s)
    tempo_bpm = run.tempo_bpm if run else state.tempo_bpm
    return v.PlayView(
        scene=_SCENES[state.phase],
        headline=_headline(state, around, landing),
        drill=f"{drill_words(state.drill)}{capo_words(state.settings.capo)}",
        now_chord=now_chord,
        next_chord=next_chord,
        tempo_bpm=tempo_bpm,
        target=_target(state, tempo_bpm),
        landing=landing,
        landings=state.settings.landings_of(state.drill),
        ladder=_ladder_view(state.ladder, tempo_bpm, state),
        hints=_hints(state, heard_s, around),
        plank=plank_view(run, beat),
        count=count_shown(run, beat),
        now_box=now_box,
        next_box=next_box,
        boxes_in_take=around.boxes_in_take,
        left_handed=around.left_handed,
        instruction=said,
        ack=_ack(state, heard_s),
        time_left=minutes(max(0.0, state.allowance_s - _spent_s(state, heard_s))),
        notices=_notices(state, around),
    )


def _headline(state: State, around: Surroundings, landing: int) -> str:
    if state.phase is Phase.READY:
        return foot_words(around)
    if state.phase is Phase.TAKE and state.drill.row.by_string:
        return "Does it ring?"
    if state.phase is Phase.TAKE and state.settings.answer_style is AnswerStyle.SPEAK_UP:
        return "Press at a miss"
    if state.phase is Phase.BREATH:
        return f"Next: {state.tempo_bpm} BPM"
    if state.phase in CLICKING:
        return beats_words(state.drill, landing) or _HEADLINES[state.phase]
    return _HEADLINES[state.phase]


def foot_words(around: Surroundings) -> str:
    """Where presses come from."""
    return f"Foot: {around.input_name}" if around.input_name else "Space is the foot"


def _landing_shown(run: Run | None, beat: float | None) -> int:
    """The 1-based landing on the stage: it changes at the lift, so the eye is there before the hand."""
    if run is None:
        return 0
    lift = float(run.drill.lift)
    if beat is None or beat < -lift:
        return 0
    return min(run.drill.landing_at(beat + lift) + 1, run.landings)


def _hands(state: State, landing: int, book: ShapeBook) -> tuple[Hand, Hand]:
    """The chord to land now and the one to aim for after it."""
    drill = state.drill if state.run is None else state.run.drill
    played = hands(drill, book)
    if drill.unseen:
        played = tuple(replace(hand, shape=None) for hand in played)
    now = max(landing - 1, 0)
    return played[drill.place_at(now)], played[drill.place_at(now + 1)]


def _shown(now: Hand, then: Hand) -> tuple[tuple[str, ChordBox | None], ...]:
    here, there = now.shape, then.shape
    stays = staying_strings(here, there) if here and there and now != then else frozenset()
    return tuple((hand.name, _box(hand, stays)) for hand in (now, then))


def _box(hand: Hand, stays: frozenset[int]) -> ChordBox | None:
    return ChordBox(hand.name, hand.shape.frets, hand.shape.fingers, stays=stays) if hand.shape else None


def _spent_s(state: State, heard_s: float) -> float:
    playing = state.phase in {Phase.COUNT_IN, Phase.TAKE, Phase.ASKING, Phase.BREATH}
    return state.spent_s + (max(0.0, heard_s - state.now_s) if playing else 0.0)


# --- the ladder ---------------------------------------------------------------


def _hypothetical(state: State, tempo_bpm: int, outcome: Outcome) -> Ladder:
    take = Take(state.drill, tempo_bpm, state.settings.landings_of(state.drill), outcome)
    return state.ladder.answered(take)


def _target(state: State, tempo_bpm: int) -> str:
    """The next target: where a clean take leads. In the breath the next take is itself the target; where the
    tempo stays it is none."""
    if state.phase is Phase.BREATH or not state.drill.row.gives_way:
        return ""
    after = _hypothetical(state, tempo_bpm, Outcome.PASS_)
    return "then done" if state.ended(after) else f"then {state.asked_bpm(after)}"


def _ladder_view(ladder: Ladder, now_bpm: int, state: State) -> v.LadderView:
    if_pass = _hypothetical(state, now_bpm, Outcome.PASS_)
    if_fail = _hypothetical(state, now_bpm, Outcome.FAIL)
    up_bpm, down_bpm = state.asked_bpm(if_pass), state.asked_bpm(if_fail)
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
        if_pass_bpm=None if state.ended(if_pass) else up_bpm,
        if_fail_bpm=None if state.ended(if_fail) else down_bpm,
        best_bpm=result.best_bpm,
        band_bpm=result.interval_bpm,
        target_bpm=None if state.target_bpm is None else on_the_ladder(state.target_bpm),
    )


def _mark(passes: int, fails: int) -> v.RungMark:
    if passes and fails:
        return v.RungMark.MIXED
    return v.RungMark.PASSED if passes else v.RungMark.FAILED


# --- words --------------------------------------------------------------------


HINTED = (YES, NO, STOP, NEXT)
"""What a foot is told on the stage, in this order; the rest is on a page of the menu."""


def hints(state: State, can_say: Collection[Control] = HINTED) -> tuple[tuple[Control, Action], ...]:
    """What a foot that can say these controls may do now: each action once.

    Where no and stop both open the menu the stop is shown: in a take it is the only one that does.
    While a drill is on the stage tells of answers; the next drill is in the menu too.
    """
    shown: dict[Action, Control] = {}
    for control in HINTED:
        action = meaning(state, control)
        if control not in can_say or (control is NEXT and state.phase in PLAYING):
            continue
        if action not in shown or (control is STOP and shown[action] is NO):
            shown[action] = control
    shown.pop(Action.NOTHING, None)
    return tuple((control, action) for action, control in shown.items())


def _hints(state: State, heard_s: float, around: Surroundings) -> tuple[v.HintView, ...]:
    """What the foot that is there can do at this heard second."""
    listed = state.phase in LISTS
    ways = around.said.in_list if listed else around.said.usual
    offered = hints(pass_time(state, heard_s), ways)
    shown = hints_of(((control, action_words(state, action)) for control, action in offered), ways)
    if listed and not around.said.chooses:
        shown.append(v.HintView("rest the foot", "choose", STOP.value))
    return tuple(shown)


def ack_view(ack: Ack, heard_s: float) -> v.AckView:
    """What was said or happened, as it fades."""
    return v.AckView(_SIGNS.get(ack.kind, "press"), ack_words(ack), max(0.0, heard_s - ack.at_s))


def _ack(state: State, heard_s: float) -> v.AckView | None:
    return None if state.ack is None else ack_view(state.ack, heard_s)


def _notices(state: State, around: Surroundings) -> tuple[str, ...]:
    log = (state.log_trouble,) if state.log_trouble else ()
    at_first = around.at_first if state.serial == 0 else ()
    stumbles = (STUMBLES_OFTEN,) if len(state.stumbled) > 1 else ()
    return (*log, *lost_words(state.lost_input), *stumbles, *state.notices, *around.notices, *at_first)


STUMBLES_OFTEN = "The sound stumbles: close other programs, or take a larger buffer (Set up, Sound)"


def _menu_view(state: State, heard_s: float, around: Surroundings) -> v.MenuView:
    offered = tuple(_choice(state, choice, around) for choice in pause_choices(state))
    title, choices = {
        Phase.PAUSED: (menu_title(state), offered),
        **{phase: (words, offered) for phase, words in LIST_TITLES.items()},
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
        hints=_hints(state, heard_s, around),
        notices=_notices(state, around),
        ack=_ack(state, heard_s),
        boxes=_boxes_of_the_drill(state, around.shapes) if state.phase is Phase.PAUSED else (),
        left_handed=around.left_handed,
        rested=None if state.due_s is None else min(1.0, max(0.0, 1 - (state.due_s - heard_s) / DWELL_S)),
    )


def _choice(state: State, choice: Choice, around: Surroundings) -> str:
    return "Home" if choice is Choice.CLOSE and around.from_home else choice_words(state, choice)


def _boxes_of_the_drill(state: State, book: ShapeBook) -> tuple[ChordBox, ...]:
    (_, first), (_, second) = _shown(*_hands(state, 0, book))
    return v.boxes_of((first, second))


def lesson_view(
    around: Surroundings, notices: tuple[str, ...], leaves: str = LEAVES_THE_LESSON
) -> v.PageView:
    """The page of a lesson for a pedal. leaves: how it is left."""
    lesson = around.lesson
    small_print = [lesson.hint] if lesson and lesson.hint else []
    if not around.input_name:
        small_print.append(NOTHING_CONNECTED)
    return v.PageView(
        title=lesson.title if lesson else "Teach the pedal",
        lines=lesson.lines if lesson else (),
        hints=(),
        small_print=(*small_print, leaves),
        notices=notices,
    )


def _page_view(state: State, heard_s: float, around: Surroundings) -> v.PageView:
    if state.phase is Phase.SOUND_CHECK:
        page = sound_check_page(state, around.level, around.strings, around.shapes.tuning.strings)
    elif state.phase is Phase.SWITCHES:
        page = v.PageView(around.input_name or "The keyboard", switch_lines(around.said), hints=())
    else:
        page = PAGES[state.phase](state, heard_s)
    if state.phase is Phase.FINISHED and around.next_time:
        page = replace(page, lines=(*page.lines, f"Next time: {around.next_time}."))
    return replace(
        page, hints=_hints(state, heard_s, around), notices=_notices(state, around), ack=_ack(state, heard_s)
    )
