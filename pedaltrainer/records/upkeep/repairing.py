"""A new log from what can be read of a damaged one; the old file is only read."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest
from pathlib import Path
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, opening
from pedaltrainer.records.connecting import Connection
from pedaltrainer.records.names import NO_NAMES, PlayerChange
from pedaltrainer.records.rows import Cancellation, Input, SessionRow, TakeRow, parse_utc
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.records.upkeep.importing import sessions_for
from pedaltrainer.records.upkeep.salvage import Pages, records
from pedaltrainer.system.files import refuse_existing
from pedaltrainer.system.patience import Waiting, in_silence

PAGES_A_STEP = 500
_KINDS = ("rename", "archive", "return")


@dataclass(slots=True)
class Saved:
    """Rows that were whole, by what names each; broken counts those that were begun and cannot be read."""

    sessions: dict[str, SessionRow] = field(default_factory=dict)
    takes: dict[str, TakeRow] = field(default_factory=dict)
    cancellations: dict[str, Cancellation] = field(default_factory=dict)
    inputs: dict[tuple[str, int], Input] = field(default_factory=dict)
    changes: dict[str, PlayerChange] = field(default_factory=dict)
    broken: int = 0


@dataclass(frozen=True, slots=True)
class Repaired:
    """What went into the new log: rows by table; sessions_made stand in for those that were lost.

    left_out: rows that were whole but belong to a take or session that is gone.
    """

    path: Path
    added: Mapping[str, int]
    sessions_made: int
    left_out: int
    broken: int


def repair(path: Path, new: Path, waiting: Waiting = in_silence) -> Repaired:
    """Write what can be read of the log at `path` into a new log at `new`.

    Raises InputError when `new` is there already or cannot be written, when the log is a newer program's or
    none of ours, and when nothing can be saved; there is then no new file.
    """
    refuse_existing(new)
    if snapshot.has_a_header(path):
        opening.refuse_by_header(path)
    with snapshot.copied(path) as copy:
        saved = _saved(copy, waiting)
    if not saved.takes and not saved.sessions:
        raise InputError(f"Nothing can be read of {path}; it holds no take of this program.")
    return _write(saved, new)


def _saved(path: Path, waiting: Waiting) -> Saved:
    pages, saved = Pages(path), Saved()
    steps = range(1, pages.count + 1, PAGES_A_STEP)
    for first in waiting(steps, "Reading"):
        for number in range(first, min(first + PAGES_A_STEP, pages.count + 1)):
            for record in records(pages, number):
                _keep(saved, record)
    return saved


def _keep(saved: Saved, record: Sequence[Any] | None) -> None:
    if record is None:
        saved.broken += 1
        return
    reader = _READERS.get(len(record))
    try:
        if reader is not None:
            reader(saved, record)
    except cells.UNREADABLE:
        saved.broken += 1


def _session(saved: Saved, record: Sequence[Any]) -> None:
    row = cells.session_of(record, NO_NAMES)
    saved.sessions[row.id] = row


def _take(saved: Saved, record: Sequence[Any]) -> None:
    # A whole tempo stands in the file as an integer (section 2.1: real values that are whole).
    # A row of an older version has no misses: it ends before them.
    named = zip_longest(cells.TAKE_COLUMNS, record)
    values = [float(value) if name in _REALS and type(value) is int else value for name, value in named]
    row = cells.take_of([*values, 0], NO_NAMES)
    saved.takes[row.id] = row


def _four(saved: Saved, record: Sequence[Any]) -> None:
    """A cancellation; indexes have rows of four columns too, which end in a row's number."""
    if not all(isinstance(value, str) for value in record):
        return
    row = Cancellation(*record)
    parse_utc(row.at_utc)
    if not row.id:
        raise ValueError("a cancellation has an id")
    saved.cancellations[row.id] = row


def _five(saved: Saved, record: Sequence[Any]) -> None:
    """A player's change; the schema and an index have rows of five columns too."""
    if record[2] in _KINDS and all(isinstance(value, str) for value in record):
        row = PlayerChange(*record)
        parse_utc(row.at_utc)
        if not (row.id and row.player and row.name):
            raise ValueError("a player's change names whom and to what")
        saved.changes[row.id] = row


def _three(saved: Saved, record: Sequence[Any]) -> None:
    """An input; an index has rows of three columns too."""
    session_id, seq, content = record
    if not (isinstance(session_id, str) and type(seq) is int and isinstance(content, str)):
        return
    if seq < 1:
        raise ValueError("inputs are counted from 1")
    if not isinstance(json.loads(content, parse_constant=_no_json), dict):
        raise ValueError("an input is an object")
    saved.inputs[session_id, seq] = Input(*record)


def _no_json(word: str) -> None:
    """Python reads NaN and Infinity in JSON; the log, as the standard has it, does not (RFC 8259)."""
    raise ValueError(f"{word} is no JSON")


_REALS = frozenset({"tempo_bpm", "pressed_s", "heard_press_s", "reaction_ms", "duration_s"})
_READERS = {
    len(cells.SESSION_COLUMNS): _session,
    len(cells.TAKE_COLUMNS): _take,
    len(cells.TAKE_COLUMNS) - 1: _take,
    len(Cancellation._fields): _four,
    len(PlayerChange._fields): _five,
    len(Input._fields): _three,
}
"""By how many columns a row has."""


def _write(saved: Saved, new: Path) -> Repaired:
    made = [row for row in sessions_for(saved.takes.values()) if row.id not in saved.sessions]
    sessions = {**saved.sessions, **{row.id: row for row in made}}
    cancellations = [row for row in saved.cancellations.values() if row.take_id in saved.takes]
    inputs = [row for row in saved.inputs.values() if row.session_id in sessions]
    tables: dict[str, tuple[Sequence[str], Sequence[Sequence[Any]]]] = {
        "session": (cells.SESSION_COLUMNS, [cells.session_values(row) for row in _by_id(sessions)]),
        "take": (cells.TAKE_COLUMNS, [cells.take_values(row) for row in _by_id(saved.takes)]),
        "cancellation": (Cancellation._fields, sorted(cancellations)),
        "input": (Input._fields, sorted(inputs)),
        "player_change": (PlayerChange._fields, _by_id(saved.changes)),
    }
    with snapshot.new_log(new) as log:
        refused = _fill(log, tables)
    lost = len(saved.cancellations) - len(cancellations) + len(saved.inputs) - len(inputs)
    added = {table: len(rows) - refused[table] for table, (_, rows) in tables.items()}
    return Repaired(new, added, len(made), lost + sum(refused.values()), saved.broken)


def _by_id(rows: Mapping[str, Any]) -> list[Any]:
    return [rows[id] for id in sorted(rows)]


def _fill(
    log: Connection, tables: Mapping[str, tuple[Sequence[str], Sequence[Sequence[Any]]]]
) -> Counter[str]:
    """Write the rows; how many of each table the log refused, because of a rule that only it knows."""
    refused: Counter[str] = Counter()
    log.execute("BEGIN IMMEDIATE")
    for table, (columns, rows) in tables.items():
        statement = cells.inserting(table, columns)
        for row in rows:
            try:
                log.execute(statement, row)
            except sqlite3.IntegrityError:
                refused[table] += 1
    log.execute("COMMIT")
    return refused
