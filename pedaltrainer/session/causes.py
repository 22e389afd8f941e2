"""What a transition of a session is made of: actions, causes, conditions, and where it leads. Pure."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from enum import Enum, auto

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.events import (
    EarHeard,
    Event,
    Given,
    InputLost,
    Pressed,
    SoundStumbled,
)
from pedaltrainer.session.state import Phase, State


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
    MISSED_MORE = auto()
    SILENCE_PASSES = auto()
    STAND = auto()
    NOBODY_THERE = auto()
    WAIT = auto()
    GO_NOW = auto()
    UNDO = auto()
    PAUSE = auto()
    STOP = auto()
    PAUSE_WAS_MEANT = auto()
    INTERRUPT = auto()
    STUMBLE = auto()
    MOVE = auto()
    POINT = auto()
    CHOOSE = auto()
    SKIP_TAKE = auto()
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
    SHOW_SWITCHES = auto()
    ASK_TO_FINISH = auto()
    FINISH = auto()
    CLOSE = auto()
    SHUT = auto()
    TOO_LATE = auto()
    OUT_OF_PLACE = auto()
    SHOW_CHANGES = auto()
    SHOW_NOTES = auto()
    TO_MENU = auto()
    SLOWER = auto()
    FASTER = auto()
    STAY_HERE = auto()
    OTHER_MODE = auto()
    MORE_TIME = auto()
    DROP = auto()
    OTHER_BEATS = auto()
    OTHER_GAP = auto()
    OTHER_STYLE = auto()
    OTHER_LANDINGS = auto()
    LOUDER = auto()
    QUIETER = auto()
    IT_HURTS = auto()
    A_BUZZ = auto()
    A_WRONG_FINGER = auto()
    NAME_STRING = auto()
    STRING_NAMED = auto()
    STRINGS_MISSED = auto()
    CHECK_SOUND = auto()
    SOUND_CHECKED = auto()
    GO_TO_PLAN = auto()
    EAR_MISSED = auto()
    EAR_MISSED_AFTER_ALL = auto()
    OVERRULE = auto()


class Choice(Enum):
    """What the menu can offer, and the lists behind it."""

    GO_ON = auto()
    SKIP_TAKE = auto()
    CLOSE = auto()
    ONCE_MORE = auto()
    UNDO = auto()
    SKIP = auto()
    CHANGE = auto()
    NOTE = auto()
    FINISH = auto()
    REST = auto()
    TEACH = auto()
    SWITCHES = auto()
    SLOWER = auto()
    FASTER = auto()
    STAY = auto()
    PLAY_ON = auto()
    MODE = auto()
    MORE_TIME = auto()
    DROP = auto()
    BEATS = auto()
    GAP = auto()
    STYLE = auto()
    LANDINGS = auto()
    LOUDER = auto()
    QUIETER = auto()
    HURTS = auto()
    BUZZ = auto()
    WRONG_FINGER = auto()
    MENU = auto()


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
    """Silence is a pass; a press means a miss when its switch can answer."""
    can_answer = not isinstance(event, Pressed) or event.answers
    return state.settings.answer_style is AnswerStyle.SPEAK_UP and can_answer


def by_string(state: State, event: Event | None) -> bool:
    """A press in this take is about one string, and the take goes on; when its switch can answer."""
    can_answer = not isinstance(event, Pressed) or event.answers
    return can_answer and state.run is not None and state.run.drill.row.by_string


def string_named(state: State, event: Event | None) -> bool:
    """A string did not ring, as the foot has said, or the ear surely heard."""
    sure = state.settings.ear_answers and state.heard is not None and state.heard.is_sure
    return by_string(state, event) and (bool(state.named) or sure)


def to_be_checked(state: State, event: Event | None) -> bool:
    """A sound check can begin."""
    return state.checked is None and not state.checks


def sound_checked(state: State, event: Event | None) -> bool:
    return state.checked is not None and not state.checks


def ear_is_sure(state: State, event: Event | None) -> bool:
    """The ear is sure that the take that is on was missed, and may say so by itself."""
    if not isinstance(event, EarHeard) or state.run is None or not state.settings.ear_answers:
        return False
    # Played string by string it goes on to its end: the foot may know of others.
    goes_on = state.phase is Phase.TAKE and state.run.drill.row.by_string
    return event.is_sure and event.serial == state.run.serial and not goes_on


def ear_contradicts(state: State, event: Event | None) -> bool:
    """The same of the take that has just gone by in silence."""
    if not state.settings.ear_answers or not isinstance(event, EarHeard) or not state.answers:
        return False
    last = state.answers[-1]
    return event.is_sure and last.judge == "silence" and last.run.serial == event.serial


def by_ear(state: State, event: Event | None) -> bool:
    """The last take was answered by the ear."""
    return bool(state.answers) and state.answers[-1].judge == EAR


EAR = "ear"
"""Who answered, when the ear did."""


def ringing(state: State, event: Event | None) -> bool:
    """The last chord of a take that will be asked about sounds: it can be answered already."""
    asks = state.settings.answer_style is AnswerStyle.ASK
    return asks and state.run is not None and state.now_s >= state.run.last_landing_s


def foot_down(state: State, event: Event | None) -> bool:
    """A press is under way whose gesture is not known yet."""
    return any(down.known_s >= state.now_s for down in state.downs)


def seen(state: State, event: Event | None) -> bool:
    """The foot has shown itself since the last silent pass."""
    return not state.unseen


def just_silent(state: State, event: Event | None) -> bool:
    """A press now is still about the speak-up take that has just gone by in silence."""
    return bool(state.answers) and state.now_s <= state.late_until_s


def may_count(state: State, event: Event | None) -> bool:
    """A press would say that more than one landing was missed."""
    return state.may_count


def answered(state: State, event: Event | None) -> bool:
    return bool(state.answers)


def pending(state: State, event: Event | None) -> bool:
    """A take waits for its answer."""
    return state.run is not None


def at_the_end(state: State, event: Event | None) -> bool:
    """The menu stands before the summary."""
    return state.phase is Phase.PAUSED and state.went_on_to is Phase.FINISHED


def under_way(state: State, event: Event | None) -> bool:
    return not at_the_end(state, event)


def more_drills(state: State, event: Event | None) -> bool:
    return not state.last_drill


def drill_to_skip_to(state: State, event: Event | None) -> bool:
    return under_way(state, event) and not state.last_drill


def in_a_drill(state: State, event: Event | None) -> bool:
    """The menu leads back into a drill: before a take, to its question, or to the breath after it."""
    return state.went_on_to in {Phase.READY, Phase.ASKING, Phase.BREATH}


def begun(state: State, event: Event | None) -> bool:
    """There is a take that a note could be about."""
    return state.last_run is not None and under_way(state, event)


def has_modes(state: State, event: Event | None) -> bool:
    """This drill's ladder can measure and practise."""
    seeks = state.settings.ladder == "seek" and not state.drill.row.measures_nothing
    return seeks and state.mode in {"measure", "practise"}


def holds_a_beat(state: State, event: Event | None) -> bool:
    """All its chords last the same, as long as one likes."""
    drill = state.drill
    return not drill.holds and not drill.row.is_parted and not drill.row.early


def has_gaps(state: State, event: Event | None) -> bool:
    return state.drill.row.gaps


def others_left(state: State, event: Event | None) -> bool:
    """There is a drill to play when this one is left out."""
    return not replace(state, dropped=(*state.dropped, state.drill_index)).last_drill


def in_use(state: State, event: Event | None) -> bool:
    return isinstance(event, InputLost) and event.in_use


def breaks_the_take(state: State, event: Event | None) -> bool:
    """The sound stumbled after the take's count-in had begun, and before its last chord was over."""
    run = state.run
    return isinstance(event, SoundStumbled) and run is not None and run.start_s <= event.at_s <= run.end_s


def first_told(state: State, event: Event | None) -> bool:
    """The player has not been told yet that the log cannot be written."""
    return state.log_trouble is None


# --- where an action leads ---------------------------------------------------


@dataclass(frozen=True, slots=True)
class LeadsTo:
    """The phases that an action can lead to; `stays`: it may also leave the phase as it is."""

    phases: tuple[Phase, ...] = ()
    stays: bool = False


def to(*phases: Phase) -> LeadsTo:
    return LeadsTo(phases)


STAY = LeadsTo(stays=True)
FIRST_PAGE = to(Phase.TEACHING, Phase.CAUTIONS, Phase.SCREEN_SIZE, Phase.SOUND_CHECK, Phase.PLAN, Phase.READY)
AFTER_CAUTIONS = to(Phase.SCREEN_SIZE, Phase.SOUND_CHECK, Phase.PLAN, Phase.READY)
BEFORE_THE_DRILL = to(Phase.SOUND_CHECK, Phase.PLAN, Phase.READY)
COUNTED_IN = to(Phase.COUNT_IN, Phase.REST_OFFERED)
AFTER_ANSWER = to(Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED)
SKIPPED = to(Phase.READY, Phase.FINISHED)
TAKEN_BACK = to(Phase.ASKING, Phase.BREATH)
UNDONE_IF_ANYTHING = LeadsTo(TAKEN_BACK.phases, stays=True)
AFTER_THE_LESSON = to(Phase.PAUSED, Phase.CLOSED)
ENDED = to(Phase.FINISHED, Phase.CLOSED)
WHERE_IT_PAUSED = to(
    Phase.CAUTIONS,
    Phase.SCREEN_SIZE,
    Phase.DISTANCE,
    Phase.SOUND_CHECK,
    Phase.PLAN,
    Phase.READY,
    Phase.BREATH,
    Phase.DRILL_DONE,
    Phase.FINISHED,
)
"""Back from a pause: a take never resumes in its middle, it is counted in afresh after a breath."""


@dataclass(frozen=True, slots=True)
class Transition:
    """In these phases, on these causes, when the condition holds: an action, and where it leads."""

    phases: Collection[Phase]
    causes: tuple[Cause, ...]
    action: Action
    leads_to: LeadsTo
    when: Condition | None = None
