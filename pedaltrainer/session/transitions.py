"""The transitions of a session: one table, which `step` obeys and `docs/inside/session.svg` draws.

A row says: in one of these phases, on one of these causes, when its condition holds, the session does an
action, which leads somewhere. Of several rows that fit the first is meant; where none fits, nothing
happens. A cause is a control that was given, a row of the menu that was chosen, or the class of any other
event.

A foot can say three things. *Yes* (`pass`): begin, clean, go on; in a list the next row. *No* (`fail`):
missed, not now. *Stop* (`pause`): everything stops, nothing is lost, and the menu opens with its marker on
what the moment most likely wants; in a list, this row. `next`, `repeat`, `undo` and `quit` have switches of
their own, or none: what they do is in the menu too. No gesture ends a session, erases or starts over by
itself. A control is read by the stage that stood there when its foot went down (`row_of`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pedaltrainer.pedals.events import Control
from pedaltrainer.session.causes import (
    AFTER_ANSWER,
    AFTER_CAUTIONS,
    AFTER_THE_LESSON,
    BEFORE_THE_DRILL,
    COUNTED_IN,
    FIRST_PAGE,
    STAY,
    TAKEN_BACK,
    UNDONE_IF_ANYTHING,
    WHERE_IT_PAUSED,
    Action,
    Cause,
    Choice,
    LeadsTo,
    Transition,
    already_heard,
    answered,
    at_the_end,
    begun,
    breaks_the_take,
    by_ear,
    by_string,
    cause_of,
    drill_to_skip_to,
    ear_contradicts,
    ear_is_sure,
    first_told,
    foot_down,
    has_gaps,
    has_modes,
    holds_a_beat,
    in_a_drill,
    in_use,
    just_silent,
    may_count,
    more_drills,
    not_due,
    others_left,
    pending,
    ringing,
    seen,
    sound_checked,
    speaking_up,
    string_named,
    to,
    to_be_checked,
    too_early,
    under_way,
)
from pedaltrainer.session.events import (
    Due,
    EarHeard,
    Event,
    Given,
    InputLost,
    LogLost,
    Opened,
    Pointed,
    Pressed,
    Shut,
    SoundChecked,
    SoundLost,
    SoundStumbled,
    Taught,
)
from pedaltrainer.session.first_grammar import FIRST_GRAMMAR
from pedaltrainer.session.state import CLICKING, LISTS, PLAYING, Phase, State

YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE
NEXT, REPEAT, UNDO, QUIT = Control.NEXT, Control.REPEAT, Control.UNDO, Control.QUIT

OPEN = tuple(phase for phase in Phase if phase is not Phase.CLOSED)
AT_HAND = tuple(phase for phase in OPEN if phase is not Phase.TEACHING)
"""The phases in which the controls are the session's, not the lesson's."""
TIMED = (Phase.COUNT_IN, Phase.TAKE, Phase.BREATH, Phase.RESTING, Phase.STILL_THERE)
"""The phases that end by themselves. In a list the marked row may be chosen by a rest of the foot."""
_SIGHT = (Phase.SCREEN_SIZE, Phase.DISTANCE)
_BEHIND_THE_MENU = (Phase.CHANGES, Phase.NOTES)
_REST = (Phase.REST_OFFERED, Phase.RESTING)
_CAN_WAIT = (Phase.BREATH, Phase.RESTING, Phase.STILL_THERE)
_AFTER_A_TAKE = (Phase.COUNT_IN, Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED)
_AFTER_A_MISS = (Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED, Phase.READY, Phase.PAUSED, *_REST)
_AFTER_THE_EAR = (Phase.BREATH, Phase.DRILL_DONE)
_NO_IS_THE_MENU = (Phase.CAUTIONS, Phase.PLAN, Phase.READY, Phase.COUNT_IN, Phase.BREATH, Phase.DRILL_DONE)
_STOPS = tuple(phase for phase in AT_HAND if phase not in {*LISTS, Phase.SWITCHES})
_CAN_FINISH = tuple(
    phase for phase in AT_HAND if phase not in {Phase.FINISHED, Phase.FINISH_ASKED, Phase.SWITCHES}
)
_HEARD = (Phase.COUNT_IN, Phase.TAKE, Phase.ASKING)
_MENU, _SKIPS = to(Phase.PAUSED), (Phase.READY, *PLAYING)
_INTO_THE_DRILL = to(Phase.READY, Phase.ASKING, Phase.BREATH)
_ON = LeadsTo((*COUNTED_IN.phases, Phase.DRILL_DONE, Phase.FINISHED))
_AFTER_SILENCE = LeadsTo((*AFTER_ANSWER.phases, Phase.STILL_THERE))
_BACK = LeadsTo(tuple({*WHERE_IT_PAUSED.phases, Phase.ASKING} - {Phase.FINISHED}))

TABLE: tuple[Transition, ...] = (
    # What can mean nothing any more, or not yet.
    Transition(_AFTER_A_MISS, (STOP,), Action.PAUSE_WAS_MEANT, _MENU, already_heard),
    Transition(_AFTER_A_MISS, tuple(Control), Action.NOTHING, STAY, already_heard),
    Transition(_BEHIND_THE_MENU, tuple(Control), Action.NOTHING, STAY, already_heard),
    Transition(AT_HAND, tuple(Control), Action.TOO_LATE, STAY, too_early),
    Transition(AT_HAND, (Pressed,), Action.NOTHING, STAY, too_early),
    Transition((*TIMED, *LISTS), (Due,), Action.NOTHING, STAY, not_due),
    Transition(_CAN_WAIT, (Due,), Action.WAIT, STAY, foot_down),
    # The first pages.
    Transition((Phase.READY,), (Opened,), Action.OPEN, FIRST_PAGE),
    Transition((Phase.CAUTIONS,), (YES, NEXT), Action.ACCEPT, AFTER_CAUTIONS),
    Transition((Phase.PLAN,), (YES, NEXT), Action.SEE_FIRST, to(Phase.READY)),
    # The sound check: the click by itself, then what came of it.
    Transition((Phase.SOUND_CHECK,), (YES,), Action.CHECK_SOUND, STAY, to_be_checked),
    Transition((Phase.SOUND_CHECK,), (SoundChecked,), Action.SOUND_CHECKED, STAY),
    Transition((Phase.SOUND_CHECK,), (YES,), Action.GO_TO_PLAN, to(Phase.PLAN, Phase.READY), sound_checked),
    Transition((Phase.SOUND_CHECK,), (NEXT,), Action.GO_TO_PLAN, to(Phase.PLAN, Phase.READY)),
    Transition((Phase.SOUND_CHECK,), (NO,), Action.CHECK_SOUND, STAY, sound_checked),
    # What the ear is sure of, and the foot's word against it.
    Transition((Phase.TAKE, Phase.ASKING), (EarHeard,), Action.EAR_MISSED, AFTER_ANSWER, ear_is_sure),
    Transition(
        (Phase.COUNT_IN, Phase.BREATH),
        (EarHeard,),
        Action.EAR_MISSED_AFTER_ALL,
        AFTER_ANSWER,
        ear_contradicts,
    ),
    Transition(_AFTER_THE_EAR, (NO,), Action.OVERRULE, AFTER_ANSWER, by_ear),
    # A take, its answer, and the breath before the next.
    Transition((Phase.READY,), (YES,), Action.BEGIN, COUNTED_IN),
    Transition((Phase.COUNT_IN,), (Due,), Action.LAND, to(Phase.TAKE)),
    Transition((Phase.TAKE,), (Pressed,), Action.NAME_STRING, STAY, by_string),
    Transition((Phase.TAKE,), (YES, NO), Action.STRING_NAMED, STAY, by_string),
    Transition((Phase.TAKE,), (Due,), Action.STRINGS_MISSED, AFTER_ANSWER, string_named),
    Transition((Phase.TAKE,), (Pressed, YES), Action.MISSED_HERE, AFTER_ANSWER, speaking_up),
    Transition((Phase.TAKE,), (YES,), Action.CLEAN, AFTER_ANSWER, ringing),
    Transition((Phase.TAKE,), (NO,), Action.MISSED_HERE, AFTER_ANSWER),
    Transition(
        (Phase.TAKE,),
        (Due,),
        Action.SILENCE_PASSES,
        LeadsTo((*AFTER_ANSWER.phases, Phase.STILL_THERE)),
        speaking_up,
    ),
    Transition((Phase.TAKE,), (Due,), Action.ASK, to(Phase.ASKING)),
    Transition((Phase.ASKING,), (YES,), Action.CLEAN, AFTER_ANSWER),
    Transition((Phase.ASKING,), (NO,), Action.MISSED, AFTER_ANSWER),
    Transition(_AFTER_A_TAKE, (YES,), Action.MISSED_AFTER_ALL, AFTER_ANSWER, just_silent),
    Transition((Phase.BREATH,), (YES, NO), Action.MISSED_MORE, AFTER_ANSWER, may_count),
    Transition((Phase.BREATH,), (YES, Due), Action.GO_NOW, _ON),
    # Silence is believed only from somebody who is there.
    Transition((Phase.STILL_THERE,), (YES, NO, NEXT), Action.STAND, to(Phase.BREATH)),
    Transition((Phase.STILL_THERE,), (Due,), Action.STAND, to(Phase.BREATH), seen),
    Transition((Phase.STILL_THERE,), (Due,), Action.NOBODY_THERE, _MENU),
    # Between drills.
    Transition((Phase.DRILL_DONE,), (YES, NEXT), Action.NEXT_DRILL, to(Phase.READY)),
    Transition(_SKIPS, (NEXT,), Action.SKIP, to(Phase.READY), more_drills),
    Transition(_SKIPS, (NEXT,), Action.ASK_TO_FINISH, to(Phase.FINISH_ASKED)),
    # Rests.
    Transition((Phase.REST_OFFERED,), (YES,), Action.REST, to(Phase.RESTING)),
    Transition((Phase.REST_OFFERED,), (NO, NEXT), Action.PLAY_ON, to(Phase.COUNT_IN)),
    Transition((Phase.RESTING,), (YES, NO, NEXT), Action.PLAY_ON, _BACK),
    Transition((Phase.RESTING,), (Due,), Action.RESTED, _BACK),
    # Lists. Yes moves the marker, stop takes the row, no leaves; a rest of the foot (Due) takes the row
    # where the pedal cannot say stop.
    Transition(LISTS, (YES,), Action.MOVE, STAY),
    Transition(LISTS, (Pointed,), Action.POINT, STAY),
    Transition((Phase.SCREEN_SIZE,), (STOP, NEXT, Due), Action.CHOOSE_SIZE, to(Phase.DISTANCE)),
    Transition((Phase.DISTANCE,), (STOP, NEXT, Due), Action.CHOOSE_DISTANCE, BEFORE_THE_DRILL),
    Transition(_SIGHT, (NO,), Action.KEEP, BEFORE_THE_DRILL),
    Transition((Phase.PAUSED, *_BEHIND_THE_MENU), (STOP, NEXT, Due), Action.CHOOSE, STAY),
    Transition((Phase.PAUSED,), (NO,), Action.GO_BACK, LeadsTo((*_BACK.phases, Phase.FINISHED))),
    # What the menu offers, in its order; CHOOSE does what the marked row says.
    Transition((Phase.PAUSED,), (Choice.GO_ON,), Action.GO_BACK, _BACK, under_way),
    Transition((Phase.PAUSED,), (Choice.SKIP_TAKE,), Action.SKIP_TAKE, to(Phase.BREATH), pending),
    Transition((Phase.PAUSED,), (Choice.CLOSE,), Action.CLOSE, to(Phase.CLOSED), at_the_end),
    Transition((Phase.PAUSED,), (Choice.ONCE_MORE,), Action.SAME_AGAIN, to(Phase.READY), at_the_end),
    Transition((Phase.PAUSED,), (Choice.UNDO,), Action.UNDO, TAKEN_BACK, answered),
    Transition((Phase.PAUSED,), (Choice.SKIP,), Action.SKIP, to(Phase.READY), drill_to_skip_to),
    Transition((Phase.PAUSED,), (Choice.CHANGE,), Action.SHOW_CHANGES, to(Phase.CHANGES), in_a_drill),
    Transition((Phase.PAUSED,), (Choice.NOTE,), Action.SHOW_NOTES, to(Phase.NOTES), begun),
    Transition((Phase.PAUSED,), (Choice.FINISH,), Action.ASK_TO_FINISH, to(Phase.FINISH_ASKED), under_way),
    Transition((Phase.PAUSED,), (Choice.REST,), Action.REST, to(Phase.RESTING), under_way),
    Transition((Phase.PAUSED,), (Choice.TEACH,), Action.TEACH, to(Phase.TEACHING), under_way),
    Transition((Phase.PAUSED,), (Choice.SWITCHES,), Action.SHOW_SWITCHES, to(Phase.SWITCHES)),
    Transition((Phase.SWITCHES,), (YES, NO, STOP, NEXT), Action.STOP, _MENU),
    # What can be changed of the drill that is on; the list stays, so that a step may be taken again.
    Transition((Phase.CHANGES,), (Choice.SLOWER,), Action.SLOWER, STAY),
    Transition((Phase.CHANGES,), (Choice.FASTER,), Action.FASTER, STAY),
    Transition((Phase.CHANGES,), (Choice.STAY,), Action.STAY_HERE, STAY),
    Transition((Phase.CHANGES,), (Choice.PLAY_ON,), Action.GO_BACK, _INTO_THE_DRILL),
    Transition((Phase.CHANGES,), (Choice.MODE,), Action.OTHER_MODE, STAY, has_modes),
    Transition((Phase.CHANGES,), (Choice.MORE_TIME,), Action.MORE_TIME, STAY),
    Transition((Phase.CHANGES,), (Choice.DROP,), Action.DROP, to(Phase.READY), others_left),
    Transition((Phase.CHANGES,), (Choice.BEATS,), Action.OTHER_BEATS, STAY, holds_a_beat),
    Transition((Phase.CHANGES,), (Choice.GAP,), Action.OTHER_GAP, STAY, has_gaps),
    Transition((Phase.CHANGES,), (Choice.STYLE,), Action.OTHER_STYLE, STAY),
    Transition((Phase.CHANGES,), (Choice.LANDINGS,), Action.OTHER_LANDINGS, STAY),
    Transition((Phase.CHANGES,), (Choice.LOUDER,), Action.LOUDER, STAY),
    Transition((Phase.CHANGES,), (Choice.QUIETER,), Action.QUIETER, STAY),
    # A note to the take that was begun last; pain stops.
    Transition((Phase.NOTES,), (Choice.HURTS,), Action.IT_HURTS, to(Phase.HURTS)),
    Transition((Phase.NOTES,), (Choice.BUZZ,), Action.A_BUZZ, _MENU),
    Transition((Phase.NOTES,), (Choice.WRONG_FINGER,), Action.A_WRONG_FINGER, _MENU),
    Transition(_BEHIND_THE_MENU, (Choice.MENU,), Action.TO_MENU, _MENU),
    Transition(_BEHIND_THE_MENU, (NO,), Action.TO_MENU, _MENU),
    # The end: asked once, and yes to the question is not what led to it; the summary is always seen.
    Transition((Phase.FINISH_ASKED, Phase.HURTS), (YES,), Action.FINISH, to(Phase.FINISHED, Phase.CLOSED)),
    Transition((Phase.FINISH_ASKED, Phase.HURTS), (NO,), Action.GO_BACK, _BACK),
    Transition((Phase.FINISHED,), (YES, NO, NEXT, QUIT), Action.STOP, _MENU),
    # A lesson hears the presses itself.
    Transition((Phase.TEACHING,), (QUIT, Taught), Action.LEAVE_LESSON, AFTER_THE_LESSON),
    # Into the menu, and what else can be said at any moment.
    Transition(_NO_IS_THE_MENU, (NO,), Action.STOP, _MENU),
    Transition(_STOPS, (STOP,), Action.STOP, _MENU),
    Transition(_SKIPS, (REPEAT,), Action.REPEAT, COUNTED_IN),
    Transition(AT_HAND, (UNDO,), Action.UNDO, UNDONE_IF_ANYTHING),
    Transition(_CAN_FINISH, (QUIT,), Action.ASK_TO_FINISH, to(Phase.FINISH_ASKED), under_way),
    # Troubles. A question stays open when a pedal goes; a log that refuses takes lets nothing more begin.
    Transition(CLICKING, (InputLost,), Action.INTERRUPT, _MENU, in_use),
    Transition(CLICKING, (SoundLost,), Action.INTERRUPT, _MENU),
    Transition(_HEARD, (SoundStumbled,), Action.STUMBLE, to(Phase.BREATH, Phase.PAUSED), breaks_the_take),
    Transition((*PLAYING, Phase.STILL_THERE), (LogLost,), Action.INTERRUPT, _MENU, first_told),
    Transition(OPEN, (Shut,), Action.SHUT, to(Phase.CLOSED)),
)

_TOO_LATE = Transition(AT_HAND, tuple(Control), Action.TOO_LATE, STAY)
_OUT_OF_PLACE = Transition(AT_HAND, tuple(Control), Action.OUT_OF_PLACE, STAY)
"""What a control comes to when the table has no row for it, or none any more: it is said."""


# --- looking it up -------------------------------------------------------------

_Rows = dict[tuple[Phase, Cause], list[Transition]]


def _by_cause(table: tuple[Transition, ...]) -> _Rows:
    rows: _Rows = {}
    for row in table:
        for phase in row.phases:
            for cause in row.causes:
                rows.setdefault((phase, cause), []).append(row)
    return rows


SECOND_GRAMMAR = tuple(row for row in TABLE if not {Choice.CHANGE, Choice.NOTE} & set(row.causes))
"""Without the lists behind the menu: its rows stood closer together."""
_TABLES = {1: FIRST_GRAMMAR, 2: SECOND_GRAMMAR, 3: TABLE}
_GRAMMARS: Mapping[int, _Rows] = {number: _by_cause(table) for number, table in _TABLES.items()}
_MENUS = {
    number: tuple(cause for row in table for cause in row.causes if isinstance(cause, Choice))
    for number, table in _TABLES.items()
}


def row_for(state: State, cause: Cause, event: Event | None = None) -> Transition | None:
    """What a cause means now: the first row that fits; None when it means nothing."""
    rows = _GRAMMARS[state.settings.grammar].get((state.phase, cause), ())
    return next((row for row in rows if row.when is None or row.when(state, event)), None)


def meaning(state: State, control: Control) -> Action:
    """What a control does now."""
    row = row_for(state, control)
    return Action.NOTHING if row is None else row.action


def pause_choices(state: State) -> tuple[Choice, ...]:
    """What the menu offers: nothing that would do nothing."""
    return tuple(choice for choice in _MENUS[state.settings.grammar] if row_for(state, choice) is not None)


def row_of(state: State, event: Event) -> Transition | None:
    """What an event means now; in the menu that of the row that is chosen."""
    if isinstance(event, Given) and state.settings.grammar > 1:
        return _meant(state, event)
    return _chosen(state, row_for(state, cause_of(event), event), event)


def _chosen(state: State, row: Transition | None, event: Event) -> Transition | None:
    if row is not None and row.action is Action.CHOOSE:
        return row_for(state, pause_choices(state)[state.chosen], event)
    return row


def _meant(state: State, given: Given) -> Transition | None:
    """A control, read by the stage that its foot saw as it went down; what that meant, if it can still be."""
    if state.phase is Phase.CLOSED:
        return None
    if already_heard(state, given) and (heard := row_for(state, given.control, given)):
        return heard
    down = state.down_at(given.pressed_s)
    then = state if down is None else down.then
    row = _chosen(then, row_for(then, given.control, given), given)
    if row is None:
        # A foot that taps along asks for nothing.
        return None if given.control is YES else _OUT_OF_PLACE
    if _moment(then) == _moment(state):
        return row
    return row if _LASTS.get(row.action, _never)(state, then) else _TOO_LATE


def _moment(state: State) -> tuple[object, ...]:
    """What tells one moment of the stage from the next to a foot that means something by it."""
    marked = (state.chosen, state.went_on_to) if state.phase in LISTS else ()
    return (state.phase, state.serial, state.drill_index, len(state.answers), *marked)


def _never(now: State, then: State) -> bool:
    return False


def _always(now: State, then: State) -> bool:
    return True


def _same_take(now: State, then: State) -> bool:
    return now.phase in {Phase.TAKE, Phase.ASKING} and now.run == then.run


def _can_stop(now: State, then: State) -> bool:
    row = row_for(now, STOP)
    return row is not None and row.action is Action.STOP


def _same_answers(now: State, then: State) -> bool:
    return now.phase in {*_AFTER_A_TAKE, Phase.TAKE} and now.answers == then.answers


_LASTS: Mapping[Action, Callable[[State, State], bool]] = {
    Action.STOP: _can_stop,
    Action.CLEAN: _same_take,
    Action.MISSED_HERE: _same_take,
    Action.MISSED_AFTER_ALL: _same_answers,
    Action.MISSED_MORE: _same_answers,
    Action.STRING_NAMED: _always,
    Action.OVERRULE: _same_answers,
}
"""What can still be done when the moment it was meant for has gone by: (now, then) -> whether."""
