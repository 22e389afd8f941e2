"""The players of one machine: listed, renamed, put away and taken out again, and erased for good.

Renaming and putting away append a row and change none. Erasing is the one exception to append-only: it is
the player's right, and a row that says "erased" would still name them.
"""

from __future__ import annotations

import os
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import connecting, opening, queries, trouble
from pedaltrainer.records.connecting import Connection
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.names import Names, PlayerChange
from pedaltrainer.records.rows import new_id, utc_text
from pedaltrainer.records.upkeep import aside, snapshot
from pedaltrainer.system.files import remove_left_behind
from pedaltrainer.system.reading import There, what_is_at

_MINE = "(SELECT value FROM json_each(:names))"


def _theirs(file: str) -> dict[str, str]:
    """A condition for a player's rows of each table; file: how SQLite calls the file they are in."""
    sessions = f"(SELECT id FROM {file}.session WHERE player IN {_MINE})"
    takes = f"(player IN {_MINE} OR session_id IN {sessions})"
    return {
        "session": f"player IN {_MINE}",
        "take": takes,
        "cancellation": f"take_id IN (SELECT id FROM {file}.take WHERE {takes})",
        "input": f"session_id IN {sessions}",
        "player_change": f"player IN {_MINE} OR name IN {_MINE}",
    }


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

    Each file is written anew without them and then takes the old one's place, so that a disk too full for
    that leaves it as it was. Raises InputError when there is no such player, or when a file cannot be changed
    or is open elsewhere; the player is then still in the log, so that it can be asked for again.
    """
    with Log.open(folder) as log:
        found = log.names().all_of(the_player(log, name))
    kept_aside = aside.forget(folder, found)
    remove_left_behind(folder / FILE_NAME)
    removed: dict[Path, tuple[int, int]] = {}
    # The log comes last: as long as it knows the player, erasing can be asked for once more.
    own = folder / FILE_NAME
    copies = [path for path in sorted(folder.glob("*.sqlite3")) if path != own and _is_a_log(path)]
    for path in (*copies, own):
        with trouble.said_in_words(path):
            removed[path] = _erase_from(Path(os.path.realpath(path)), found)
    touched = [path for path, (sessions, takes) in removed.items() if sessions or takes]
    return Erased(*removed[own], (*touched, *kept_aside))


def _is_a_log(path: Path) -> bool:
    if what_is_at(path) is not There.FILE:
        return False
    try:
        opening.refuse_by_header(path)
    except InputError:
        return False
    return True


def _erase_from(path: Path, names: tuple[str, ...]) -> tuple[int, int]:
    """How many sessions and takes went; the file is changed only at the very end, by a rename."""
    with closing(opening.open_to_write(path)) as old:
        # Other players' names for this one may be known to this file only.
        changes = old.execute(f"SELECT {', '.join(PlayerChange._fields)} FROM player_change").fetchall()
        known = Names.of(PlayerChange(*row) for row in changes)
        every = tuple(dict.fromkeys(alias for name in names for alias in (name, *known.all_of(name))))
        # Folds the write-ahead log in and does without one; refused while another program has the file open,
        # since what that one still reads could not be removed.
        old.execute("PRAGMA journal_mode = DELETE")
        old.allow(connecting.size_of(path))
        # From here to the end nobody else reads or writes it.
        old.execute("BEGIN EXCLUSIVE")
        removed = _count(old, every)
        if any(removed.values()):
            with snapshot.new_log(path, force=True) as new:
                of_others = {table: f"NOT ({whose})" for table, whose in _theirs("old").items()}
                # It is locked by ourselves, and changes no more.
                snapshot.bring(new, path, path, of_others, names=queries.json_list(every))
                if os.name == "nt":
                    old.close()  # Windows replaces no file that is open
        else:
            old.execute("ROLLBACK")
            old.execute("PRAGMA journal_mode = WAL")
        return removed["session"], removed["take"]


def _count(old: Connection, names: tuple[str, ...]) -> dict[str, int]:
    """How many rows of each table are a player's."""
    asked = {"names": queries.json_list(names)}
    return {
        table: old.execute(f"SELECT count(*) FROM {table} WHERE {whose}", asked).fetchone()[0]
        for table, whose in _theirs("main").items()
    }
