"""What each control means in each phase: one table, read by the session and by the stage.

`pass`, `fail` and `next` are all that one switch can say (tap, double tap,
hold); a switch that cannot show a hold has only the first two. So every row
lets the player get on with `pass` and `fail`, if need be through the menu that
a pause opens. The other controls (`again`, `pause`, `undo`, `quit`) mean the same everywhere.
"""

from __future__ import annotations

from enum import Enum, StrEnum, auto

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.state import Phase, State


class Action(Enum):
    """What the session can be told to do."""

    NOTHING = auto()
    ACCEPT = auto()
    SEE_FIRST = auto()
    BEGIN = auto()
    SKIP = auto()
    CLEAN = auto()
    MISSED = auto()
    MISSED_HERE = auto()
    MISSED_AFTER_ALL = auto()
    GO_NOW = auto()
    UNDO = auto()
    PAUSE = auto()
    MOVE = auto()
    CHOOSE = auto()
    GO_BACK = auto()
    KEEP = auto()
    REST = auto()
    PLAY_ON = auto()
    NEXT_DRILL = auto()
    SAME_AGAIN = auto()
    AGAIN = auto()
    LEAVE_LESSON = auto()
    FINISH = auto()
    CLOSE = auto()


_WORDS = {
    Action.ACCEPT: "go on",
    Action.SEE_FIRST: "go on",
    Action.BEGIN: "begin",
    Action.SKIP: "next drill",
    Action.CLEAN: "clean",
    Action.MISSED: "missed",
    Action.MISSED_HERE: "missed",
    Action.MISSED_AFTER_ALL: "it was missed",
    Action.GO_NOW: "go now",
    Action.UNDO: "undo",
    Action.PAUSE: "pause",
    Action.MOVE: "move",
    Action.CHOOSE: "choose",
    Action.GO_BACK: "go back",
    Action.KEEP: "keep it",
    Action.REST: "rest",
    Action.PLAY_ON: "play on",
    Action.NEXT_DRILL: "next drill",
    Action.SAME_AGAIN: "once more",
    Action.AGAIN: "again",
    Action.FINISH: "finish",
    Action.CLOSE: "close",
}


PASS_, FAIL, NEXT = Control.PASS_, Control.FAIL, Control.NEXT

_ROWS: dict[Phase, dict[Control, Action]] = {
    Phase.CAUTIONS: {PASS_: Action.ACCEPT, FAIL: Action.ACCEPT, NEXT: Action.ACCEPT},
    Phase.SCREEN_SIZE: {PASS_: Action.MOVE, FAIL: Action.CHOOSE, NEXT: Action.KEEP},
    Phase.DISTANCE: {PASS_: Action.MOVE, FAIL: Action.CHOOSE, NEXT: Action.KEEP},
    Phase.PLAN: {PASS_: Action.SEE_FIRST, FAIL: Action.PAUSE, NEXT: Action.SEE_FIRST},
    Phase.READY: {PASS_: Action.BEGIN, FAIL: Action.PAUSE, NEXT: Action.SKIP},
    Phase.COUNT_IN: {FAIL: Action.PAUSE, NEXT: Action.PAUSE},
    Phase.TAKE: {FAIL: Action.MISSED_HERE, NEXT: Action.PAUSE},
    Phase.ASKING: {PASS_: Action.CLEAN, FAIL: Action.MISSED, NEXT: Action.SKIP},
    Phase.BREATH: {PASS_: Action.GO_NOW, FAIL: Action.PAUSE, NEXT: Action.UNDO},
    Phase.PAUSED: {PASS_: Action.MOVE, FAIL: Action.CHOOSE, NEXT: Action.GO_BACK},
    Phase.REST_OFFERED: {PASS_: Action.REST, FAIL: Action.PLAY_ON, NEXT: Action.PAUSE},
    Phase.RESTING: {PASS_: Action.PLAY_ON, FAIL: Action.PLAY_ON, NEXT: Action.PAUSE},
    Phase.TEACHING: {},
    Phase.DRILL_DONE: {PASS_: Action.NEXT_DRILL, FAIL: Action.PAUSE, NEXT: Action.UNDO},
    Phase.FINISHED: {PASS_: Action.SAME_AGAIN, FAIL: Action.PAUSE, NEXT: Action.CLOSE},
    Phase.CLOSED: {},
}

_EVERYWHERE = {
    Control.AGAIN: Action.AGAIN,
    Control.PAUSE: Action.PAUSE,
    Control.UNDO: Action.UNDO,
    Control.QUIT: Action.FINISH,
}


class Choice(StrEnum):
    """What the pause menu offers, in its order."""

    GO_ON = "Go on"
    UNDO = "Undo the last answer"
    SKIP = "Next drill"
    REST = "Rest a while"
    TEACH = "Teach the pedal"
    FINISH = "Finish"


def pause_choices(state: State) -> tuple[Choice, ...]:
    """What the pause menu offers now: nothing that would do nothing."""
    idle = {Choice.UNDO} if not state.answers else set()
    if state.last_drill:
        idle.add(Choice.SKIP)
    return tuple(choice for choice in Choice if choice not in idle)


def meaning(state: State, control: Control) -> Action:
    """What a control does now. A foot in a speak-up take has only one thing to say."""
    if state.phase is Phase.TEACHING:
        return Action.LEAVE_LESSON if control is Control.QUIT else Action.NOTHING
    if control in _EVERYWHERE:
        return _EVERYWHERE[control]
    if state.settings.answer_style is AnswerStyle.SPEAK_UP and control is not NEXT:
        if state.phase is Phase.TAKE:
            return Action.MISSED_HERE
        if control is PASS_ and late_miss_possible(state):
            return Action.MISSED_AFTER_ALL
    return _ROWS[state.phase].get(control, Action.NOTHING)


_NOTHING_TO_PAUSE = frozenset(
    {Phase.PLAN, Phase.READY, Phase.REST_OFFERED, Phase.RESTING, Phase.DRILL_DONE, Phase.FINISHED}
)
_AFTER_A_TAKE = frozenset({Phase.BREATH, Phase.COUNT_IN, Phase.DRILL_DONE, Phase.FINISHED})


def late_miss_possible(state: State) -> bool:
    """Is a press now still about the speak-up take that has just gone by in silence?"""
    return state.phase in _AFTER_A_TAKE and state.now_s <= state.late_until_s


def words(state: State, action: Action) -> str:
    """What the stage calls an action."""
    if action is Action.SKIP and state.last_drill:
        return "finish"
    if action is Action.PAUSE and state.phase in _NOTHING_TO_PAUSE:
        return "menu"
    return _WORDS[action]


def hints(state: State) -> tuple[tuple[Control, Action], ...]:
    """What one switch can say now: each action once, by its shortest gesture.

    A pause is shown by the hold where that will do: in the take that follows it is the only gesture for it.
    """
    shown: dict[Action, Control] = {}
    for control in (PASS_, FAIL, NEXT):
        action = meaning(state, control)
        if action not in shown or action is Action.PAUSE:
            shown[action] = control
    shown.pop(Action.NOTHING, None)
    return tuple((control, action) for action, control in shown.items())
