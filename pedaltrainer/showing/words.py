"""What the stage calls what a session does: actions, rows of the pause menu, acknowledgements. Pure."""

from __future__ import annotations

from pedaltrainer.session.state import Ack, AckKind, Phase, State
from pedaltrainer.session.transitions import Action, Choice

_ACTIONS = {
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
    Action.REPEAT: "repeat",
    Action.FINISH: "finish",
    Action.CLOSE: "close",
}


_NOTHING_TO_PAUSE = frozenset(
    {Phase.PLAN, Phase.READY, Phase.REST_OFFERED, Phase.RESTING, Phase.DRILL_DONE, Phase.FINISHED}
)


def action_words(state: State, action: Action) -> str:
    """What the stage calls an action."""
    if action is Action.SKIP and state.last_drill:
        return "finish"
    if action is Action.PAUSE and state.phase in _NOTHING_TO_PAUSE:
        return "menu"
    return _ACTIONS[action]


CHOICES = {
    Choice.GO_ON: "Go on",
    Choice.UNDO: "Undo the last answer",
    Choice.SKIP: "Next drill",
    Choice.REST: "Rest a while",
    Choice.TEACH: "Teach the pedal",
    Choice.FINISH: "Finish",
}
"""The rows of the pause menu."""

_ACKS = {
    AckKind.PRESS: "",
    AckKind.PASS_: "Clean at {tempo}",
    AckKind.FAIL: "Missed at {tempo}{where}",
    AckKind.NEXT: "Next",
    AckKind.REPEAT: "Once more",
    AckKind.TAKEN_BACK: "Taken back",
    AckKind.NOTHING_TO_UNDO: "Nothing to undo",
    AckKind.PAUSED: "Paused",
    AckKind.RESTED: "Rested",
    AckKind.TAUGHT: "{name}",
    AckKind.NOT_TAUGHT: "Nothing was changed",
    AckKind.INPUT_GONE: "{name} has gone",
    AckKind.INPUT_BACK: "{name} is back",
    AckKind.LOG_BACK: "The log is written again",
}


def ack_words(ack: Ack) -> str:
    """What was said or happened, in a word or two: "Missed at 84, landing 3"."""
    tempo = f"{ack.take.tempo_bpm:g}" if ack.take else ""
    where = f", landing {ack.take.first_miss}" if ack.take and ack.take.first_miss else ""
    return _ACKS[ack.kind].format(name=ack.name, tempo=tempo, where=where)
