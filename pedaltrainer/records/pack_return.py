"""What goes back to the teacher: one log file with one player's takes, as they were at one moment."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import opening, trouble
from pedaltrainer.records.log import FILE_NAME, Log

_THIS_PLAYERS = (
    "INSERT INTO session SELECT * FROM whole.session WHERE player = :player",
    "INSERT INTO take SELECT * FROM whole.take WHERE session_id IN (SELECT id FROM session)",
    "INSERT INTO cancellation SELECT * FROM whole.cancellation WHERE take_id IN (SELECT id FROM take)",
    "INSERT INTO input SELECT * FROM whole.input WHERE session_id IN (SELECT id FROM session)",
)


def return_log(folder: Path, player: str, target: Path) -> int:
    """Write a log with this player's sessions and nobody else's; returns how many takes are in it.

    Taken by SQLite's backup, so that it is one moment's state also while somebody plays. Raises InputError
    when there is no log, none of this player in it, a file there already, or no room for one.
    """
    if target.exists():
        raise InputError(f"{target} is there already; name a new file, so that nothing is written over.")
    with Log.open(folder, read_only=True) as log:
        players = log.players()
    if player not in players:
        there = ", ".join(players) or "nobody yet"
        raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
    try:
        with tempfile.TemporaryDirectory(prefix=".return-", dir=target.parent) as scratch:
            _write(folder, player, Path(scratch))
            with Log.open(Path(scratch), read_only=True) as log:
                takes = log.count_takes()
            (Path(scratch) / FILE_NAME).rename(target)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(f"{target} cannot be written ({why}); choose another file.") from error
    return takes


def _write(folder: Path, player: str, scratch: Path) -> None:
    source, snapshot = folder / FILE_NAME, scratch / "whole"
    with trouble.said_in_words(source), closing(sqlite3.connect(snapshot)) as copy:
        with closing(opening.open_to_read(source, opening.BUSY_TIMEOUT_S)) as whole:
            whole.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
    snapshot.rename(scratch / FILE_NAME)
    Log.open(scratch).close()  # brings an older log to the newest tables
    (scratch / FILE_NAME).rename(snapshot)
    Log.open(scratch).close()
    own_file = scratch / FILE_NAME
    with (
        trouble.said_in_words(own_file),
        closing(sqlite3.connect(own_file, isolation_level=None)) as own,
    ):
        own.execute("ATTACH ? AS whole", (str(snapshot),))
        own.execute("BEGIN")
        for statement in _THIS_PLAYERS:
            own.execute(statement, {"player": player} if ":player" in statement else {})
        own.execute("COMMIT")
        own.execute("DETACH whole")
        # One file to send, with nothing beside it.
        own.execute("PRAGMA journal_mode = DELETE")
