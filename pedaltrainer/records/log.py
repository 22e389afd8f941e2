"""The log of takes: one SQLite file, append-only, on disk before the next count-in.

Every writing method is one transaction, written through to the disk when it
returns: WAL with synchronous=FULL syncs the write-ahead log at each commit
(SQLite, "Write-Ahead Logging", section 2.2). Nothing is ever changed or
removed; a take is undone by a row that cancels it.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple

import platformdirs

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, opening, schema, trouble
from pedaltrainer.records.connecting import BUSY_TIMEOUT_S, Connection
from pedaltrainer.records.holding import Held
from pedaltrainer.records.names import PlayerChange
from pedaltrainer.records.rows import (
    Cancellation,
    Input,
    SessionRow,
    TakeRow,
    check_json_object,
    new_id,
    parse_utc,
)
from pedaltrainer.records.told_by_log import ToldByLog

FILE_NAME = "log.sqlite3"


def default_folder() -> Path:
    """The platform's folder for this program's data, made or not."""
    return platformdirs.user_data_path("pedaltrainer", appauthor=False)


class Added(NamedTuple):
    """What `Log.add_missing` did: new takes, the ids of new sessions, takes that were there and differ."""

    takes: int
    session_ids: frozenset[str]
    differing: int


class Log(ToldByLog):
    """An open log. Use it as a context manager; its methods may be called from any thread.

    Every method may raise InputError when the file cannot be read or written
    (disk full, locked, damaged, moved away ...). The transaction is then
    undone, so the same call can be made again.
    """

    def __init__(
        self, path: Path, connection: Connection, on_close: Callable[[], None] = lambda: None
    ) -> None:
        super().__init__(path, connection)
        self._on_close = on_close
        self._held = Held(path)

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        create: bool = True,
        read_only: bool = False,
        busy_timeout_s: float = BUSY_TIMEOUT_S,
    ) -> Log:
        """Open the log in `folder`, making folder and file first unless create is False or read_only is True.

        An older file is migrated forward. Raises InputError, with nothing
        changed on disk, when the file is missing, newer, locked, read-only,
        damaged or not ours, or the folder cannot be made or used.
        """
        if sqlite3.sqlite_version_info < schema.OLDEST_SQLITE:
            known = ".".join(map(str, schema.OLDEST_SQLITE))
            raise InputError(trouble.OLD_SQLITE.format(found=sqlite3.sqlite_version, known=known))
        path = folder / FILE_NAME
        found = opening.find(folder, path)
        if not found:
            if read_only or not create:
                raise InputError(trouble.MISSING.format(path=folder))
            opening.make_folder(folder)
        else:
            opening.refuse_a_foreign_header(path)
        with trouble.said_in_words(path):
            if read_only:
                return cls(path, opening.open_to_read(path, busy_timeout_s))
            return cls(path, opening.open_to_write(path, busy_timeout_s))

    def close(self) -> None:
        """Close the file; the write-ahead log is folded into it. Closing twice does nothing."""
        with self._turn:
            self._connection.close()
            self._held.let_go()
            self._on_close()

    def __enter__(self) -> Log:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # --- writing -------------------------------------------------------------

    def begin_session(self, row: SessionRow) -> None:
        """Append a session. Raises ValueError when its id is there already."""
        values = cells.session_values(row)
        with self._writing() as connection:
            connection.execute(cells.inserting("session", cells.SESSION_COLUMNS), values)

    def append_take(self, row: TakeRow) -> None:
        """Append a take; it is on the disk when this returns.

        Raises ValueError when its id is there already, its session is not, or
        it is marked as cancelled.
        """
        if row.cancelled:
            raise ValueError("a take is appended first and cancelled by cancel_take after")
        values = cells.take_values(row)
        with self._writing() as connection:
            connection.execute(cells.inserting("take", cells.TAKE_COLUMNS), values)

    def cancel_take(self, take_id: str, at_utc: str, reason: str) -> bool:
        """Append a cancellation; False, and nothing appended, when the take was cancelled before.

        Raises ValueError for a take that is not in the log or a time that is not UTC text.
        """
        parse_utc(at_utc)
        with self._writing() as connection:
            query = "SELECT 1 FROM cancellation WHERE take_id = ?"
            if connection.execute(query, (take_id,)).fetchone():
                return False
            row = Cancellation(new_id(), take_id, at_utc, reason)
            connection.execute(cells.inserting("cancellation", cells.CANCELLATION_COLUMNS), row)
            return True

    def append_inputs(self, session_id: str, inputs: Sequence[Mapping[str, Any]]) -> None:
        """Append a session's inputs in order, numbered on from those already kept; all of them or none.

        Each is an object of plain JSON values. Raises ValueError for any other
        value and for a session that is not in the log.
        """
        contents = [check_json_object(item, "an input") for item in inputs]
        with self._writing() as connection:
            query = "SELECT coalesce(max(seq), 0) FROM input WHERE session_id = ?"
            last = connection.execute(query, (session_id,)).fetchone()[0]
            connection.executemany(
                cells.inserting("input", cells.INPUT_COLUMNS),
                [Input(session_id, last + step, content) for step, content in enumerate(contents, start=1)],
            )

    def add_missing(
        self,
        sessions: Iterable[SessionRow] = (),
        takes: Sequence[TakeRow] = (),
        cancellations: Iterable[Cancellation] = (),
        inputs: Iterable[Input] = (),
    ) -> Added:
        """Append the rows that are not there yet: all of them or none. It can be asked again and again.

        A session of which no take is given is left out; a take is cancelled once. Raises ValueError for a
        take, cancellation or input of a session or take that is not there.
        """
        wanted = {take.session_id for take in takes}
        with self._writing() as connection:
            new_sessions = [
                row for row in sessions if row.id in wanted and not _has(connection, "session", row.id)
            ]
            connection.executemany(
                cells.inserting("session", cells.SESSION_COLUMNS), map(cells.session_values, new_sessions)
            )
            old = [take for take in takes if _has(connection, "take", take.id)]
            known = {take.id for take in old}
            new = [take for take in takes if take.id not in known]
            connection.executemany(cells.inserting("take", cells.TAKE_COLUMNS), map(cells.take_values, new))
            query = f"SELECT 1 FROM take WHERE id = ? AND ({cells.NAMED}) IS NOT ({cells.MARKS})"
            # A name that was given since is not a difference.
            differing = sum(
                connection.execute(query, (take.id, *cells.take_values(take, stored))).fetchone() is not None
                for take in old
                for (stored,) in connection.execute("SELECT player FROM take WHERE id = ?", (take.id,))
            )
            for cancellation in cancellations:
                already = "SELECT 1 FROM cancellation WHERE take_id = ?"
                if not connection.execute(already, (cancellation.take_id,)).fetchone():
                    columns = cells.CANCELLATION_COLUMNS
                    connection.execute(cells.inserting("cancellation", columns), cancellation)
            for given in inputs:
                already = "SELECT 1 FROM input WHERE session_id = ? AND seq = ?"
                if not connection.execute(already, given[:2]).fetchone():
                    connection.execute(cells.inserting("input", cells.INPUT_COLUMNS), given)
        return Added(len(new), frozenset(row.id for row in new_sessions), differing)

    def keep_run(self, session: SessionRow, inputs: Sequence[Input]) -> None:
        """Keep a session that has no takes, a run-through, with so much of what happened in it as is new."""
        with self._writing() as connection:
            if not _has(connection, "session", session.id):
                connection.execute(
                    cells.inserting("session", cells.SESSION_COLUMNS), cells.session_values(session)
                )
            for given in inputs:
                connection.execute(cells.inserting("input", cells.INPUT_COLUMNS), given)

    def append_changes(self, changes: Sequence[PlayerChange]) -> None:
        """Append names given and players put away, all of them or none."""
        for change in changes:
            parse_utc(change.at_utc)
        with self._writing() as connection:
            connection.executemany(cells.inserting("player_change", PlayerChange._fields), changes)

    # --- turns ---------------------------------------------------------------

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with self._turn, trouble.said_in_words(self.path):
            # To write is to search from the root of a tree to a leaf, however the pages lead to one another.
            self._connection.allow(math.inf)
            self._held.refuse_another_file()
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                # A full disk has SQLite roll back by itself; a second ROLLBACK would hide why.
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
            # What went into a file that was taken away meanwhile is not kept.
            self._held.refuse_another_file(written=True)


def _has(connection: Connection, table: str, id: str) -> bool:
    return connection.execute(f"SELECT 1 FROM {table} WHERE id = ?", (id,)).fetchone() is not None
