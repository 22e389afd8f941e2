"""The rows of the log, as plain frozen data, and the two things that name them: ids and times.

A row checks itself when it is made, so that nothing reaches the file that the
file would have to refuse. Every rule is one line of a table: the value's name,
a test, and what the value must be.

Ids are UUID version 7 (RFC 9562, section 5.7): they begin with the time in
milliseconds, so they sort by age, and their random part lets two logs be
joined by plain union.
"""

from __future__ import annotations

import json
import math
import re
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, NamedTuple

import uuid6

OUTCOMES = ("pass", "fail", "void")
ANSWER_STYLES = ("ask", "speak-up")
ANSWERS_CHOSEN = ("ask", "count", "speak-up")
"""What a player can choose: to count is to be asked, and after a miss whether there was more than one."""
UTC_PATTERN = re.compile(r"(?!9999)[1-9]\d{3}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)
"""Of the years 1000 to 9998: these moments have a day in every time zone, and one after them."""
LEAST_BPM, MOST_BPM, MOST_LANDINGS = 1, 1000, 100_000
"""Far outside what anybody plays; beyond them reckoning with a take runs over."""
INT64 = range(-(2**63), 2**63)

_id_lock = threading.Lock()


def new_id() -> str:
    """A new globally unique id: 36 characters, later ids of one process sort after earlier ones.

    Across processes the order is that of their wall clocks, to the millisecond.
    """
    # The library steps past its last time stamp, but without a lock two threads could share one.
    with _id_lock:
        return str(uuid6.uuid7())


def utc_text(moment: datetime) -> str:
    """A moment as ISO 8601 in UTC with milliseconds: 2026-03-01T18:05:09.250Z.

    Raises ValueError for a moment without a time zone.
    """
    if moment.tzinfo is None:
        raise ValueError("a moment for the log needs a time zone")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def parse_utc(text: str) -> datetime:
    """The moment that `utc_text` wrote. Raises ValueError for any other form."""
    if not UTC_PATTERN.fullmatch(text):
        raise ValueError(f"{text!r} is not a UTC time such as 2026-03-01T18:05:09.250Z")
    return datetime.fromisoformat(text)


def to_json(value: object) -> str:
    """Compact JSON, ASCII only, so that any string survives it. Raises ValueError for NaN and infinities."""
    return json.dumps(value, separators=(",", ":"), allow_nan=False)


def _text(value: Any) -> bool:
    return isinstance(value, str) and value != "" and _encodes(value)


def _encodes(value: str) -> bool:
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
    return True


def _utc(value: Any) -> bool:
    try:
        parse_utc(value)
    except (ValueError, TypeError):
        return False
    return True


def _count(value: Any) -> bool:
    return type(value) is int and 1 <= value < 2**63


def _seed(value: Any) -> bool:
    return value is None or (type(value) is int and value in INT64)


def _finite(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    # SQLite takes no whole number of more than 64 bits, also where it is to become one with a fraction.
    return math.isfinite(value) if isinstance(value, float) else value in INT64


def _tempo(value: Any) -> bool:
    return _finite(value) and LEAST_BPM <= value <= MOST_BPM


def _landings(value: Any) -> bool:
    return _count(value) and value <= MOST_LANDINGS


def _not_negative(value: Any) -> bool:
    return _finite(value) and value >= 0


def _finite_or_none(value: Any) -> bool:
    return value is None or _finite(value)


def _chords(value: Any) -> bool:
    return isinstance(value, tuple) and len(value) > 0 and all(_text(chord) for chord in value)


def _misses(value: Any, landings: int) -> bool:
    return type(value) is int and 1 <= value <= min(2, landings)


Rule = tuple[str, Callable[[Any], bool], str]

_TEXT, _UTC, _COUNT = "text that is not empty", "a UTC time such as 2026-03-01T18:05:09.250Z", "at least 1"

TAKE_RULES: tuple[Rule, ...] = (
    ("id", _text, _TEXT),
    ("session_id", _text, _TEXT),
    ("player", _text, _TEXT),
    ("drill", _text, _TEXT),
    ("chords", _chords, "a tuple of chord symbols"),
    ("beats_per_chord", _count, _COUNT),
    ("metre", _count, _COUNT),
    ("tempo_bpm", _tempo, f"from {LEAST_BPM} to {MOST_BPM}"),
    ("landings", _landings, f"from 1 to {MOST_LANDINGS}"),
    ("outcome", OUTCOMES.__contains__, f"one of {', '.join(OUTCOMES)}"),
    ("judge", _text, _TEXT),
    ("answer_style", ANSWER_STYLES.__contains__, f"one of {', '.join(ANSWER_STYLES)}"),
    ("ladder", _text, _TEXT),
    ("started_utc", _utc, _UTC),
    ("ended_utc", _utc, _UTC),
    ("pressed_s", _finite_or_none, "a number of seconds or None"),
    ("heard_press_s", _finite_or_none, "a number of seconds or None"),
    ("reaction_ms", _not_negative, "0 or more"),
    ("duration_s", _not_negative, "0 or more"),
)

SESSION_RULES: tuple[Rule, ...] = (
    ("id", _text, _TEXT),
    ("player", _text, _TEXT),
    ("started_utc", _utc, _UTC),
    ("program_version", _text, _TEXT),
    ("seed", _seed, "a 64-bit whole number or None"),
)


def _check(row: object, rules: tuple[Rule, ...]) -> None:
    for name, holds, must_be in rules:
        value = getattr(row, name)
        if not holds(value):
            raise ValueError(f"{name} must be {must_be}, not {value!r}")


@dataclass(frozen=True, slots=True)
class TakeRow:
    """One take as the log keeps it.

    drill is the key of what was practised ("change Am E", "re-land F").
    first_miss is the 1-based landing that went wrong; only a fail can have one. misses: 1 when one
    landing was missed, 2 when it was more than one, None where that was not asked.
    pressed_s is the raw time of the answering press and heard_press_s the same
    press on the time of what was heard, both in seconds on the session's clock;
    None where nobody pressed. reaction_ms is what was taken off a press in a
    speak-up take to find the landing it was about. cancelled is read from the cancellations and
    never written: a take is undone by `Log.cancel_take`.

    Raises ValueError naming the first value that breaks a rule.
    """

    id: str
    session_id: str
    player: str
    drill: str
    chords: tuple[str, ...]
    beats_per_chord: int
    metre: int
    tempo_bpm: float
    landings: int
    outcome: str
    first_miss: int | None
    judge: str
    answer_style: str
    ladder: str
    started_utc: str
    ended_utc: str
    pressed_s: float | None
    heard_press_s: float | None
    reaction_ms: float
    duration_s: float
    misses: int | None = None
    cancelled: bool = False

    def __post_init__(self) -> None:
        _check(self, TAKE_RULES)
        if self.misses is not None and not (self.outcome == "fail" and _misses(self.misses, self.landings)):
            raise ValueError(f"misses must be 1 or 2 for a fail and else None, not {self.misses!r}")
        if self.first_miss is None:
            return
        if self.outcome != "fail":
            raise ValueError(f"first_miss must be None for a {self.outcome}, not {self.first_miss!r}")
        if not (type(self.first_miss) is int and 1 <= self.first_miss <= self.landings):
            raise ValueError(f"first_miss must be from 1 to {self.landings}, not {self.first_miss!r}")


class Answer(NamedTuple):
    """Of a take only what measuring needs, as the file has it: thousands are read at a start."""

    drill: str
    chords: tuple[str, ...]
    tempo_bpm: float
    landings: int
    outcome: str
    first_miss: int | None
    started_utc: str
    reaction_ms: float
    session_id: str
    answer_style: str
    misses: int | None = None


class Cancellation(NamedTuple):
    """A take taken back."""

    id: str
    take_id: str
    at_utc: str
    reason: str


class Input(NamedTuple):
    """One happening of a session, numbered from 1. content: a JSON object, as text."""

    session_id: str
    seq: int
    content: str


class PlayedQuarter(NamedTuple):
    """How much of a drill was played in the quarter of an hour (UTC) that began then.

    beats_min: the sum over the takes of the minutes of a beat; landings_min: the same for every landing that
    was played, as if each lasted a beat.
    """

    at: datetime
    drill: str
    takes: int
    beats_min: float
    landings_min: float


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One sitting: who, when, with which program and settings.

    settings holds JSON values only, keyed by text; it and seed are what a replay needs
    beside the inputs. Raises ValueError naming the first value that breaks a rule.
    """

    id: str
    player: str
    started_utc: str
    program_version: str
    seed: int | None = None
    settings: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _check(self, SESSION_RULES)
        check_json_object(self.settings, "settings")


def check_json_object(value: Mapping[str, Any], name: str) -> str:
    """The JSON text of an object of plain JSON values. Raises ValueError naming what it was for."""
    if not isinstance(value, Mapping):
        raise ValueError(f"{name} must be an object, not {type(value).__name__}")
    try:
        text = to_json(value)
    except (TypeError, ValueError) as problem:
        raise ValueError(f"{name} must hold plain JSON values only: {problem}") from problem
    if json.loads(text) != value:
        raise ValueError(f"{name} must come back from JSON unchanged (text keys, lists rather than tuples)")
    return text
