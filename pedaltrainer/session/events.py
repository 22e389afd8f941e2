"""What happens to a session: everything that goes into `session.step`. Frozen and pure.

Every event carries the heard second at which it happened.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pedaltrainer.pedals.events import Control


@dataclass(frozen=True, slots=True)
class Opened:
    """The stage is open and the stream runs."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class Pressed:
    """A foot (or an answering key) went down: known at once, before any gesture is."""

    heard_s: float
    t_s: float
    judge: str
    answers: bool = True
    """Its switch can answer a take; logs of before tell of no other."""
    known_within_s: float = 0.0
    """Seconds until its gesture is known at the latest."""
    dwells: bool = False
    """Nothing on its pedal can choose from a list: there a rest of the foot does."""


@dataclass(frozen=True, slots=True)
class Pointed:
    """A pointer or a finger was put on a row of a list: it is marked."""

    heard_s: float
    row: int


@dataclass(frozen=True, slots=True)
class Given:
    """A control was given: its press began at pressed_heard_s, and arrived at the raw time pressed_s."""

    heard_s: float
    pressed_heard_s: float
    pressed_s: float
    control: Control
    judge: str


@dataclass(frozen=True, slots=True)
class Due:
    """The moment the state was waiting for has come: heard_s is state.due_s."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class InputLost:
    """An input went. in_use: it gave the last press, or there is no other one left."""

    heard_s: float
    name: str
    in_use: bool = True


@dataclass(frozen=True, slots=True)
class InputBack:
    heard_s: float
    name: str


@dataclass(frozen=True, slots=True)
class SoundLost:
    heard_s: float
    words: str


@dataclass(frozen=True, slots=True)
class SoundStumbled:
    """The sound device had nothing to play for a moment, at the heard second at_s: it sounds broken."""

    heard_s: float
    at_s: float


@dataclass(frozen=True, slots=True)
class SoundBack:
    """Another sound device plays from now on; without a name the same one, of which more is known.

    lead_s: from a decision to the first click, at the least.
    """

    heard_s: float
    name: str
    lead_s: float = 0.0


@dataclass(frozen=True, slots=True)
class LogLost:
    """The log cannot be written for now; what was answered is kept in memory and tried again."""

    heard_s: float
    words: str


@dataclass(frozen=True, slots=True)
class LogBack:
    """Everything answered is on disk again."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class Taught:
    """The lesson for a pedal is over; words say what was learnt."""

    heard_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Shut:
    """The window was closed from outside: a take that is on is void."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class Noted:
    """What was noted of a take, beside what led to it: for whoever reads the record. Nothing comes of it.

    take_utc: when the take began, as its row has it. drill: its key.
    """

    heard_s: float
    at_utc: str
    take_utc: str
    drill: str
    tempo_bpm: int
    note: str


@dataclass(frozen=True, slots=True)
class AtHome:
    """What happened at home before this session, `was` as plain data. Nothing comes of it."""

    heard_s: float
    was: dict[str, Any]


Told = (
    Pressed
    | Pointed
    | Given
    | Due
    | InputLost
    | InputBack
    | SoundLost
    | SoundStumbled
    | SoundBack
    | Taught
    | Shut
)
"""What the devices, the clock and the window tell."""

Event = Told | Opened | AtHome | Noted | LogLost | LogBack
