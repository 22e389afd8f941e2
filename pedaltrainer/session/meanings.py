"""What each control means now."""

from __future__ import annotations

from pedaltrainer.pedals.events import Control
from pedaltrainer.session.state import State
from pedaltrainer.session.transitions import SAID_BY_ONE_SWITCH, Action, row_for


def meaning(state: State, control: Control) -> Action:
    """What a control does now."""
    row = row_for(state, control)
    return Action.NOTHING if row is None else row.action


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
