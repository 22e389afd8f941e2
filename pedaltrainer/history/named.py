"""Drills and takes as the log names them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Answer, TakeRow


def take_of(row: TakeRow | Answer, drill: Drill) -> Take:
    """A take of the log as the ladders know it."""
    return Take(drill, row.tempo_bpm, row.landings, Outcome(row.outcome), row.first_miss)


def drill_of(row: TakeRow | Answer) -> Drill:
    """The drill that a take of the log is of. Raises InputError for one that only a newer program knows."""
    return replace(parse_drill(row.drill), chords=row.chords)


def readable(keys: Iterable[str]) -> tuple[dict[Drill, str], tuple[str, ...]]:
    """The drills of these keys, and the keys that this program cannot read."""
    found: dict[Drill, str] = {}
    unread = []
    for key in keys:
        try:
            found[parse_drill(key)] = key
        except InputError:
            unread.append(key)
    return found, tuple(unread)


def drill_key(log: Log, words: str) -> str:
    """The key of a drill in the log, from a player's words ("E Am") or the key itself ("change Am E x4").

    Raises InputError, naming the drills there are, when the log has no such drill.
    """
    there = set(log.drills())
    if words in there:
        return words
    key = parse_drill(words).key
    if key in there:
        return key
    listed = ", ".join(f"“{each}”" for each in sorted(there)) or "none yet"
    raise InputError(f"The log has no takes of “{words}”; its drills are {listed}.")
