"""What a log tells: every question that is asked of the file, and nothing that changes it."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, queries, trouble
from pedaltrainer.records.connecting import Connection, size_of
from pedaltrainer.records.names import Names, PlayerChange
from pedaltrainer.records.rows import Answer, PlayedQuarter, SessionRow, TakeRow

T = TypeVar("T")

END_OF_TIME = "9999"
"""After every time of the log."""


class ToldByLog:
    """An open log as far as it is read. Its methods may be called from any thread.

    Every method may raise InputError when the file cannot be read.
    """

    def __init__(self, path: Path, connection: Connection) -> None:
        self.path = path
        self._connection = connection
        self._turn = threading.RLock()

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
