"""The words the pedal room speaks: edges, gestures and controls.

    raw message -> BoundEdge -> Gesture -> Control

Every time is `t_s`, seconds on `time.perf_counter()`, taken in the callback
that received the message. Nothing here knows what a control leads to.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Control(StrEnum):
    """What a player can say. `pass` is Python's word too, hence PASS_."""

    PASS_ = "pass"
    FAIL = "fail"
    NEXT = "next"
    REPEAT = "repeat"
    PAUSE = "pause"
    UNDO = "undo"
    QUIT = "quit"

    @classmethod
    def _missing_(cls, value: object) -> Control | None:
        """Binding files and logs of before call a repeat by its old name."""
        return cls.REPEAT if value == "again" else None


class GestureKind(StrEnum):
    TAP = "tap"
    DOUBLE = "double tap"
    HOLD = "hold"


@dataclass(frozen=True, slots=True)
class SwitchEdge:
    """One switch went down or came up.

    device is the input's name, switch names the switch on it in words
    ("controller 64 on channel 1", "key space"). `bindings.BoundEdge` is one
    that carries its rule.
    """

    t_s: float
    device: str
    switch: str
    down: bool


@dataclass(frozen=True, slots=True)
class Slid:
    """A pedal or a knob that travels was moved: at t_s it stands at a share of its way, 0 to 1."""

    t_s: float
    device: str
    switch: str
    place: float


@dataclass(frozen=True, slots=True)
class Gesture:
    """A finished gesture: it began at pressed_s and was recognised at t_s."""

    t_s: float
    pressed_s: float
    kind: GestureKind


@dataclass(frozen=True, slots=True)
class ControlGiven:
    """A control, from a foot or a key: pressed_s is when the press began."""

    t_s: float
    pressed_s: float
    control: Control
    judge: str


class InputChange(StrEnum):
    FOUND = "found"
    LOST = "lost"
    BACK = "back"
    TO_THE_EAR = "to the ear"
    """It is a guitar, whose notes the ear hears, and no pedal any more."""
    NONE = "none"


@dataclass(frozen=True, slots=True)
class InputStatus:
    """The input came or went at t_s; words say so in one sentence for the stage.

    device is the name that its edges carry, empty when there is no input.
    """

    t_s: float
    change: InputChange
    device: str
    words: str
