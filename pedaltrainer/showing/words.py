"""What the stage calls what a session does: actions, rows of the pause menu, acknowledgements. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.ways import Said, Way
from pedaltrainer.practice.take import MORE, AnswerStyle
from pedaltrainer.screen.view import HintView
from pedaltrainer.session.causes import Action, Choice
from pedaltrainer.session.state import CLICKING, Ack, AckKind, Phase, State
from pedaltrainer.showing.pages import minutes

_ACTIONS = {
    Action.ACCEPT: "go on",
    Action.SEE_FIRST: "go on",
    Action.BEGIN: "begin",
    Action.SKIP: "next drill",
    Action.CLEAN: "clean",
    Action.MISSED: "missed",
    Action.MISSED_HERE: "missed",
    Action.MISSED_AFTER_ALL: "it was missed",
    Action.MISSED_MORE: "more than one",
    Action.GO_NOW: "go now",
    Action.STAND: "I am here",
    Action.UNDO: "take it back",
    Action.STOP: "stop",
    Action.MOVE: "move",
    Action.CHOOSE: "choose",
    Action.CHOOSE_SIZE: "choose",
    Action.CHOOSE_DISTANCE: "choose",
    Action.SKIP_TAKE: "skip this take",
    Action.GO_BACK: "go on",
    Action.KEEP: "as it was",
    Action.REST: "rest",
    Action.PLAY_ON: "play on",
    Action.NEXT_DRILL: "next drill",
    Action.SAME_AGAIN: "once more",
    Action.REPEAT: "repeat",
    Action.TEACH: "teach the pedal",
    Action.SHOW_SWITCHES: "what each press says",
    Action.ASK_TO_FINISH: "finish",
    Action.FINISH: "yes",
    Action.CLOSE: "close",
    Action.TO_MENU: "menu",
    Action.STRING_NAMED: "it does not ring",
    Action.CHECK_SOUND: "listen",
    Action.GO_TO_PLAN: "go on",
    Action.OVERRULE: "it was clean",
}


def action_words(state: State, action: Action) -> str:
    """What the stage calls an action."""
    if action is Action.STOP and state.phase not in CLICKING:
        return "back" if state.phase is Phase.SWITCHES else "menu"
    if action is Action.CHECK_SOUND and state.checked is not None:
        return "listen again"
    if action is Action.GO_BACK and state.phase in {Phase.FINISH_ASKED, Phase.HURTS}:
        return "not now"
    if action is Action.GO_BACK and state.went_on_to is Phase.FINISHED:
        return "back"
    return _ACTIONS[action]


CHOICES = {
    Choice.GO_ON: "Go on",
    Choice.SKIP_TAKE: "Skip this take",
    Choice.CLOSE: "Close",
    Choice.ONCE_MORE: "Once more from the start",
    Choice.UNDO: "Take the last answer back",
    Choice.SKIP: "Next drill",
    Choice.CHANGE: "Change something",
    Choice.NOTE: "Note to this take",
    Choice.FINISH: "Finish",
    Choice.REST: "Rest a while",
    Choice.TEACH: "Teach the pedal",
    Choice.SWITCHES: "What each press says",
    Choice.SLOWER: "Slower than {tempo_bpm}",
    Choice.FASTER: "Faster than {tempo_bpm}",
    Choice.STAY: "{stay}",
    Choice.PLAY_ON: "Go on",
    Choice.MODE: "{mode}",
    Choice.MORE_TIME: "5 more minutes, now {left}",
    Choice.DROP: "Leave this drill out today",
    Choice.BEATS: "Beats on a chord: {beats}",
    Choice.GAP: "Between chords: {gap}",
    Choice.STYLE: "Answers: {style}",
    Choice.LANDINGS: "Landings in a take: {landings}",
    Choice.LOUDER: "Louder",
    Choice.QUIETER: "Quieter",
    Choice.HURTS: "It hurts",
    Choice.BUZZ: "A string buzzes",
    Choice.WRONG_FINGER: "A wrong finger",
    Choice.MENU: "Back",
}
"""The rows of the menu, and of the lists behind it, with what is so by now."""


def choice_words(state: State, choice: Choice) -> str:
    """A row of the menu, or of a list behind it: "Landings in a take: 8"."""
    asks = state.settings.answer_style is AnswerStyle.ASK
    return CHOICES[choice].format(
        tempo_bpm=state.tempo_bpm,
        stay="Stay at this tempo" if state.held_bpm is None else f"Let it move on from {state.held_bpm}",
        mode="Practise, not measure" if state.mode == "measure" else "Measure, not practise",
        left=minutes(max(0.0, state.allowance_s - state.spent_s)),
        beats=state.drill.beats_per_chord,
        gap=state.drill.gap.value,
        style="asked" if asks else "press at a miss",
        landings=state.settings.landings,
    )


LIST_TITLES = {Phase.CHANGES: "Change something", Phase.NOTES: "Note to this take"}


def menu_title(state: State) -> str:
    """What the menu is called: "Paused", or the end."""
    return "That is all" if state.went_on_to is Phase.FINISHED else "Paused"


_GESTURES = {GestureKind.TAP: "{}", GestureKind.DOUBLE: "{} twice", GestureKind.HOLD: "hold {}"}


def way_words(way: Way) -> str:
    """How something is said by foot: "tap", or of several switches "hold switch 2", "page down"."""
    kind, _, name = way.switch.partition(" ")
    if kind == "key":
        return _GESTURES[way.gesture].format(name)
    if way.feet == 1:
        return str(way.gesture)
    return _GESTURES[way.gesture].format(f"switch {way.foot}")


def hints_of(offered: Iterable[tuple[Control, str]], ways: Mapping[Control, Way]) -> list[HintView]:
    """What is offered, as hints, of all that can be said."""
    return [HintView(way_words(ways[says]), words, says.value) for says, words in offered if says in ways]


def lost_words(name: str | None) -> tuple[str, ...]:
    """Of an input that went, if one did."""
    return (f"{name} has gone: use the keyboard, or plug it in again",) if name else ()


_SAYS = {
    Control.PASS_: "begin, clean, go on",
    Control.FAIL: "missed, not now",
    Control.PAUSE: "stop; in the menu, this row",
    Control.NEXT: "next drill; in the menu, this row",
    Control.REPEAT: "the same tempo once more",
    Control.UNDO: "take the last answer back",
    Control.QUIT: "finish",
}


def switch_lines(said: Said) -> tuple[str, ...]:
    """Everything that the pedal which is there can say, a line each."""
    lines = [
        f"{way_words(said.usual[control])}: {says}"
        for control, says in _SAYS.items()
        if control in said.usual
    ]
    return (*lines, *(() if said.chooses else ("A rest of the foot chooses in a list",)))


_ACKS = {
    AckKind.PRESS: "",
    AckKind.PASS_: "Clean at {tempo}",
    AckKind.FAIL: "Missed {often}at {tempo}{where}{strings}",
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
    AckKind.TOO_LATE: "Too late: that moment was over",
    AckKind.OUT_OF_PLACE: "Nothing to do there now",
    AckKind.STANDS: "Then they count",
    AckKind.NOBODY_THERE: "Nobody there: taken back",
    AckKind.SAID: "{name}",
    AckKind.CHANGED: "Changed",
    AckKind.NOTED: "Noted",
    AckKind.STUMBLED: "The sound stumbled: that was no take",
    AckKind.SOUND_BACK: "Sound again: {name}",
    AckKind.EAR: "The ear: missed at {tempo}",
    AckKind.STRING: "Does not ring: {name}",
}


def ack_words(ack: Ack) -> str:
    """What was said or happened, in a word or two: "Missed at 84, landing 3"."""
    tempo = f"{ack.take.tempo_bpm:g}" if ack.take else ""
    where = f", landing {ack.take.first_miss}" if ack.take and ack.take.first_miss else ""
    often = _OFTEN[ack.take.misses] if ack.take else ""
    strings = f": {ack.name}" if ack.name else ""
    return _ACKS[ack.kind].format(name=ack.name, tempo=tempo, where=where, often=often, strings=strings)


_OFTEN = {None: "", 1: "once ", MORE: "more than once "}
