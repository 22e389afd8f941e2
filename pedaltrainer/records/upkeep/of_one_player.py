"""What goes back to the teacher: one log file with one player's takes, as they were at one moment."""

from __future__ import annotations

from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import opening, queries, trouble
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.system.files import refuse_existing, scratch_of

_THEIRS = {
    "session": "player IN (SELECT value FROM json_each(:names))",
    "take": "session_id IN (SELECT id FROM main.session)",
    "cancellation": "take_id IN (SELECT id FROM main.take)",
    "input": "session_id IN (SELECT id FROM main.session)",
    "player_change": "player IN (SELECT value FROM json_each(:names))",
}
"""What is one player's, parents before their children; names: every name they had, as a JSON array."""


def return_log(folder: Path, player: str, target: Path) -> int:
    """Write a log with this player's sessions and nobody else's; returns how many takes are in it.

    Taken by SQLite's backup, so that it is one moment's state also while somebody plays. Raises InputError
    when there is no log, none of this player in it, a file there already, or no room for one.
    """
    refuse_existing(target)
    own = folder / FILE_NAME
    with Log.open(folder, read_only=True) as log:
        players, names = log.players(include_archived=True), log.names().all_of(player)
    if not set(names) & set(players):
        there = ", ".join(players) or "nobody yet"
        raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
    with scratch_of(own) as scratch:
        whole = scratch / FILE_NAME
        snapshot.back_up(own, whole)
        with trouble.said_in_words(whole):
            # An older log is brought to the newest tables.
            opening.open_to_write(whole).close()
        with snapshot.new_log(target) as log:
            snapshot.bring(log, whole, own, _THEIRS, names=queries.json_list(names))
            (takes,) = log.execute(queries.COUNT).fetchone()
    return int(takes)
