"""The first grammar: the table by which sessions of old logs, whose settings name no grammar, are told again.

Only replay reads it. In it a lone switch said pass, fail and next; see `transitions` for what holds now.
"""

from __future__ import annotations

from pedaltrainer.pedals.events import Control
from pedaltrainer.session.causes import (
    AFTER_ANSWER,
    AFTER_CAUTIONS,
    AFTER_THE_LESSON,
    BEFORE_THE_DRILL,
    COUNTED_IN,
    ENDED,
    FIRST_PAGE,
    SKIPPED,
    STAY,
    TAKEN_BACK,
    UNDONE_IF_ANYTHING,
    WHERE_IT_PAUSED,
    Action,
    Choice,
    Transition,
    already_heard,
    answered,
    first_told,
    in_use,
    just_silent,
    more_drills,
    not_due,
    speaking_up,
    to,
    too_early,
)
from pedaltrainer.session.events import Due, InputLost, LogLost, Opened, Pressed, Shut, SoundLost, Taught
from pedaltrainer.session.state import CLICKING, PLAYING, Phase

PASS_, FAIL, NEXT = _SAID_BY_ONE_SWITCH = (Control.PASS_, Control.FAIL, Control.NEXT)
_OPEN = tuple(phase for phase in Phase if phase is not Phase.CLOSED)
_AT_HAND = tuple(phase for phase in _OPEN if phase is not Phase.TEACHING)
"""The phases in which the controls are the session's, not the lesson's."""
_TIMED = (Phase.COUNT_IN, Phase.TAKE, Phase.BREATH, Phase.RESTING)
"""The phases that end by themselves."""
_SIGHT = (Phase.SCREEN_SIZE, Phase.DISTANCE)
_REST = (Phase.REST_OFFERED, Phase.RESTING)
_NOT_PAUSED = tuple(phase for phase in _AT_HAND if phase is not Phase.PAUSED)
_AFTER_A_TAKE = (Phase.COUNT_IN, Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED)
_AFTER_A_MISS = (Phase.BREATH, Phase.DRILL_DONE, Phase.FINISHED, Phase.READY, Phase.PAUSED, *_REST)

FIRST_GRAMMAR: tuple[Transition, ...] = (
    # What can mean nothing any more, or not yet.
    Transition(_AFTER_A_MISS, (NEXT,), Action.PAUSE_WAS_MEANT, to(Phase.PAUSED), already_heard),
    Transition(_AFTER_A_MISS, tuple(Control), Action.NOTHING, STAY, already_heard),
    Transition(_OPEN, (*Control, Pressed), Action.NOTHING, STAY, too_early),
    Transition(_TIMED, (Due,), Action.NOTHING, STAY, not_due),
    # The first pages.
    Transition((Phase.READY,), (Opened,), Action.OPEN, FIRST_PAGE),
    Transition((Phase.CAUTIONS,), _SAID_BY_ONE_SWITCH, Action.ACCEPT, AFTER_CAUTIONS),
    Transition(_SIGHT, (PASS_,), Action.MOVE, STAY),
    Transition((Phase.SCREEN_SIZE,), (FAIL,), Action.CHOOSE_SIZE, to(Phase.DISTANCE)),
    Transition((Phase.DISTANCE,), (FAIL,), Action.CHOOSE_DISTANCE, BEFORE_THE_DRILL),
    Transition(_SIGHT, (NEXT,), Action.KEEP, BEFORE_THE_DRILL),
    Transition((Phase.PLAN,), (PASS_, NEXT), Action.SEE_FIRST, to(Phase.READY)),
    # A take, its answer, and the breath before the next.
    Transition((Phase.READY,), (PASS_,), Action.BEGIN, COUNTED_IN),
    Transition((Phase.READY, Phase.ASKING), (NEXT,), Action.SKIP, SKIPPED),
    Transition((Phase.COUNT_IN,), (Due,), Action.LAND, to(Phase.TAKE)),
    Transition((Phase.TAKE,), (Pressed, PASS_), Action.MISSED_HERE, AFTER_ANSWER, speaking_up),
    Transition((Phase.TAKE,), (FAIL,), Action.MISSED_HERE, AFTER_ANSWER),
    Transition((Phase.TAKE,), (Due,), Action.SILENCE_PASSES, AFTER_ANSWER, speaking_up),
    Transition((Phase.TAKE,), (Due,), Action.ASK, to(Phase.ASKING)),
    Transition((Phase.ASKING,), (PASS_,), Action.CLEAN, AFTER_ANSWER),
    Transition((Phase.ASKING,), (FAIL,), Action.MISSED, AFTER_ANSWER),
    Transition(_AFTER_A_TAKE, (PASS_,), Action.MISSED_AFTER_ALL, AFTER_ANSWER, just_silent),
    Transition((Phase.BREATH,), (PASS_, Due), Action.GO_NOW, COUNTED_IN),
    Transition((Phase.BREATH, Phase.DRILL_DONE), (NEXT,), Action.UNDO, UNDONE_IF_ANYTHING),
    # Pages between and after.
    Transition((Phase.DRILL_DONE,), (PASS_,), Action.NEXT_DRILL, to(Phase.READY)),
    Transition((Phase.FINISHED,), (PASS_,), Action.SAME_AGAIN, to(Phase.READY)),
    Transition((Phase.FINISHED,), (NEXT,), Action.CLOSE, to(Phase.CLOSED)),
    # Rests.
    Transition((Phase.REST_OFFERED,), (PASS_,), Action.REST, to(Phase.RESTING)),
    Transition((Phase.REST_OFFERED,), (FAIL,), Action.PLAY_ON, to(Phase.COUNT_IN)),
    Transition((Phase.RESTING,), (PASS_, FAIL), Action.PLAY_ON, WHERE_IT_PAUSED),
    Transition((Phase.RESTING,), (Due,), Action.RESTED, WHERE_IT_PAUSED),
    # The pause menu: CHOOSE does what the marked row says.
    Transition((Phase.PAUSED,), (PASS_,), Action.MOVE, STAY),
    Transition((Phase.PAUSED,), (FAIL,), Action.CHOOSE, STAY),
    Transition((Phase.PAUSED,), (NEXT, Choice.GO_ON), Action.GO_BACK, WHERE_IT_PAUSED),
    Transition((Phase.PAUSED,), (Choice.UNDO,), Action.UNDO, TAKEN_BACK, answered),
    Transition((Phase.PAUSED,), (Choice.SKIP,), Action.SKIP, to(Phase.READY), more_drills),
    Transition((Phase.PAUSED,), (Choice.REST,), Action.REST, to(Phase.RESTING)),
    Transition((Phase.PAUSED,), (Choice.TEACH,), Action.TEACH, to(Phase.TEACHING)),
    Transition((Phase.PAUSED,), (Choice.FINISH,), Action.FINISH, ENDED),
    # A lesson hears the presses itself.
    Transition((Phase.TEACHING,), (Control.QUIT, Taught), Action.LEAVE_LESSON, AFTER_THE_LESSON),
    # Into the pause menu, and what else can be said at any moment.
    Transition((Phase.PLAN, Phase.READY, *_AFTER_A_TAKE), (FAIL,), Action.PAUSE, to(Phase.PAUSED)),
    Transition((*CLICKING, *_REST), (NEXT,), Action.PAUSE, to(Phase.PAUSED)),
    Transition(_NOT_PAUSED, (Control.PAUSE,), Action.PAUSE, to(Phase.PAUSED)),
    Transition((Phase.READY, *PLAYING), (Control.REPEAT,), Action.REPEAT, COUNTED_IN),
    Transition(_AT_HAND, (Control.UNDO,), Action.UNDO, UNDONE_IF_ANYTHING),
    Transition(_AT_HAND, (Control.QUIT,), Action.FINISH, ENDED),
    # Troubles. A question stays open when a pedal goes; a log that refuses takes lets nothing more begin.
    Transition(CLICKING, (InputLost,), Action.INTERRUPT, to(Phase.PAUSED), in_use),
    Transition(CLICKING, (SoundLost,), Action.INTERRUPT, to(Phase.PAUSED)),
    Transition(PLAYING, (LogLost,), Action.INTERRUPT, to(Phase.PAUSED), first_told),
    Transition(_OPEN, (Shut,), Action.SHUT, to(Phase.CLOSED)),
)
