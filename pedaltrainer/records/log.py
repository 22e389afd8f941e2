"""The log of takes: one SQLite file, append-only, on disk before the next count-in.

Every writing method is one transaction, written through to the disk when it
returns: WAL with synchronous=FULL syncs the write-ahead log at each commit
(SQLite, "Write-Ahead Logging", section 2.2). Nothing is ever changed or
removed; a take is undone by a row that cancels it.
"""

from __future__ import annotations

import json
import math
import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple, TypeVar

import platformdirs

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, opening, queries, schema, trouble
from pedaltrainer.records.connecting import BUSY_TIMEOUT_S, Connection, size_of
from pedaltrainer.records.holding import Held
from pedaltrainer.records.names import Names, PlayerChange
from pedaltrainer.records.rows import (
    Answer,
    Cancellation,
    Input,
    PlayedQuarter,
    SessionRow,
    TakeRow,
    check_json_object,
    new_id,
    parse_utc,
)

T = TypeVar("T")
FILE_NAME = "log.sqlite3"

END_OF_TIME = "9999"
"""After every time of the log."""


def default_folder() -> Path:
    """The platform's folder for this program's data, made or not."""
    return platformdirs.user_data_path("pedaltrainer", appauthor=False)


class Added(NamedTuple):
    """What `Log.add_missing` did: new takes, the ids of new sessions, takes that were there and differ."""

    takes: int
    session_ids: frozenset[str]
    differing: int


class Log:
    """An open log. Use it as a context manager; its methods may be called from any thread.

    Every method may raise InputError when the file cannot be read or written
    (disk full, locked, damaged, moved away ...). The transaction is then
    undone, so the same call can be made again.
    """

    def __init__(
        self, path: Path, connection: Connection, on_close: Callable[[], None] = lambda: None
    ) -> None:
        self.path = path
        self._on_close = on_close
        self._connection = connection
        self._turn = threading.RLock()
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

    def runs(self, player: str, limit: int, kind: str = "run_through") -> list[SessionRow]:
        """The last run-throughs of a player, newest first; or sessions with another key in their settings."""
        names = self.names()
        query = (
            f"SELECT {', '.join(cells.SESSION_COLUMNS)} FROM session "
            f"WHERE {cells.one_of('player', names.all_of(player))} AND json_type(settings, ?) "
            "IS NOT NULL ORDER BY started_utc DESC, id DESC LIMIT ?"
        )
        with self._reading() as connection:
            rows = connection.execute(query, (*names.all_of(player), f"$.{kind}", limit)).fetchall()
        return self._each(rows, lambda row: cells.session_of(row, names))

    def append_changes(self, changes: Sequence[PlayerChange]) -> None:
        """Append names given and players put away, all of them or none."""
        for change in changes:
            parse_utc(change.at_utc)
        with self._writing() as connection:
            connection.executemany(cells.inserting("player_change", PlayerChange._fields), changes)

    # --- reading -------------------------------------------------------------

    def names(self) -> Names:
        """Who is meant by each name."""
        if not self._asked("SELECT 1 FROM sqlite_master WHERE name = 'player_change'"):
            return Names({})
        query = f"SELECT {', '.join(PlayerChange._fields)} FROM player_change"
        return Names.of(self._each(self._asked(query), lambda row: PlayerChange(*row)))

    def takes(
        self,
        *,
        player: str | None = None,
        drill: str | None = None,
        session_id: str | None = None,
        include_cancelled: bool = False,
        limit: int | None = None,
        newest_first: bool = True,
    ) -> list[TakeRow]:
        """The takes that match every filter given, by start time and then id.

        player is any name the player had; the rows have the one that is shown now. limit keeps the first
        so many in the order asked for. Raises ValueError for a negative limit.
        """
        if limit is not None and limit < 0:
            raise ValueError(f"limit must be 0 or more, not {limit}")
        names = self.names()
        asked: dict[str, tuple[str, ...]] = {}
        if player is not None:
            asked["player"] = names.all_of(player)
        asked |= {
            name: (value,)
            for name, value in (("drill", drill), ("session_id", session_id))
            if value is not None
        }
        conditions = [cells.one_of(name, values) for name, values in asked.items()]
        if not include_cancelled:
            conditions.append(queries.NOT_CANCELLED)
        way = "DESC" if newest_first else "ASC"
        query = (
            f"SELECT {', '.join(cells.TAKE_COLUMNS)}, {queries.CANCELLED} FROM take "
            f"WHERE {' AND '.join(conditions) or '1'} "
            f"ORDER BY started_utc {way}, id {way} LIMIT ?"
        )
        values = [value for each in asked.values() for value in each]
        with self._reading() as connection:
            rows = connection.execute(query, (*values, -1 if limit is None else limit)).fetchall()
        return self._each(rows, lambda row: cells.take_of(row, names))

    def sessions(self, player: str | None = None, limit: int | None = None) -> list[SessionRow]:
        """The sessions, of one player or of all, newest first; limit keeps the first so many."""
        names = self.names()
        wanted = () if player is None else names.all_of(player)
        query = (
            f"SELECT {', '.join(cells.SESSION_COLUMNS)} FROM session "
            f"WHERE {cells.one_of('player', wanted) if wanted else '1'} "
            "ORDER BY started_utc DESC, id DESC LIMIT ?"
        )
        with self._reading() as connection:
            rows = connection.execute(query, (*wanted, -1 if limit is None else limit)).fetchall()
        return self._each(rows, lambda row: cells.session_of(row, names))

    def players(self, include_archived: bool = False) -> list[str]:
        """Everybody who has a session and is not archived, the one who played last first."""
        names = self.names()
        found = self._each(self._asked(queries.PLAYERS), cells.text_of)
        there = dict.fromkeys(map(names.shown, found))
        return [player for player in there if include_archived or not names.is_archived(player)]

    def played(self, name: str) -> tuple[int, str | None]:
        """How many takes were played under one name, those taken back included, and when the last began."""
        (found,) = self._each(self._asked(queries.PLAYED, player=name), cells.played_of)
        return found

    def drills(self, player: str | None = None) -> list[str]:
        """The keys of a player's drills, the one practised last first; of all players', one after the other.

        Drills are listed also when all their takes were taken back.
        """
        who = self.players(include_archived=True) if player is None else [player]
        rows = (row for each in who for row in self._of_player(queries.DRILLS, each, time_at=1))
        return list(dict.fromkeys(self._each(rows, cells.text_of)))

    def count_takes(self) -> int:
        """How many takes there are that were not taken back."""
        ((count,),) = self._asked(queries.COUNT)
        return int(count)

    def last_answers(self, player: str, drill: str, most: int, before: str = END_OF_TIME) -> list[Answer]:
        """The last so many takes of a drill that stand and began before a time, newest first."""
        asked = {"drill": drill, "most": most, "before": before}
        rows = self._of_player(queries.LAST_ANSWERS, player, time_at=cells.STARTED, **asked)
        return self._each(rows[:most], cells.answer_of)

    def answers_since(self, player: str, since: str = "", drill: str | None = None) -> list[Answer]:
        """The takes that began after a time, newest first, without those taken back; void ones are there."""
        query = queries.ANSWERS_SINCE if drill is None else queries.ANSWERS_OF_DRILL_SINCE
        rows = self._of_player(query, player, time_at=cells.STARTED, drill=drill, since=since)
        return self._each(rows, cells.answer_of)

    def settings_of(self, session_ids: Iterable[str]) -> dict[str, Any]:
        """The settings of sessions by id; of an id that is none there is nothing."""
        rows = self._asked(queries.SETTINGS_OF, ids=queries.json_list(session_ids))
        return dict(self._each(rows, lambda row: (str(row[0]), json.loads(row[1]))))

    def before_the_last_days(self, player: str, days: int, drill: str | None = None) -> str | None:
        """When the newest take began that lies before the last so many days that were played on.

        Days without a take do not count; those of a player of several names are told by the name that
        was played under longest ago. None when nothing lies before them.
        """
        of_all, of_drill = queries.BEFORE_THE_LAST_DAYS, queries.BEFORE_THE_LAST_DAYS_OF_DRILL
        query = of_all if drill is None else of_drill
        names = self.names().all_of(player)
        played = [name for name in names if self._asked(queries.HAS_TAKES, player=name)]
        found = [self._asked(query, player=name, drill=drill, days=days) for name in played]
        each = self._each((rows[0] for rows in found if rows), cells.text_of)
        return min(each) if found and all(found) else None

    def played_by_quarter(self, player: str) -> list[PlayedQuarter]:
        """How much a player played of each drill in every quarter of an hour, of the takes that stand."""
        rows = self._of_player(queries.PLAYED_BY_QUARTER, player, time_at=0)
        return self._each(rows, cells.quarter_of)

    def inputs_since(
        self, player: str, event: str, since: str = "", setting: str = ""
    ) -> list[dict[str, Any]]:
        """A player's inputs of one kind, such as "Noted", in the sessions that began after a time.

        setting: only of sessions that have this one, such as "ear".
        """
        wanted = {"since": since, "event": event, "setting": setting}
        rows = self._of_player(queries.INPUTS_SINCE, player, time_at=1, **wanted)
        found = self._each(rows, lambda row: json.loads(row[0]))
        return [one for one in found if isinstance(one, dict) and one.get("event") == event]

    def inputs(self, session_id: str) -> list[dict[str, Any]]:
        """A session's inputs in the order they were appended; empty for a session without any."""
        query = "SELECT content FROM input WHERE session_id = :session_id ORDER BY seq"
        return self._each(self._asked(query, session_id=session_id), lambda row: json.loads(row[0]))

    # --- turns ---------------------------------------------------------------

    def _asked(self, query: str, **values: object) -> list[Any]:
        with self._reading() as connection:
            return connection.execute(query, values).fetchall()

    def _of_player(self, query: str, player: str, time_at: int, **values: object) -> list[Any]:
        """What is asked of every name a player had; newest first by column `time_at` if there are several."""
        names = self.names().all_of(player)
        rows = [row for name in names for row in self._asked(query, player=name, **values)]
        return sorted(rows, key=lambda row: str(row[time_at]), reverse=True) if len(names) > 1 else rows

    def _each(self, rows: Iterable[Any], of: Callable[[Any], T]) -> list[T]:
        """What rows say. Raises InputError for one that the log would have refused."""
        try:
            return [of(row) for row in rows]
        except cells.UNREADABLE as error:
            raise InputError(trouble.BROKEN_ROW.format(path=self.path, reason=error)) from error

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._turn, trouble.said_in_words(self.path):
            self._connection.allow(size_of(self.path))
            yield self._connection

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
