"""The transitions of a session: one table, which `step` obeys and `docs/inside/session.svg` draws.

A row says: in one of these phases, on one of these causes, when its condition holds, the session does an
action, which leads somewhere. Of several rows that fit the first is meant; where none fits, nothing
happens. A cause is a control that was given, a row of the pause menu that was chosen, or the class of
any other event.

`pass`, `fail` and `next` are all that one switch can say (tap, double tap, hold); a switch that cannot
show a hold has only the first two. So every phase lets the player get on with `pass` and `fail`, if need
be through the menu that a pause opens. The other controls (`repeat`, `pause`, `undo`, `quit`) mean the
same wherever they mean anything.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from enum import Enum, auto

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.events import (
    Due,
    Event,
    Given,
    InputLost,
    LogLost,
    Opened,
    Pressed,
    Shut,
    SoundLost,
    Taught,
)
from pedaltrainer.session.state import CLICKING, PLAYING, Phase, State


class Action(Enum):
    """What the session does, at the player's word or by itself."""

    NOTHING = auto()
    OPEN = auto()
    ACCEPT = auto()
    SEE_FIRST = auto()
    BEGIN = auto()
    LAND = auto()
    ASK = auto()
    SKIP = auto()
    CLEAN = auto()
    MISSED = auto()
    MISSED_HERE = auto()
    MISSED_AFTER_ALL = auto()
    SILENCE_PASSES = auto()
    GO_NOW = auto()
    UNDO = auto()
    PAUSE = auto()
    PAUSE_WAS_MEANT = auto()
    INTERRUPT = auto()
    MOVE = auto()
    CHOOSE = auto()
    CHOOSE_SIZE = auto()
    CHOOSE_DISTANCE = auto()
    GO_BACK = auto()
    KEEP = auto()
    REST = auto()
    PLAY_ON = auto()
    RESTED = auto()
    NEXT_DRILL = auto()
    SAME_AGAIN = auto()
    REPEAT = auto()
    TEACH = auto()
    LEAVE_LESSON = auto()
    FINISH = auto()
    CLOSE = auto()
    SHUT = auto()


class Choice(Enum):
    """What the pause menu offers, in its order."""

    GO_ON = auto()
    UNDO = auto()
    SKIP = auto()
    REST = auto()
    TEACH = auto()
    FINISH = auto()


Cause = Control | Choice | type[Event]


def cause_of(event: Event) -> Cause:
    """What of an event the table asks for."""
    return event.control if isinstance(event, Given) else type(event)


# --- conditions -------------------------------------------------------------
# The stage asks what a control would do, before there is an event: then it is None.

Condition = Callable[[State, Event | None], bool]


def already_heard(state: State, event: Event | None) -> bool:
    """Its press has marked a miss, whatever gesture it has become."""
    return isinstance(event, Given) and event.pressed_s == state.miss_pressed_s


def too_early(state: State, event: Event | None) -> bool:
    """Its press began in the phase before."""
    if isinstance(event, Given):
        return event.pressed_heard_s < state.since_s
    return isinstance(event, Pressed) and event.heard_s < state.since_s


def not_due(state: State, event: Event | None) -> bool:
    return state.due_s is None or state.now_s < state.due_s


def speaking_up(state: State, event: Event | None) -> bool:
    return state.settings.answer_style is AnswerStyle.SPEAK_UP


def just_silent(state: State, event: Event | None) -> bool:
    """A press now is still about the speak-up take that has just gone by in silence."""
    return bool(state.answers) and state.now_s <= state.late_until_s


def answered(state: State, event: Event | None) -> bool:
    return bool(state.answers)


def more_drills(state: State, event: Event | None) -> bool:
    return not state.last_drill


def in_use(state: State, event: Event | None) -> bool:
    return isinstance(event, InputLost) and event.in_use


def first_told(state: State, event: Event | None) -> bool:
    """The player has not been told yet that the log cannot be written."""
    return state.log_trouble is None


# --- where an action leads ---------------------------------------------------


@dataclass(frozen=True, slots=True)
class LeadsTo:
    """The phases that an action can lead to; `stays`: it may also leave the phase as it is."""

    phases: tuple[Phase, ...] = ()
    stays: bool = False


def _to(*phases: Phase) -> LeadsTo:
    return LeadsTo(phases)


STAY = LeadsTo(stays=True)
FIRST_PAGE = _to(Phase.TEACHING, Phase.CAUTIONS, Phase.SCREEN_SIZE, Phase.PLAN, Phase.READY)
AFTER_CAUTIONS = _to(Phase.SCREEN_SIZE, Phase.PLAN, Phase.READY)
BEFORE_THE_DRILL = _to(Phase.PLAN, Phase.READY)
COUNTED_IN = _to(Phase.COUNT_IN, Phase.REST_OFFERED)
AFTER_ANSWER = _to(Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED)
SKIPPED = _to(Phase.READY, Phase.FINISHED)
TAKEN_BACK = _to(Phase.ASKING, Phase.BREATH)
UNDONE_IF_ANYTHING = LeadsTo(TAKEN_BACK.phases, stays=True)
AFTER_THE_LESSON = _to(Phase.PAUSED, Phase.CLOSED)
ENDED = _to(Phase.FINISHED, Phase.CLOSED)
WHERE_IT_PAUSED = _to(
    Phase.CAUTIONS,
    Phase.SCREEN_SIZE,
    Phase.DISTANCE,
    Phase.PLAN,
    Phase.READY,
    Phase.BREATH,
    Phase.DRILL_DONE,
    Phase.FINISHED,
)
"""Back from a pause: a take never resumes in its middle, it is counted in afresh after a breath."""

# --- the table ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Transition:
    """In these phases, on these causes, when the condition holds: an action, and where it leads."""

    phases: Collection[Phase]
    causes: tuple[Cause, ...]
    action: Action
    leads_to: LeadsTo
    when: Condition | None = None


PASS_, FAIL, NEXT = SAID_BY_ONE_SWITCH = (Control.PASS_, Control.FAIL, Control.NEXT)
OPEN = tuple(phase for phase in Phase if phase is not Phase.CLOSED)
AT_HAND = tuple(phase for phase in OPEN if phase is not Phase.TEACHING)
"""The phases in which the controls are the session's, not the lesson's."""
TIMED = (Phase.COUNT_IN, Phase.TAKE, Phase.BREATH, Phase.RESTING)
"""The phases that end by themselves."""
_SIGHT = (Phase.SCREEN_SIZE, Phase.DISTANCE)
_REST = (Phase.REST_OFFERED, Phase.RESTING)
_NOT_PAUSED = tuple(phase for phase in AT_HAND if phase is not Phase.PAUSED)
_AFTER_A_TAKE = (Phase.COUNT_IN, Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED)
_AFTER_A_MISS = (Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED, Phase.READY, Phase.PAUSED, *_REST)

TABLE: tuple[Transition, ...] = (
    # What can mean nothing any more, or not yet.
    Transition(_AFTER_A_MISS, (NEXT,), Action.PAUSE_WAS_MEANT, _to(Phase.PAUSED), already_heard),
    Transition(_AFTER_A_MISS, tuple(Control), Action.NOTHING, STAY, already_heard),
    Transition(OPEN, (*Control, Pressed), Action.NOTHING, STAY, too_early),
    Transition(TIMED, (Due,), Action.NOTHING, STAY, not_due),
    # The first pages.
    Transition((Phase.READY,), (Opened,), Action.OPEN, FIRST_PAGE),
    Transition((Phase.CAUTIONS,), SAID_BY_ONE_SWITCH, Action.ACCEPT, AFTER_CAUTIONS),
    Transition(_SIGHT, (PASS_,), Action.MOVE, STAY),
    Transition((Phase.SCREEN_SIZE,), (FAIL,), Action.CHOOSE_SIZE, _to(Phase.DISTANCE)),
    Transition((Phase.DISTANCE,), (FAIL,), Action.CHOOSE_DISTANCE, BEFORE_THE_DRILL),
    Transition(_SIGHT, (NEXT,), Action.KEEP, BEFORE_THE_DRILL),
    Transition((Phase.PLAN,), (PASS_, NEXT), Action.SEE_FIRST, _to(Phase.READY)),
    # A take, its answer, and the breath before the next.
    Transition((Phase.READY,), (PASS_,), Action.BEGIN, COUNTED_IN),
    Transition((Phase.READY, Phase.ASKING), (NEXT,), Action.SKIP, SKIPPED),
    Transition((Phase.COUNT_IN,), (Due,), Action.LAND, _to(Phase.TAKE)),
    Transition((Phase.TAKE,), (Pressed, PASS_), Action.MISSED_HERE, AFTER_ANSWER, speaking_up),
    Transition((Phase.TAKE,), (FAIL,), Action.MISSED_HERE, AFTER_ANSWER),
    Transition((Phase.TAKE,), (Due,), Action.SILENCE_PASSES, AFTER_ANSWER, speaking_up),
    Transition((Phase.TAKE,), (Due,), Action.ASK, _to(Phase.ASKING)),
    Transition((Phase.ASKING,), (PASS_,), Action.CLEAN, AFTER_ANSWER),
    Transition((Phase.ASKING,), (FAIL,), Action.MISSED, AFTER_ANSWER),
    Transition(_AFTER_A_TAKE, (PASS_,), Action.MISSED_AFTER_ALL, AFTER_ANSWER, just_silent),
    Transition((Phase.BREATH,), (PASS_, Due), Action.GO_NOW, COUNTED_IN),
    Transition((Phase.BREATH, Phase.DRILL_DONE), (NEXT,), Action.UNDO, UNDONE_IF_ANYTHING),
    # Pages between and after.
    Transition((Phase.DRILL_DONE,), (PASS_,), Action.NEXT_DRILL, _to(Phase.READY)),
    Transition((Phase.FINISHED,), (PASS_,), Action.SAME_AGAIN, _to(Phase.READY)),
    Transition((Phase.FINISHED,), (NEXT,), Action.CLOSE, _to(Phase.CLOSED)),
    # Rests.
    Transition((Phase.REST_OFFERED,), (PASS_,), Action.REST, _to(Phase.RESTING)),
    Transition((Phase.REST_OFFERED,), (FAIL,), Action.PLAY_ON, _to(Phase.COUNT_IN)),
    Transition((Phase.RESTING,), (PASS_, FAIL), Action.PLAY_ON, WHERE_IT_PAUSED),
    Transition((Phase.RESTING,), (Due,), Action.RESTED, WHERE_IT_PAUSED),
    # The pause menu: CHOOSE does what the marked row says.
    Transition((Phase.PAUSED,), (PASS_,), Action.MOVE, STAY),
    Transition((Phase.PAUSED,), (FAIL,), Action.CHOOSE, STAY),
    Transition((Phase.PAUSED,), (NEXT, Choice.GO_ON), Action.GO_BACK, WHERE_IT_PAUSED),
    Transition((Phase.PAUSED,), (Choice.UNDO,), Action.UNDO, TAKEN_BACK, answered),
    Transition((Phase.PAUSED,), (Choice.SKIP,), Action.SKIP, _to(Phase.READY), more_drills),
    Transition((Phase.PAUSED,), (Choice.REST,), Action.REST, _to(Phase.RESTING)),
    Transition((Phase.PAUSED,), (Choice.TEACH,), Action.TEACH, _to(Phase.TEACHING)),
    Transition((Phase.PAUSED,), (Choice.FINISH,), Action.FINISH, ENDED),
    # A lesson hears the presses itself.
    Transition((Phase.TEACHING,), (Control.QUIT, Taught), Action.LEAVE_LESSON, AFTER_THE_LESSON),
    # Into the pause menu, and what else can be said at any moment.
    Transition((Phase.PLAN, Phase.READY, *_AFTER_A_TAKE), (FAIL,), Action.PAUSE, _to(Phase.PAUSED)),
    Transition((*CLICKING, *_REST), (NEXT,), Action.PAUSE, _to(Phase.PAUSED)),
    Transition(_NOT_PAUSED, (Control.PAUSE,), Action.PAUSE, _to(Phase.PAUSED)),
    Transition((Phase.READY, *PLAYING), (Control.REPEAT,), Action.REPEAT, COUNTED_IN),
    Transition(AT_HAND, (Control.UNDO,), Action.UNDO, UNDONE_IF_ANYTHING),
    Transition(AT_HAND, (Control.QUIT,), Action.FINISH, ENDED),
    # Troubles. A question stays open when a pedal goes; a log that refuses takes lets nothing more begin.
    Transition(CLICKING, (InputLost,), Action.INTERRUPT, _to(Phase.PAUSED), in_use),
    Transition(CLICKING, (SoundLost,), Action.INTERRUPT, _to(Phase.PAUSED)),
    Transition(PLAYING, (LogLost,), Action.INTERRUPT, _to(Phase.PAUSED), first_told),
    Transition(OPEN, (Shut,), Action.SHUT, _to(Phase.CLOSED)),
)

_ROWS: dict[tuple[Phase, Cause], list[Transition]] = {}
for _row in TABLE:
    for _phase in _row.phases:
        for _cause in _row.causes:
            _ROWS.setdefault((_phase, _cause), []).append(_row)


def row_for(state: State, cause: Cause, event: Event | None = None) -> Transition | None:
    """What a cause means now: the first row that fits; None when it means nothing."""
    rows = _ROWS.get((state.phase, cause), ())
    return next((row for row in rows if row.when is None or row.when(state, event)), None)


def meaning(state: State, control: Control) -> Action:
    """What a control does now."""
    row = row_for(state, control)
    return Action.NOTHING if row is None else row.action


def pause_choices(state: State) -> tuple[Choice, ...]:
    """What the pause menu offers: nothing that would do nothing."""
    return tuple(choice for choice in Choice if row_for(state, choice) is not None)


def row_of(state: State, event: Event) -> Transition | None:
    """What an event means now; in the pause menu that of the row that is chosen."""
    row = row_for(state, cause_of(event), event)
    if row is not None and row.action is Action.CHOOSE:
        return row_for(state, pause_choices(state)[state.chosen], event)
    return row
