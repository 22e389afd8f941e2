"""Drills and takes as the log names them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.take import AnswerStyle, Outcome, Take
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Answer, TakeRow


def take_of(row: TakeRow | Answer, drill: Drill) -> Take:
    """A take of the log as the ladders know it.

    Where every take was asked about, a player may have broken off in the middle: when, says nothing of where
    it went wrong.
    """
    first_miss = row.first_miss if row.answer_style == AnswerStyle.SPEAK_UP else None
    off_s, outcome = row.reaction_ms / 1000, Outcome(row.outcome)
    return Take(drill, row.tempo_bpm, row.landings, outcome, first_miss, None, off_s, row.misses)


def in_order(drill: Drill, chords: tuple[str, ...]) -> Drill:
    """The drill with its chords as they were played; as its name has them, where these are other chords."""
    return replace(drill, chords=chords) if _are_its_chords(drill, chords) else drill


def does_not_agree(drill: str, chords: tuple[str, ...]) -> str | None:
    """What is wrong with the chords of a drill; None when they are its own, or a newer program's affair."""
    try:
        own = parse_drill(drill)
    except InputError:
        return None
    if _are_its_chords(own, chords):
        return None
    return f"{', '.join(chords)} are not the chords of the drill {drill}"


def _are_its_chords(drill: Drill, chords: tuple[str, ...]) -> bool:
    ordered = drill.row.in_order
    return chords == drill.chords if ordered else sorted(chords) == sorted(drill.chords)


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
