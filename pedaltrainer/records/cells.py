"""Between the log's rows and what stands in the cells of its tables."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import fields
from functools import lru_cache
from typing import Any

from pedaltrainer.records import queries
from pedaltrainer.records.names import Names
from pedaltrainer.records.rows import (
    LEAST_BPM,
    MOST_BPM,
    MOST_LANDINGS,
    OUTCOMES,
    Answer,
    Cancellation,
    Input,
    PlayedQuarter,
    SessionRow,
    TakeRow,
    check_json_object,
    parse_utc,
    to_json,
)

TAKE_COLUMNS = tuple(field.name for field in fields(TakeRow) if field.name != "cancelled")
SESSION_COLUMNS = tuple(field.name for field in fields(SessionRow))
CANCELLATION_COLUMNS = Cancellation._fields
INPUT_COLUMNS = Input._fields
UNREADABLE = (ValueError, TypeError, OverflowError, RecursionError)
"""What is raised for a row that the log would have refused: bytes of it were changed on the disk."""
NAMED = ", ".join(TAKE_COLUMNS)
MARKS = ", ".join("?" * len(TAKE_COLUMNS))
STARTED = queries.ANSWER_COLUMNS.index("started_utc")


def inserting(table: str, columns: Sequence[str]) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"


def take_values(row: TakeRow, player: str | None = None) -> list[Any]:
    named = {name: getattr(row, name) for name in TAKE_COLUMNS} | {"chords": to_json(row.chords)}
    return list((named | ({} if player is None else {"player": player})).values())


def session_values(row: SessionRow) -> list[Any]:
    values = [getattr(row, name) for name in SESSION_COLUMNS]
    values[SESSION_COLUMNS.index("settings")] = check_json_object(row.settings, "settings")
    return values


def one_of(column: str, values: Sequence[str]) -> str:
    """A condition; with one value as an equation, for which an index gives rows in order."""
    return f"{column} = ?" if len(values) == 1 else f"{column} IN ({', '.join('?' * len(values))})"


def take_of(row: Sequence[Any], names: Names) -> TakeRow:
    *values, cancelled = row
    named = dict(zip(TAKE_COLUMNS, values, strict=True))
    named["chords"] = chords_of(named["chords"])
    named["player"] = names.shown(named["player"])
    return TakeRow(**named, cancelled=bool(cancelled))


def text_of(row: Sequence[Any]) -> str:
    """The text that a row begins with. Raises ValueError for anything else: a damaged index may hold that."""
    if not isinstance(row[0], str):
        raise ValueError(f"{row[0]!r} in the place of text")
    return row[0]


def answer_of(row: Sequence[Any]) -> Answer:
    """Raises one of UNREADABLE for a row that measuring could not use."""
    drill, chords, *rest = row
    answer = Answer(drill, chords_of(chords), *rest)
    parse_utc(answer.started_utc)
    if not (
        isinstance(drill, str)
        and answer.outcome in OUTCOMES
        and LEAST_BPM <= answer.tempo_bpm <= MOST_BPM
        and 0 <= answer.reaction_ms < math.inf
        and 1 <= answer.landings <= MOST_LANDINGS
        and (answer.first_miss is None or 1 <= answer.first_miss <= answer.landings)
        and (answer.misses is None or answer.misses in {1, 2})
    ):
        raise ValueError(f"a take of {answer.started_utc}")
    return answer


def played_of(row: Sequence[Any]) -> tuple[int, str | None]:
    """How many takes, and when the last began. Raises one of UNREADABLE for what is no time."""
    count, last = row
    if last is not None:
        parse_utc(last)
    return count, last


def quarter_of(row: Sequence[Any]) -> PlayedQuarter:
    """Raises one of UNREADABLE for sums that takes of the log cannot have."""
    began, drill, takes, beats_min, landings_min = row
    if not (0 < beats_min <= takes / LEAST_BPM and 0 < landings_min <= beats_min * MOST_LANDINGS):
        raise ValueError(f"a take of {began}")
    return PlayedQuarter(parse_utc(f"{began}:00.000Z"), drill, takes, beats_min, landings_min)


@lru_cache(maxsize=1024)
def chords_of(text: str) -> tuple[str, ...]:
    """Chord symbols from their JSON. Raises one of UNREADABLE."""
    chords = json.loads(text)
    if not isinstance(chords, list) or not all(isinstance(chord, str) for chord in chords):
        raise ValueError("chords are a list of symbols")
    return tuple(chords)


def session_of(row: Sequence[Any], names: Names) -> SessionRow:
    named = dict(zip(SESSION_COLUMNS, row, strict=True))
    named["settings"] = json.loads(named["settings"])
    named["player"] = names.shown(named["player"])
    return SessionRow(**named)
