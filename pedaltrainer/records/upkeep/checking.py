"""Is a log what it should be? Looked into row by row, and never changed.

A *fault* is a row or page that cannot be trusted; a *remark* is something odd that is kept as it is, such as
the date of a clock that was wrong.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from random import Random
from typing import Any
from uuid import UUID

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, connecting, opening, schema, trouble
from pedaltrainer.records.connecting import Connection
from pedaltrainer.records.names import NO_NAMES, PlayerChange
from pedaltrainer.records.rows import SessionRow, TakeRow, parse_utc, utc_text
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.records.upkeep.importing import Odd, nothing_odd
from pedaltrainer.records.upkeep.merging import CLOCKS_DIFFER, EARLIEST
from pedaltrainer.system.amounts import counted
from pedaltrainer.system.patience import Waiting, in_silence

ROWS_A_STEP = 10_000
SESSIONS_REPLAYED = 20
MOST_NAMED = 3
CLOCK_STEP = timedelta(days=1)
"""A row whose id was made this much before or after what it tells of was dated by a wrong clock."""

Retell = Callable[[SessionRow, Sequence[dict[str, Any]], Sequence[TakeRow]], str | None]
"""What is wrong with a session when it is run again from its inputs; None when it gives the same takes."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in a log. counts: rows by table, none where they could not be counted."""

    path: Path
    counts: dict[str, int]
    replayed: int
    faults: tuple[str, ...]
    remarks: tuple[str, ...]


def check(
    path: Path,
    now: datetime,
    retell: Retell,
    waiting: Waiting = in_silence,
    odd: Odd = nothing_odd,
) -> Checked:
    """Look into the log at `path`. Raises InputError when it is none of ours, newer, or cannot be read."""
    if not snapshot.has_a_header(path):
        return Checked(path, {}, 0, ("the beginning of the file is not that of a log",), ())
    opening.refuse_by_header(path)
    with snapshot.copied(path) as copy, closing(connecting.connect(copy)) as log:
        # Text that is none must reach the rules, which refuse it, rather than end the search.
        log.text_factory = lambda content: content.decode(errors="surrogateescape")
        strange: list[str] = []
        faults: list[str] = []
        remarks: list[str] = []
        counts: dict[str, int] = {}
        replayed = 0
        try:
            strange, tables_are_ours, remarks = _strange(log)
            if not tables_are_ours:
                return Checked(path, {}, 0, tuple(strange), ())
            counts = _counts(log)
            if schema.version_of(log) < schema.MISSES_SINCE:
                log.execute(schema.READ_AS)
            faults += _of_the_file(copy, log)
            faults += _of_rows(log, counts, waiting)
            faults += _told_by(log, _ODD_TOGETHER, {})
            if not faults:
                remarks += _told_by(log, _GAPS, {})
                remarks += _of_drills(log, odd)
                remarks += _of_dates(log, now)
                replayed, told_otherwise = _replayed(log, retell, waiting)
                remarks += told_otherwise
        except (sqlite3.Error, UnicodeDecodeError) as error:
            trouble.let_an_interrupt_through(error)
            # SQLite may name what is broken in bytes that are no text. What cannot be read is a finding;
            # how far it goes, repairing finds out.
            faults.append(f"the file cannot be read to its end ({error})")
        return Checked(path, counts, replayed, tuple(dict.fromkeys([*strange, *faults])), tuple(remarks))


def _strange(log: Connection) -> tuple[list[str], bool, list[str]]:
    """What is not as it was made, whether the tables are, and remarks on what is there besides.

    What calls itself a table of ours and is none may have no end.
    """
    version, things = schema.version_of(log), schema.things_in(log)
    if version not in schema.MIGRATIONS:
        return [f"the version {version} is none of this program's"], False, []
    own, another = schema.strange_in_own(things, version), schema.strange_in_another(things, version)
    remarks = [f"{another} is there besides"] if another is not None and own is None else []
    tables_are_ours = {thing for thing in schema.things_of(version) if thing.type == "table"} <= things
    return [] if own is None else [f"{own} is not as this program makes it"], tables_are_ours, remarks


def _counts(log: Connection) -> dict[str, int]:
    there = {thing.name for thing in schema.things_in(log) if thing.type == "table"}
    # Of a key rather than of *, which SQLite counts page by page without once looking at the clock.
    return {
        name: log.execute(f"SELECT count({key}) FROM {name}").fetchone()[0]
        for name, (key, *_) in schema.TABLES.items()
        if name in there
    }


def _of_the_file(path: Path, log: Connection) -> Iterator[str]:
    if opening.is_cut_off(path, log):
        yield "the file is shorter than it says: it was cut off"
    wrong = [text for (text,) in log.execute("PRAGMA integrity_check(10)") if text != "ok"]
    yield from (f"SQLite finds: {' '.join(str(text).split())}" for text in wrong[:MOST_NAMED])
    orphans: dict[tuple[str, str], int] = {}
    for table, _, parent, _ in log.execute("PRAGMA foreign_key_check"):
        orphans[table, parent] = orphans.get((table, parent), 0) + 1
    yield from (
        f"rows of the table {table} whose {parent} is not there: {count}"
        for (table, parent), count in orphans.items()
    )


# --- rows ------------------------------------------------------------------------------


def _session_is_right(row: Sequence[Any]) -> None:
    cells.session_of(row, NO_NAMES)


def _take_is_right(row: Sequence[Any]) -> None:
    cells.take_of([*row, 0], NO_NAMES)


def _change_is_right(row: Sequence[Any]) -> None:
    parse_utc(PlayerChange(*row).at_utc)


def _cancellation_is_right(row: Sequence[Any]) -> None:
    parse_utc(row[2])


def _input_is_right(row: Sequence[Any]) -> None:
    if not isinstance(json.loads(row[2]), dict):
        raise ValueError("an input is an object")


_ROWS: dict[str, tuple[str, Callable[[Sequence[Any]], None]]] = {
    "session": (", ".join(cells.SESSION_COLUMNS), _session_is_right),
    "take": (cells.NAMED, _take_is_right),
    "cancellation": (", ".join(cells.CANCELLATION_COLUMNS), _cancellation_is_right),
    "input": ("session_id, seq, content", _input_is_right),
    "player_change": (", ".join(PlayerChange._fields), _change_is_right),
}
"""The columns of each table, and what raises an error for a row that breaks a rule."""


def _of_rows(log: Connection, counts: dict[str, int], waiting: Waiting) -> list[str]:
    faults = []
    for table, (columns, is_right) in _ROWS.items():
        if table not in counts:
            continue
        wrong: list[str] = []
        rows = iter(log.execute(f"SELECT {columns} FROM {table}"))
        steps = range(-(-counts[table] // ROWS_A_STEP))
        for _ in waiting(steps, f"Checking {table}s"):
            for row in islice(rows, ROWS_A_STEP):
                try:
                    is_right(row)
                except cells.UNREADABLE as error:
                    wrong.append(f"{row[0]}: {error}")
        if wrong:
            faults.append(f"{_so_many(len(wrong), table)} the rules of the log, first {wrong[0]}")
    return faults


def _so_many(count: int, table: str) -> str:
    return f"{counted(count, table)} {'breaks' if count == 1 else 'break'}"


_ODD_TOGETHER = {
    "{} with another player than the session": (
        "SELECT count(*) FROM take JOIN session ON session.id = session_id "
        "WHERE take.player <> session.player"
    ),
    "{} with an end before the beginning": "SELECT count(*) FROM take WHERE ended_utc < started_utc",
}

_GAPS = {
    "{} of a session with gaps in its inputs": (
        "SELECT count(*) FROM take WHERE session_id IN "
        "(SELECT session_id FROM input GROUP BY session_id HAVING max(seq) <> count(*))"
    ),
}

_ODD_DATES = {
    "{} dated in the future: a clock was ahead": (
        "SELECT count(*) FROM take WHERE started_utc > :latest AND judge <> 'rehearsal'"
    ),
    "{} dated before 2000: a clock was not set": ("SELECT count(*) FROM take WHERE started_utc < :earliest"),
}


def _told_by(log: Connection, queries: dict[str, str], values: dict[str, str]) -> Iterator[str]:
    for words, query in queries.items():
        (count,) = log.execute(query, values).fetchone()
        if count:
            yield words.format(counted(count, "take"))


# --- drills and dates --------------------------------------------------------------------


def _of_drills(log: Connection, odd: Odd) -> Iterator[str]:
    """Takes whose chords are not those of their drill: for the drill they count all the same."""
    query = "SELECT drill, chords, count(*), min(id) FROM take GROUP BY drill, chords"
    for drill, chords, count, first in log.execute(query).fetchall():
        told = odd(drill, cells.chords_of(chords))
        if told is not None:
            yield f"{counted(count, 'take')}, first {first}: {told}"


def _of_dates(log: Connection, now: datetime) -> list[str]:
    values = {"latest": utc_text(now + CLOCKS_DIFFER), "earliest": EARLIEST}
    remarks = list(_told_by(log, _ODD_DATES, values))
    off = [
        id
        for id, ended in log.execute("SELECT id, ended_utc FROM take WHERE judge <> 'rehearsal'")
        if (made := made_at(id)) is not None and abs(made - parse_utc(ended)) > CLOCK_STEP
    ]
    if off:
        remarks.append(
            f"{len(off)} of the takes dated more than a day from when the id was made, first {off[0]}: "
            "a clock was set in between, or dates were changed"
        )
    return remarks


def made_at(id: str) -> datetime | None:
    """When an id was made: the 48 bits of milliseconds a UUID version 7 begins with (RFC 9562, section 5.7).

    None for any other id.
    """
    try:
        uuid = UUID(id)
    except ValueError:
        return None
    return datetime.fromtimestamp((uuid.int >> 80) / 1000, UTC) if uuid.version == 7 else None


# --- replay ----------------------------------------------------------------------------


def _replayed(log: Connection, retell: Retell, waiting: Waiting) -> tuple[int, list[str]]:
    """How many sessions were run again, and what came out otherwise."""
    there = [id for (id,) in log.execute("SELECT DISTINCT session_id FROM input")]
    # Drawn the same way each time, so that a finding can be looked for again.
    sample = Random(len(there)).sample(there, min(len(there), SESSIONS_REPLAYED))
    remarks, count = [], 0
    for number in waiting(range(len(sample)), "Replaying"):
        session, inputs, takes = _whole_session(log, sample[number])
        if not takes:
            continue
        try:
            otherwise = retell(session, inputs, takes)
            count += 1
        except InputError as error:
            otherwise = str(error).rstrip(".")
        if otherwise:
            remarks.append(f"the session of {session.started_utc} ({session.program_version}): {otherwise}")
    return count, remarks


def _whole_session(log: Connection, id: str) -> tuple[SessionRow, list[dict[str, Any]], list[TakeRow]]:
    sessions = log.execute(f"SELECT {', '.join(cells.SESSION_COLUMNS)} FROM session WHERE id = ?", (id,))
    inputs = log.execute("SELECT content FROM input WHERE session_id = ? ORDER BY seq", (id,))
    takes = log.execute(f"SELECT {cells.NAMED}, 0 FROM take WHERE session_id = ? ORDER BY id", (id,))
    return (
        cells.session_of(sessions.fetchone(), NO_NAMES),
        [json.loads(content) for (content,) in inputs],
        [cells.take_of(row, NO_NAMES) for row in takes],
    )
