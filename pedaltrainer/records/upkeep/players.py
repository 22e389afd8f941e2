"""The players of one machine: listed, renamed, put away and taken out again, and erased for good.

Renaming and putting away append a row and change none. Erasing is the one exception to append-only: it is
the player's right, and a row that says "erased" would still name them.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import opening, queries, schema, trouble
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.names import Names, PlayerChange
from pedaltrainer.records.rows import new_id, utc_text

_MINE = "(SELECT value FROM json_each(:names))"
_MY_TAKES = f"(player IN {_MINE} OR session_id IN (SELECT id FROM session WHERE player IN {_MINE}))"
_ERASING = {
    "cancellation": f"take_id IN (SELECT id FROM take WHERE {_MY_TAKES})",
    "input": f"session_id IN (SELECT id FROM session WHERE player IN {_MINE})",
    "take": _MY_TAKES,
    "session": f"player IN {_MINE}",
    "player_change": f"player IN {_MINE} OR name IN {_MINE}",
}
"""Which rows of each table are a player's, children before their parents."""


@dataclass(frozen=True, slots=True)
class Player:
    """A player as a list shows them; also_played_as: other names in the log that mean them."""

    name: str
    takes: int
    last_utc: str | None
    archived: bool
    also_played_as: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Erased:
    """What erasing removed: sessions and takes, and the files they were removed from."""

    sessions: int
    takes: int
    files: tuple[Path, ...]


def look(log: Log, include_archived: bool = False) -> list[Player]:
    """The players of a log, the one who played last first."""
    names = log.names()
    found = []
    for name in log.players(include_archived):
        _, *others = names.all_of(name)
        counts = [log.played(each) for each in (name, *others)]
        last = max((last for _, last in counts if last), default=None)
        takes = sum(count for count, _ in counts)
        found.append(Player(name, takes, last, names.is_archived(name), tuple(others)))
    return found


def rename(log: Log, name: str, new_name: str, now: datetime, join: bool = False) -> str:
    """Show a player by another name from now on; the name they were shown by is returned.

    join: the other name is a player's, and they are the same person. Raises InputError when there is no such
    player, when the new name is somebody's and is not to be joined, and when it is the old one.
    """
    shown = the_player(log, name)
    names = log.names()
    if new_name == shown:
        raise InputError(f"{shown} is called that already; give another name.")
    mine = names.all_of(shown)
    theirs = names.shown(new_name)
    if new_name not in mine and (theirs in log.players(include_archived=True) or theirs != new_name):
        if not join:
            raise InputError(
                f"{new_name} is a name in the log; choose another, or add --join if both are one person."
            )
        new_name = theirs
    when = utc_text(now)
    # Back to a name they had before: a row says that this name means itself again.
    changes = [PlayerChange(new_id(), each, "rename", new_name, when) for each in mine]
    log.append_changes(changes)
    return shown


def put_away(log: Log, name: str, now: datetime, away: bool = True) -> str:
    """Hide a player from lists, or show them again; returns the name they are shown by.

    Raises InputError when there is no such player, or when that is so already.
    """
    shown = the_player(log, name)
    if log.names().is_archived(shown) == away:
        raise InputError(f"{shown} is {'archived' if away else 'not archived'}; there is nothing to do.")
    kind = "archive" if away else "return"
    log.append_changes([PlayerChange(new_id(), shown, kind, shown, utc_text(now))])
    return shown


def the_player(log: Log, name: str) -> str:
    """The name that a player is shown by. Raises InputError, naming those there are, for nobody's name."""
    shown = log.names().shown(name)
    there = log.players(include_archived=True)
    if shown not in there:
        listed = ", ".join(there) or "none yet"
        raise InputError(f"The log has no player {name}; its players are {listed}.")
    return shown


# --- erasing ----------------------------------------------------------------------


def erase(folder: Path, name: str) -> Erased:
    """Remove a player from the log and from every copy of it in the folder, so that no byte of them is left.

    Raises InputError when there is no such player, or when a file cannot be changed or is open elsewhere;
    the player is then still in the log, so that it can be asked for again.
    """
    with Log.open(folder) as log:
        found = log.names().all_of(the_player(log, name))
    removed: dict[Path, tuple[int, int]] = {}
    # The log comes last: as long as it knows the player, erasing can be asked for once more.
    own = folder / FILE_NAME
    copies = [path for path in sorted(folder.glob("*.sqlite3")) if path != own and _is_a_log(path)]
    for path in (*copies, own):
        with trouble.said_in_words(path):
            removed[path] = _erase_from(path, found)
    touched = tuple(path for path, (sessions, takes) in removed.items() if sessions or takes)
    return Erased(*removed[own], touched)


def _is_a_log(path: Path) -> bool:
    try:
        opening.refuse_by_header(path)
    except InputError:
        return False
    return True


def _erase_from(path: Path, names: tuple[str, ...]) -> tuple[int, int]:
    with closing(opening.open_to_write(path, opening.BUSY_TIMEOUT_S)) as file:
        # Other players' names for this one may be known to this file only.
        changes = file.execute(f"SELECT {', '.join(PlayerChange._fields)} FROM player_change").fetchall()
        known = Names.of(PlayerChange(*row) for row in changes)
        every = tuple(dict.fromkeys(alias for name in names for alias in (name, *known.all_of(name))))
        # Folds the write-ahead log in and does without one; refused while another program has the file open,
        # since what that one still reads could not be removed.
        file.execute("PRAGMA journal_mode = DELETE")
        file.execute("PRAGMA secure_delete = ON")
        removed = _delete(file, every)
        # Pages that were emptied earlier, by SQLite's own housekeeping, go as well.
        file.execute("VACUUM")
        file.execute("PRAGMA journal_mode = WAL")
        return removed


def _delete(file: sqlite3.Connection, names: tuple[str, ...]) -> tuple[int, int]:
    asked = {"names": queries.json_list(names)}
    removed = {}
    file.execute("BEGIN EXCLUSIVE")
    try:
        for table, whose in _ERASING.items():
            file.execute(f"DROP TRIGGER {table}_keeps_its_rows")
            removed[table] = file.execute(f"DELETE FROM {table} WHERE {whose}", asked).rowcount
            file.execute(schema.keeps_its_rows(table))
        file.execute("COMMIT")
    except BaseException:
        if file.in_transaction:
            file.execute("ROLLBACK")
        raise
    return removed["session"], removed["take"]
