"""The log's tables, and how an older file is brought forward.

`MIGRATIONS[v]` holds the statements that lead from version v - 1 to version v;
the version is the file's `PRAGMA user_version`. A change to the tables is a new
entry here, never an edit of an old one: files of that version exist.

Append-only is kept by the file itself, whoever opens it: triggers refuse UPDATE
and DELETE, and refuse an INSERT over a row that is there, because INSERT OR
REPLACE deletes without firing a delete trigger (SQLite, "ON CONFLICT clause").
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from functools import lru_cache
from typing import NamedTuple

from pedaltrainer.records.rows import LEAST_BPM, MOST_BPM, MOST_LANDINGS

APPLICATION_ID = 0x50444C54
"""Marks the file as ours in its header: "PDLT" in ASCII."""

# STRICT tables came with SQLite 3.37 (November 2021).
OLDEST_SQLITE = (3, 37, 0)

_UTC_GLOB = "'[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-6][0-9].[0-9][0-9][0-9]Z'"

_KEYS = {
    "session": "id = NEW.id",
    "take": "id = NEW.id",
    "cancellation": "id = NEW.id",
    "input": "session_id = NEW.session_id AND seq = NEW.seq",
}
_PLAYER_CHANGE = {"player_change": "id = NEW.id"}


def keeps_its_rows(table: str) -> str:
    """The trigger that refuses to remove a row; only erasing a player lifts it, for one transaction."""
    return (
        f"CREATE TRIGGER {table}_keeps_its_rows BEFORE DELETE ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'the log is append-only: {table}'); END"
    )


def _append_only(table: str, same_row: str) -> tuple[str, ...]:
    refusal = f"SELECT RAISE(ABORT, 'the log is append-only: {table}');"
    return (
        keeps_its_rows(table),
        f"CREATE TRIGGER {table}_keeps_its_values BEFORE UPDATE ON {table} BEGIN {refusal} END",
        f"CREATE TRIGGER {table}_is_not_replaced BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same_row}) "
        f"BEGIN SELECT RAISE(ABORT, 'the log already holds this row: {table}'); END",
    )


_VERSION_1: tuple[str, ...] = (
    f"""
    CREATE TABLE session (
        id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
        player TEXT NOT NULL CHECK (player <> ''),
        started_utc TEXT NOT NULL CHECK (started_utc GLOB {_UTC_GLOB}),
        program_version TEXT NOT NULL CHECK (program_version <> ''),
        seed INTEGER,
        settings TEXT NOT NULL CHECK (json_valid(settings) AND json_type(settings) = 'object')
    ) STRICT
    """,
    f"""
    CREATE TABLE take (
        id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
        session_id TEXT NOT NULL REFERENCES session (id),
        player TEXT NOT NULL CHECK (player <> ''),
        drill TEXT NOT NULL CHECK (drill <> ''),
        chords TEXT NOT NULL CHECK (json_valid(chords) AND json_type(chords) = 'array'),
        beats_per_chord INTEGER NOT NULL CHECK (beats_per_chord >= 1),
        metre INTEGER NOT NULL CHECK (metre >= 1),
        tempo_bpm REAL NOT NULL CHECK (tempo_bpm > 0),
        landings INTEGER NOT NULL CHECK (landings >= 1),
        outcome TEXT NOT NULL CHECK (outcome IN ('pass', 'fail', 'void')),
        first_miss INTEGER
            CHECK (first_miss IS NULL OR (outcome = 'fail' AND first_miss BETWEEN 1 AND landings)),
        judge TEXT NOT NULL CHECK (judge <> ''),
        answer_style TEXT NOT NULL CHECK (answer_style IN ('ask', 'speak-up')),
        ladder TEXT NOT NULL CHECK (ladder <> ''),
        started_utc TEXT NOT NULL CHECK (started_utc GLOB {_UTC_GLOB}),
        ended_utc TEXT NOT NULL CHECK (ended_utc GLOB {_UTC_GLOB}),
        pressed_s REAL,
        heard_press_s REAL,
        reaction_ms REAL NOT NULL CHECK (reaction_ms >= 0),
        duration_s REAL NOT NULL CHECK (duration_s >= 0)
    ) STRICT
    """,
    f"""
    CREATE TABLE cancellation (
        id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
        take_id TEXT NOT NULL REFERENCES take (id),
        at_utc TEXT NOT NULL CHECK (at_utc GLOB {_UTC_GLOB}),
        reason TEXT NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE input (
        session_id TEXT NOT NULL REFERENCES session (id),
        seq INTEGER NOT NULL CHECK (seq >= 1),
        content TEXT NOT NULL CHECK (json_valid(content) AND json_type(content) = 'object'),
        PRIMARY KEY (session_id, seq)
    ) STRICT, WITHOUT ROWID
    """,
    "CREATE INDEX take_by_player_drill_start ON take (player, drill, started_utc)",
    "CREATE INDEX take_by_start ON take (started_utc, id)",
    "CREATE INDEX take_by_session ON take (session_id)",
    "CREATE INDEX cancellation_by_take ON cancellation (take_id)",
    *(statement for table, same_row in _KEYS.items() for statement in _append_only(table, same_row)),
)

# A log of ten years answers as fast as one of a week: see queries.py. With the id at their end the indexes
# give rows in the order that is asked for, so that nothing has to be sorted before the first one is known.
_VERSION_2: tuple[str, ...] = (
    "DROP INDEX take_by_player_drill_start",
    "CREATE INDEX take_by_player_drill_start ON take (player, drill, started_utc, id)",
    "CREATE INDEX take_by_player_start ON take (player, started_utc, id)",
    "CREATE INDEX session_by_player_start ON session (player, started_utc, id)",
)

# A name is given and hidden by rows of their own: what was played stays as it was written, and two logs still
# join by union. Who is meant by a name is worked out from all these rows (names.py).
_VERSION_3: tuple[str, ...] = (
    f"""
    CREATE TABLE player_change (
        id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
        player TEXT NOT NULL CHECK (player <> ''),
        kind TEXT NOT NULL CHECK (kind IN ('rename', 'archive', 'return')),
        name TEXT NOT NULL CHECK (name <> ''),
        at_utc TEXT NOT NULL CHECK (at_utc GLOB {_UTC_GLOB})
    ) STRICT
    """,
    *(statement for table, same_row in _PLAYER_CHANGE.items() for statement in _append_only(table, same_row)),
)

# Of a missed take: 1 when one landing was missed, 2 when it was more than one, nothing where nobody asked.
_VERSION_4: tuple[str, ...] = (
    "ALTER TABLE take ADD COLUMN misses INTEGER "
    "CHECK (misses IS NULL OR (outcome = 'fail' AND misses BETWEEN 1 AND 2 AND misses <= landings))",
)

MIGRATIONS: dict[int, Sequence[str]] = {1: _VERSION_1, 2: _VERSION_2, 3: _VERSION_3, 4: _VERSION_4}

TABLES: dict[str, tuple[str, ...]] = {"session": ("id",), "take": ("id",), "cancellation": ("id",)} | {
    "input": ("session_id", "seq"),
    "player_change": ("id",),
}
"""Every table with its key, parents before their children."""

FIRST_ROW = -(2**63)
"""Below every row number."""


def _is_a_moment(column: str) -> str:
    # Time is added, though none, so that SQLite reckons with the day: the 31st of February is in March.
    years = f"{column} >= '1000' AND {column} < '9999'"
    return f"({years} AND strftime('%Y-%m-%dT%H:%M:%fZ', {column}, '+0 days') IS {column})"


def _is_finite(column: str) -> str:
    return f"({column} IS NULL OR abs({column}) < 9e999)"


RULES: dict[str, str] = {
    "session": _is_a_moment("started_utc"),
    "take": " AND ".join(
        (
            *(_is_a_moment(column) for column in ("started_utc", "ended_utc")),
            *map(_is_finite, ("pressed_s", "heard_press_s", "reaction_ms", "duration_s")),
            f"tempo_bpm BETWEEN {LEAST_BPM} AND {MOST_BPM} AND landings <= {MOST_LANDINGS}",
            # CASE asks nothing of text that is no JSON, which AND may.
            "CASE WHEN json_valid(chords) THEN json_array_length(chords) > 0 AND "
            "NOT EXISTS (SELECT 1 FROM json_each(chords) WHERE json_each.type <> 'text') ELSE 0 END",
        )
    ),
    "cancellation": _is_a_moment("at_utc"),
    "player_change": _is_a_moment("at_utc"),
}
"""What each row keeps to beyond what its table checks (rows.py has the same rules for what is written)."""

OLDEST_READABLE = 1
"""The oldest version that can be read, with READ_AS: what else came after it are indexes, which only make it
faster, and a table that an older log has no rows for."""
MISSES_SINCE = 4
READ_AS = "CREATE TEMP VIEW take AS SELECT *, NULL AS misses FROM main.take"
"""Lets a log from before MISSES_SINCE be asked for what it does not hold, without changing it."""


def newest_version(migrations: Mapping[int, Sequence[str]]) -> int:
    """The version a file has once every migration has run."""
    return max(migrations)


def version_of(connection: sqlite3.Connection) -> int:
    """The file's schema version; 0 for a file without tables."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection, migrations: Mapping[int, Sequence[str]] = MIGRATIONS) -> None:
    """Bring an open file to the newest version, in one transaction: all of it or nothing.

    The connection must be in autocommit mode (isolation_level None).
    Raises sqlite3.Error; the file is then as it was.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = version_of(connection)
        # Written even when nothing is to be done: BEGIN alone is content with a read-only
        # file, which would then show itself only after the first take.
        connection.execute(f"PRAGMA user_version = {version}")
        if version == newest_version(migrations):
            connection.execute("ROLLBACK")
            return
        for target in range(version + 1, newest_version(migrations) + 1):
            for statement in migrations[target]:
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {target}")
        if version == 0:
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


# --- is it ours? ------------------------------------------------------------------------


class Thing(NamedTuple):
    """A table, index, trigger or view as a file describes it: a row of `sqlite_master`, spaces evened."""

    type: object
    name: object
    table: object
    sql: object


LONGEST_NAME = 40
MOST_THINGS = 1000
"""Tables, indexes and triggers that are looked at: a log of ours has some thirty."""


def things_in(connection: sqlite3.Connection) -> frozenset[Thing]:
    """What a file holds, as far as MOST_THINGS. Raises sqlite3.Error when the file cannot be asked."""
    query = "SELECT type, name, tbl_name, sql FROM sqlite_master"
    rows = connection.execute(query).fetchmany(MOST_THINGS)
    return frozenset(
        Thing(type, name, table, " ".join(sql.split()) if isinstance(sql, str) else sql)
        for type, name, table, sql in rows
    )


@lru_cache
def things_of(version: int) -> frozenset[Thing]:
    """What a log of a version holds. Raises KeyError for a version that there never was."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as made:
        migrate(made, {target: MIGRATIONS[target] for target in range(1, version + 1)})
        return things_in(made)


def strange_in_another(there: frozenset[Thing], version: int) -> str | None:
    """What a log from elsewhere holds that one of its version does not, or lacks; None when it is as written.

    Such a file is asked nothing else before this: a view in the place of a table could answer for ever.
    """
    return _named(there ^ things_of(version))


def strange_in_own(there: frozenset[Thing], version: int) -> str | None:
    """The same of the player's own log, which may have more indexes, tables and views, but no triggers."""
    ours = things_of(version)
    missing = {thing for thing in ours - there if thing.type in ("table", "trigger")}
    return _named(missing | {thing for thing in there - ours if thing.type == "trigger"})


def _named(strange: frozenset[Thing] | set[Thing]) -> str | None:
    """The first of what is strange by type and name; what ANALYZE leaves in a file is not."""
    named = (
        f"{thing.type} {' '.join(str(thing.name).split())[:LONGEST_NAME]}"
        for thing in strange
        if not (thing.type == "table" and thing.name in ("sqlite_stat1", "sqlite_stat4"))
    )
    # With a table its indexes are strange too.
    return min(named, key=lambda words: (words.startswith("index"), words), default=None)
