"""What the log tells before a session: the drills last practised, and what was found of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.practice import clean_tempo
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.ladder import SLOWEST_BPM, PastResult
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import TakeRow, parse_utc
from pedaltrainer.replay import settings_from_json
from pedaltrainer.session_state import FIRST_START_BPM

STEPS_BELOW_THE_BEST = 2
"""A drill known from before begins this many steps below the fastest rung last passed."""


@dataclass(frozen=True, slots=True)
class Known:
    """last_sessions: drill key -> the takes of the last session on it, oldest first."""

    last_drills: tuple[Drill, ...] = ()
    last_sessions: Mapping[str, tuple[TakeRow, ...]] = field(default_factory=dict)

    def start_bpm(self, drill: Drill, step_bpm: int) -> int:
        """Where a ladder that knows nothing begins on a drill."""
        passed = [row.tempo_bpm for row in self.last_sessions.get(drill.key, ()) if row.outcome == "pass"]
        if not passed:
            return FIRST_START_BPM
        return max(SLOWEST_BPM, round(max(passed)) - STEPS_BELOW_THE_BEST * step_bpm)

    def history(self, drill: Drill, now: datetime) -> tuple[PastResult, ...]:
        """The clean tempo of the last session on a drill, if it had any takes."""
        rows = self.last_sessions.get(drill.key, ())
        if not rows:
            return ()
        posterior = clean_tempo.prior()
        for row in rows:
            posterior = clean_tempo.update(posterior, take_of(row, drill), row.reaction_ms / 1000)
        found = clean_tempo.estimate(posterior)
        # A clock that was set back must not make the past lie in the future.
        days_ago = max(0.0, (now - parse_utc(rows[-1].started_utc)).total_seconds() / 86_400)
        return (PastResult(found.bpm, found.low_bpm, found.high_bpm, days_ago),)


NOTHING_KNOWN = Known()


def take_of(row: TakeRow, drill: Drill) -> Take:
    """A take of the log as the ladders know it."""
    return Take(drill, row.tempo_bpm, row.landings, Outcome(row.outcome), row.first_miss)


def read_known(folder: Path, player: str) -> Known:
    """What a player's log knows; nothing when there is no log yet.

    Raises InputError when it cannot be read.
    """
    if not (folder / FILE_NAME).exists():
        return NOTHING_KNOWN
    with Log.open(folder, read_only=True) as log:
        sessions = log.sessions(player)
        rows = log.takes(player=player)
    last: dict[str, list[TakeRow]] = {}
    for row in rows:
        of_drill = last.setdefault(row.drill, [])
        if (not of_drill or of_drill[0].session_id == row.session_id) and row.outcome != "void":
            of_drill.append(row)
    return Known(
        _drills_of(sessions[0].settings) if sessions else (),
        {key: tuple(reversed(of_drill)) for key, of_drill in last.items()},
    )


def dated_by_drill(folder: Path, player: str) -> dict[Drill, list[tuple[datetime, Take]]]:
    """A player's takes with the moments they began, by drill, the one practised last first.

    Raises InputError for a log that cannot be read or a player it does not know.
    """
    with Log.open(folder, read_only=True) as log:
        rows = log.takes(player=player)
        players = log.players()
        if not rows and players and player not in players:
            there = ", ".join(players)
            raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
    dated: dict[Drill, list[tuple[datetime, Take]]] = {}
    for row in rows:
        drill = drill_of(row)
        dated.setdefault(_as_first_met(dated, drill), []).append(
            (parse_utc(row.started_utc), take_of(row, drill))
        )
    return dated


def _as_first_met(dated: Mapping[Drill, object], drill: Drill) -> Drill:
    """The drill under which the same one was met before: a change is the same from either side."""
    return next((known for known in dated if known.key == drill.key), drill)


def drill_of(row: TakeRow) -> Drill:
    """The drill that a take of the log is of."""
    return replace(parse_drill(row.drill), chords=row.chords)


def drill_key(log: Log, words: str) -> str:
    """The key of a drill in the log, from a player's words ("E Am") or the key itself ("change Am E x4").

    Raises InputError, naming the drills there are, when the log has no such drill.
    """
    there = {row.drill for row in log.takes(include_cancelled=True)}
    if words in there:
        return words
    key = parse_drill(words).key
    if key in there:
        return key
    listed = ", ".join(f"“{each}”" for each in sorted(there)) or "none yet"
    raise InputError(f"The log has no takes of “{words}”; its drills are {listed}.")


def _drills_of(settings: object) -> tuple[Drill, ...]:
    """The drills of an earlier session; none when an older program wrote them otherwise."""
    try:
        return settings_from_json(settings).drills if isinstance(settings, dict) else ()
    except InputError:
        return ()
