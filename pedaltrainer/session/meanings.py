"""What each control means now, as the stage shows it, and what the stage calls it."""

from __future__ import annotations

from pedaltrainer.pedals.events import Control
from pedaltrainer.session.state import Phase, State
from pedaltrainer.session.transitions import SAID_BY_ONE_SWITCH, Action, row_for

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
    Action.CHOOSE_SIZE: "choose",
    Action.CHOOSE_DISTANCE: "choose",
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


def meaning(state: State, control: Control) -> Action:
    """What a control does now."""
    row = row_for(state, control)
    return Action.NOTHING if row is None else row.action


_NOTHING_TO_PAUSE = frozenset(
    {Phase.PLAN, Phase.READY, Phase.REST_OFFERED, Phase.RESTING, Phase.DRILL_DONE, Phase.FINISHED}
)


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
    for control in SAID_BY_ONE_SWITCH:
        action = meaning(state, control)
        if action not in shown or action is Action.PAUSE:
            shown[action] = control
    shown.pop(Action.NOTHING, None)
    return tuple((control, action) for action, control in shown.items())
