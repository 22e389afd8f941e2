"""Logs united: every row that any of them has, once, whatever the order and however often.

Ids are unique everywhere, so the union of rows is the union of logs. The logs that are merged in are only
read; the one they go to is copied first and then takes each of them in one transaction.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.records import connecting, opening, schema, trouble
from pedaltrainer.records.connecting import Connection
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import utc_text
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.system.files import free_name
from pedaltrainer.system.patience import Waiting, in_silence

BACKUP_STEM = "log.before-merge"
ROWS_A_STEP = 20_000
EARLIEST = "2000"
CLOCKS_DIFFER = timedelta(minutes=10)
"""Takes dated further ahead than this are dated in the future."""


class OddDate(NamedTuple):
    """A player's takes that no right clock can have dated: how many, the first and the last date."""

    player: str
    takes: int
    first_utc: str
    last_utc: str


@dataclass(frozen=True, slots=True)
class Merged:
    """What one log brought: new rows by table, how many takes it holds, and what is odd about it.

    differing: takes that are in both logs and not the same; those there before were kept. shared: names
    that are in both with no session in common, which is right only if they are one person's.
    """

    source: Path
    added: dict[str, int]
    takes: int
    differing: int = 0
    shared: tuple[str, ...] = ()
    odd_dates: tuple[OddDate, ...] = ()


@dataclass(frozen=True, slots=True)
class Union:
    """What a merge did: log by log, and where the copy from before is (None when nothing was changed)."""

    merged: tuple[Merged, ...] = field(default=())
    backup: Path | None = None


def merge(folder: Path, places: Sequence[Path], now: datetime, waiting: Waiting = in_silence) -> Union:
    """Bring the logs at `places` (files or folders) into the log of `folder`, which is made if need be.

    Raises InputError, before anything is changed, when one of them cannot be read; a log that cannot be
    written is as it was before the log it was at.
    """
    path = folder / FILE_NAME
    sources = [file for place in places for file in snapshot.files_of(place) if not _same(file, path)]
    for source in sources:
        with snapshot.of_today(source):
            pass
    there = path.exists()
    Log.open(folder).close()
    # Each merge has a copy of its own: the way back of an earlier one stays.
    backup = free_name(folder, BACKUP_STEM, ".sqlite3") if there else None
    if backup is not None:
        snapshot.back_up(path, backup)
    merged: list[Merged] = []
    try:
        merged += (_merge_one(path, source, now, waiting) for source in sources)
    finally:
        if backup is not None and not any(any(one.added.values()) for one in merged):
            # The log is as it was; it needs no copy.
            backup.unlink(missing_ok=True)
            backup = None
    return Union(tuple(merged), backup)


def _same(one: Path, other: Path) -> bool:
    return other.exists() and one.samefile(other)


def _merge_one(path: Path, source: Path, now: datetime, waiting: Waiting) -> Merged:
    with (
        snapshot.of_today(source) as uri,
        trouble.said_in_words(path),
        closing(opening.open_to_write(path)) as log,
    ):
        log.allow(connecting.size_of(path) + connecting.size_of(source))
        log.execute("ATTACH ? AS theirs", (uri,))
        log.execute("BEGIN IMMEDIATE")
        try:
            with trouble.said_of_the_source(source):
                found = _bring(log, source, now, waiting)
            log.execute("COMMIT")
        except BaseException:
            if log.in_transaction:
                log.execute("ROLLBACK")
            raise
        return found


def _bring(log: Connection, source: Path, now: datetime, waiting: Waiting) -> Merged:
    _refuse_broken_rows(log, source)
    differing, shared = _differing(log), _shared(log)
    # The log itself refuses a row that it holds, so only the others are asked for. Each is still checked
    # against its parent: a take without its session is not let in.
    added = dict.fromkeys(schema.TABLES, 0)
    steps = list(_steps(log))
    for number in waiting(range(len(steps)), f"Merging {source.name}"):
        table, where, ends = steps[number]
        _refuse_what_is_no_text(log, table, where, ends)
        added[table] += log.execute(_copying(table, where), ends).rowcount
    (takes,) = log.execute("SELECT count(*) FROM theirs.take").fetchone()
    return Merged(source, added, takes, differing, shared if added["take"] else (), _odd_dates(log, now))


def _refuse_broken_rows(log: Connection, source: Path) -> None:
    """Raises InputError for a row that only changed bytes can have made: it would be in the way here."""
    for table, rule in schema.RULES.items():
        found = log.execute(f"SELECT id FROM theirs.{table} WHERE NOT ({rule}) LIMIT 1").fetchone()
        if found is not None:
            reason = f"{table} {found[0]}"
            raise InputError(trouble.REFUSED_ROWS.format(path=source, reason=reason))


def _refuse_what_is_no_text(log: Connection, table: str, where: str, ends: tuple[int, int]) -> None:
    """Raises sqlite3.OperationalError for text that is not UTF-8, which SQLite would bring in as it is."""
    columns = log.execute(f"PRAGMA theirs.table_info({table})").fetchall()
    texts = " || char(10) || ".join(f"new.{name}" for _, name, kind, *_ in columns if kind == "TEXT")
    # Read as text, all of it, and not kept.
    deque(log.execute(f"SELECT {texts} FROM theirs.{table} AS new WHERE {where}", ends), maxlen=0)


def _steps(log: Connection) -> Iterator[tuple[str, str, tuple[int, int]]]:
    """Table, condition and its two values, each some rows of one table, parents before their children."""
    for table in schema.TABLES:
        # Inputs have no row numbers of their own; those of some sessions go together.
        counted = "session" if table == "input" else table
        where = (
            "new.session_id IN (SELECT id FROM theirs.session WHERE rowid > ? AND rowid <= ?)"
            if table == "input"
            else "new.rowid > ? AND new.rowid <= ?"
        )
        step = ROWS_A_STEP // 100 if table == "input" else ROWS_A_STEP
        some = f"SELECT rowid FROM theirs.{counted} WHERE rowid > ? ORDER BY rowid LIMIT ?"
        end = f"SELECT max(rowid) FROM ({some})"
        first = schema.FIRST_ROW
        while (last := log.execute(end, (first, step)).fetchone()[0]) is not None:
            yield table, where, (first, last)
            first = last


def _copying(table: str, where: str) -> str:
    same = " AND ".join(f"old.{column} = new.{column}" for column in schema.TABLES[table])
    return (
        f"INSERT INTO main.{table} SELECT * FROM theirs.{table} AS new "
        f"WHERE {where} AND NOT EXISTS (SELECT 1 FROM main.{table} AS old WHERE {same})"
    )


def _differing(log: Connection) -> int:
    columns = [row[1] for row in log.execute("PRAGMA main.table_info(take)")]
    same = " AND ".join(f"old.{column} IS new.{column}" for column in columns)
    query = f"SELECT count(*) FROM theirs.take AS new JOIN main.take AS old USING (id) WHERE NOT ({same})"
    return int(log.execute(query).fetchone()[0])


def _shared(log: Connection) -> tuple[str, ...]:
    query = (
        "SELECT DISTINCT player FROM theirs.session AS new "
        "WHERE EXISTS (SELECT 1 FROM main.session AS old WHERE old.player = new.player) "
        "AND NOT EXISTS (SELECT 1 FROM main.session AS old JOIN theirs.session AS same USING (id) "
        "WHERE old.player = new.player) ORDER BY player"
    )
    return tuple(player for (player,) in log.execute(query))


def _odd_dates(log: Connection, now: datetime) -> tuple[OddDate, ...]:
    query = (
        "SELECT player, count(*), min(started_utc), max(started_utc) FROM theirs.take "
        "WHERE (started_utc > ? OR started_utc < ?) AND judge <> 'rehearsal' "
        "GROUP BY player, started_utc < ? ORDER BY player"
    )
    latest = utc_text(now + CLOCKS_DIFFER)
    return tuple(OddDate(*row) for row in log.execute(query, (latest, EARLIEST, EARLIEST)))
