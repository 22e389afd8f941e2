"""Between the log's rows and what stands in the cells of its tables."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields
from functools import lru_cache
from typing import Any

from pedaltrainer.records import queries
from pedaltrainer.records.names import Names
from pedaltrainer.records.rows import Answer, SessionRow, TakeRow, check_json_object, to_json

TAKE_COLUMNS = tuple(field.name for field in fields(TakeRow) if field.name != "cancelled")
SESSION_COLUMNS = tuple(field.name for field in fields(SessionRow))
CANCELLATION_COLUMNS = ("id", "take_id", "at_utc", "reason")
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
    named["chords"] = _chords(named["chords"])
    named["player"] = names.shown(named["player"])
    return TakeRow(**named, cancelled=bool(cancelled))


def answer_of(row: Sequence[Any]) -> Answer:
    drill, chords, *rest = row
    return Answer(drill, _chords(chords), *rest)


@lru_cache(maxsize=1024)
def _chords(text: str) -> tuple[str, ...]:
    return tuple(json.loads(text))


def session_of(row: Sequence[Any], names: Names) -> SessionRow:
    named = dict(zip(SESSION_COLUMNS, row, strict=True))
    named["settings"] = json.loads(named["settings"])
    named["player"] = names.shown(named["player"])
    return SessionRow(**named)
