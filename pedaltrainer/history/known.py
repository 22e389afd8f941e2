"""What the log tells before a session, for a plan and of progress, read no further back than that needs.

A drill whose name this program cannot read (a newer program wrote it) is passed over, and named.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.named import readable
from pedaltrainer.history.record import (
    LOOK_BACK_DAYS,
    Beginnings,
    DrillRecord,
    last_sessions,
    lately,
    records_since,
    since_of,
)
from pedaltrainer.history.runs import Runs, told_by_runs
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.evidence import Evidence, SessionTakes, evidence_of
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.ladders.ladder import PastResult
from pedaltrainer.practice.steps import step_after
from pedaltrainer.practice.take import Outcome
from pedaltrainer.records.rows import parse_utc
from pedaltrainer.session.replay import settings_from_json
from pedaltrainer.session.run_through import RUN_THROUGH
from pedaltrainer.session.settings import FIRST_START_BPM
from pedaltrainer.session.tap_along import TAP_ALONG
from pedaltrainer.timing.grid import SLOWEST_BPM

LAST_LOOKED_AT = 20
"""Sessions in which the drills played last are looked for: run-throughs have none."""
STEPS_BELOW_THE_BEST = 2
"""A drill known from before begins this many steps below the fastest rung last passed."""
Choose = Callable[[Mapping[Drill, str]], Mapping[Drill, str]]
"""From the drills there are, each with its key in the log, those that are wanted."""


# --- before a session ------------------------------------------------------------------


def _no_takes(_: Drill) -> tuple[SessionTakes, ...]:
    return ()


@dataclass(frozen=True, slots=True)
class Known:
    """sessions: the last ones with a drill, as `record.last_sessions` has them; read when asked."""

    last_drills: tuple[Drill, ...] = ()
    sessions: Callable[[Drill], tuple[SessionTakes, ...]] = _no_takes

    def start_bpm(self, drill: Drill, step_bpm: int, first_bpm: int = FIRST_START_BPM) -> int:
        """Where a ladder that knows nothing begins on a drill; first_bpm: on one that was never passed."""
        with_takes = [one for one in self.sessions(drill) if one.dated]
        last = (take for one in with_takes[-1:] for _, take in one.dated)
        passed = [take.tempo_bpm for take in last if take.outcome is Outcome.PASS_]
        if not passed:
            return first_bpm
        return max(SLOWEST_BPM, round(max(passed)) - STEPS_BELOW_THE_BEST * step_bpm)

    def history(self, drill: Drill, now: datetime) -> tuple[PastResult, ...]:
        """The clean tempo that the last session on a drill has found, if there was one and it is measured."""
        if drill.row.slow_bpm is not None:
            return ()
        found = evidence_of(drill, self.sessions(drill), now).found
        return () if found is None else (found,)

    def step(self, drill: Drill) -> int:
        """The step that the last session on a drill with steps has come to."""
        last = self.sessions(drill)[-1:] if drill.row.steps else ()
        takes = [take for one in last for _, take in one.dated]
        return step_after(takes, drill.row, last[0].first_step) if last else 0


NOTHING_KNOWN = Known()


def read_known(desk: Desk) -> Known:
    """What a player's log knows; nothing when there is no log yet.

    Raises InputError when it cannot be read; so does what is asked of it later.
    """
    if not desk.has_log:
        return NOTHING_KNOWN
    with desk.log() as log:
        sessions = [
            row
            for row in log.sessions(desk.player, limit=LAST_LOOKED_AT)
            if not {RUN_THROUGH, TAP_ALONG} & set(row.settings)
        ]

    @cache
    def runs() -> Runs:
        with desk.log() as log:
            return told_by_runs(log, desk.player)

    @cache
    def last(drill: Drill) -> tuple[SessionTakes, ...]:
        with desk.log() as log:
            beginnings = Beginnings(log, desk.player, runs())
            return last_sessions(log, desk.player, drill, drill.key, beginnings).sessions

    return Known(_drills_of(sessions[0].settings) if sessions else (), last)


def _drills_of(settings: object) -> tuple[Drill, ...]:
    """The drills of an earlier session; none when an older program wrote them otherwise."""
    try:
        return settings_from_json(settings).drills if isinstance(settings, dict) else ()
    except InputError:
        return ()


# --- for a plan --------------------------------------------------------------------------


def evidence(desk: Desk, now: datetime, drills: Collection[Drill] | None = None) -> dict[str, Evidence]:
    """What a player's log tells of every drill with a take that stands or that was run through, by key; of
    `drills` alone when given.

    Made of each drill's last session, however long ago. Empty when there is no log yet. Raises InputError
    when it cannot be read.
    """
    if not desk.has_log:
        return {}
    wanted = None if drills is None else {drill.key for drill in drills}
    with desk.log() as log:
        beginnings = Beginnings(log, desk.player)
        there, _ = readable((*log.drills(desk.player), *beginnings.runs))
        records = [
            last_sessions(log, desk.player, drill, key, beginnings)
            for drill, key in there.items()
            if wanted is None or drill.key in wanted
        ]
    return {one.drill.key: evidence_of(one.drill, one.sessions, now) for one in records if one.sessions}


def with_trends(desk: Desk, known: Mapping[str, Evidence], drills: Iterable[Drill]) -> dict[str, Evidence]:
    """The same, with the trend of those of these drills that were played lately: it is dear.

    Raises InputError when the log cannot be read.
    """
    played = {drill.key: known[drill.key] for drill in drills if drill.key in known}
    if not played:
        return dict(known)
    with desk.log() as log:
        since, beginnings = since_of(log, desk.player), Beginnings(log, desk.player)
        start = parse_utc(since) if since else None
        trends = {
            key: progress.trend_in(lately(log, desk.player, key, beginnings, since))
            for key, one in played.items()
            if one.last is not None and (start is None or one.last > start)
        }
    return {**known, **{key: replace(known[key], trend=trend) for key, trend in trends.items()}}


# --- for progress --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Looked:
    """What was played of each drill, the one practised last first, and how far back that goes.

    whole: whether it is all there is of these drills. elsewhere: how many of the drills wanted were
    practised only before that. unread: the names of drills that were passed over.
    """

    records: tuple[DrillRecord, ...]
    whole: bool = True
    elsewhere: int = 0
    unread: tuple[str, ...] = ()


def look_back(desk: Desk, choose: Choose, days: int | None = LOOK_BACK_DAYS) -> Looked:
    """What a player played on the last so many days on which they played; None: on all of them.

    One drill that was not played on any of these is told from its own last days. Raises InputError for a log
    that cannot be read or a player it does not know, and what `choose` raises.
    """
    player = desk.player
    with desk.log() as log:
        keys = log.drills(player)
        players = log.players()
        if not keys and players and player not in players:
            there = ", ".join(players)
            raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
        found, unread = readable(keys)
        chosen = choose(found)
        one_key = next(iter(chosen.values())) if len(chosen) == 1 else None
        since, beginnings = since_of(log, player, days), Beginnings(log, player)
        records, _ = records_since(log, player, since, beginnings, one_key)
        if one_key is not None and one_key not in records and since:
            since = since_of(log, player, days, one_key)
            records, _ = records_since(log, player, since, beginnings, one_key)
    looked = [records.get(key, DrillRecord(drill)) for drill, key in chosen.items()]
    if len(chosen) > 1:
        looked = [one for one in looked if one.dated]
    return Looked(tuple(looked), not since, len(chosen) - len(looked) if since else 0, unread)
