"""What goes back to the teacher: one log file with one player's takes, as they were at one moment."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import connecting, opening, trouble
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.system.files import refuse_existing

_THEIRS = (
    "INSERT INTO session SELECT * FROM whole.session WHERE player IN (SELECT value FROM json_each(:names))",
    "INSERT INTO take SELECT * FROM whole.take WHERE session_id IN (SELECT id FROM session)",
    "INSERT INTO cancellation SELECT * FROM whole.cancellation WHERE take_id IN (SELECT id FROM take)",
    "INSERT INTO input SELECT * FROM whole.input WHERE session_id IN (SELECT id FROM session)",
    "INSERT INTO player_change SELECT * FROM whole.player_change "
    "WHERE player IN (SELECT value FROM json_each(:names))",
)
"""What is one player's, parents before their children; names: every name they had, as a JSON array."""


def return_log(folder: Path, player: str, target: Path) -> int:
    """Write a log with this player's sessions and nobody else's; returns how many takes are in it.

    Taken by SQLite's backup, so that it is one moment's state also while somebody plays. Raises InputError
    when there is no log, none of this player in it, a file there already, or no room for one.
    """
    refuse_existing(target)
    with Log.open(folder, read_only=True) as log:
        players, names = log.players(include_archived=True), log.names().all_of(player)
    if not set(names) & set(players):
        there = ", ".join(players) or "nobody yet"
        raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
    try:
        with tempfile.TemporaryDirectory(prefix=".return-", dir=target.parent) as scratch:
            _write(folder, names, Path(scratch))
            with Log.open(Path(scratch), read_only=True) as log:
                takes = log.count_takes()
            (Path(scratch) / FILE_NAME).rename(target)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(f"{target} cannot be written ({why}); choose another file.") from error
    return takes


def _write(folder: Path, names: Sequence[str], scratch: Path) -> None:
    whole, own_file = scratch / "whole.sqlite3", scratch / FILE_NAME
    snapshot.back_up(folder / FILE_NAME, whole)
    with trouble.said_in_words(whole):
        # An older log is brought to the newest tables.
        opening.open_to_write(whole).close()
    Log.open(scratch).close()
    with trouble.said_in_words(own_file), closing(connecting.connect(own_file)) as own:
        own.allow(connecting.size_of(whole))
        own.execute("ATTACH ? AS whole", (str(whole),))
        own.execute("BEGIN")
        with trouble.said_of_the_source(folder / FILE_NAME):
            for statement in _THEIRS:
                own.execute(statement, {"names": json.dumps(names)} if ":names" in statement else {})
        own.execute("COMMIT")
        own.execute("DETACH whole")
        # One file to send, with nothing beside it.
        own.execute("PRAGMA journal_mode = DELETE")
