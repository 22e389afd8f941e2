"""What the log tells before a session, for a plan and of progress, read no further back than that needs.

A drill whose name this program cannot read (a newer program wrote it) is passed over, and named.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.named import in_order, readable, take_of
from pedaltrainer.practice import clean_tempo
from pedaltrainer.practice.coach.evidence import MOST_TAKES, Evidence, evidence_of
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.ladders.ladder import PastResult
from pedaltrainer.practice.take import DatedTake
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Answer, TakeRow, parse_utc
from pedaltrainer.session.replay import settings_from_json
from pedaltrainer.session.settings import FIRST_START_BPM
from pedaltrainer.timing.grid import SLOWEST_BPM

STEPS_BELOW_THE_BEST = 2
"""A drill known from before begins this many steps below the fastest rung last passed."""
LOOK_BACK_DAYS = 90
"""Days with takes that progress is told from: twice what a verdict needs. A straight line through years
would call a player rising whose last half year was flat."""

Choose = Callable[[Mapping[Drill, str]], Mapping[Drill, str]]
"""From the drills there are, each with its key in the log, those that are wanted."""


def _no_takes(_: str) -> Sequence[TakeRow]:
    return ()


# --- before a session ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Known:
    """last_session: from a drill's key to the takes of its last session, oldest first; read when asked."""

    last_drills: tuple[Drill, ...] = ()
    last_session: Callable[[str], Sequence[TakeRow]] = _no_takes

    def start_bpm(self, drill: Drill, step_bpm: int) -> int:
        """Where a ladder that knows nothing begins on a drill."""
        passed = [row.tempo_bpm for row in self.last_session(drill.key) if row.outcome == "pass"]
        if not passed:
            return FIRST_START_BPM
        return max(SLOWEST_BPM, round(max(passed)) - STEPS_BELOW_THE_BEST * step_bpm)

    def history(self, drill: Drill, now: datetime) -> tuple[PastResult, ...]:
        """The clean tempo of the last session on a drill, if it had any takes."""
        rows = self.last_session(drill.key)
        if not rows:
            return ()
        posterior = clean_tempo.prior()
        for row in rows:
            posterior = clean_tempo.update(posterior, take_of(row, drill), row.reaction_ms / 1000)
        found = clean_tempo.estimate(posterior)
        # A clock that was set back must not make the past lie in the future.
        days_ago = max(0.0, (now - parse_utc(rows[-1].started_utc)).total_seconds() / 86_400)
        return (PastResult(found.bpm, found.low_bpm, found.high_bpm, days_ago),)


TREND_TAKES = 320
"""Takes that the trend of one drill is made of: forty sittings of eight."""
NOTHING_KNOWN = Known()


def read_known(desk: Desk) -> Known:
    """What a player's log knows; nothing when there is no log yet.

    Raises InputError when it cannot be read; so does what is asked of it later.
    """
    if not desk.has_log:
        return NOTHING_KNOWN
    with desk.log() as log:
        sessions = log.sessions(desk.player, limit=1)

    def last_session(drill: str) -> Sequence[TakeRow]:
        with desk.log() as log:
            return log.last_session_takes(desk.player, drill)[::-1]

    return Known(_drills_of(sessions[0].settings) if sessions else (), last_session)


def _drills_of(settings: object) -> tuple[Drill, ...]:
    """The drills of an earlier session; none when an older program wrote them otherwise."""
    try:
        return settings_from_json(settings).drills if isinstance(settings, dict) else ()
    except InputError:
        return ()


# --- for a plan --------------------------------------------------------------------------


def evidence(desk: Desk, now: datetime, drills: Collection[Drill] | None = None) -> dict[str, Evidence]:
    """What a player's log tells of every drill with a take that counts, by key; of `drills` alone when given.

    Made of each drill's last takes, however long ago. Empty when there is no log yet. Raises InputError
    when it cannot be read.
    """
    if not desk.has_log:
        return {}
    wanted = None if drills is None else {drill.key for drill in drills}
    with desk.log() as log:
        there, _ = readable(log.drills(desk.player))
        answers = {
            drill: log.last_answers(desk.player, key, MOST_TAKES)
            for drill, key in there.items()
            if wanted is None or drill.key in wanted
        }
    return {drill.key: _evidence(drill, last, now) for drill, last in answers.items() if last}


def with_trends(
    desk: Desk, now: datetime, known: Mapping[str, Evidence], drills: Iterable[Drill]
) -> dict[str, Evidence]:
    """The same, with the trend of these drills where they have takes: it is dear, and few plans need it.

    A trend looks back on each drill's last TREND_TAKES takes. Raises InputError when the log cannot be read.
    """
    keys = {drill.key for drill in drills} & known.keys()
    if not keys:
        return dict(known)
    with desk.log() as log:
        answers = {key: log.last_answers(desk.player, key, TREND_TAKES) for key in keys}
    trends = {
        key: _evidence(known[key].drill, last, now, with_trend=True) for key, last in answers.items() if last
    }
    return {**known, **trends}


def _evidence(
    drill: Drill, newest_first: Sequence[Answer], now: datetime, with_trend: bool = False
) -> Evidence:
    newest = newest_first[0]
    drill = in_order(drill, newest.chords)
    dated, reaction_s = _dated(drill, newest_first), newest.reaction_ms / 1000
    return evidence_of(drill, dated, now, reaction_s=reaction_s, with_trend=with_trend)


# --- for progress --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Looked:
    """Takes by drill, the drill practised last first, and how far back they go.

    whole: whether they are all there are of these drills. elsewhere: how many of the drills wanted were
    practised only before that. unread: the names of drills that were passed over.
    """

    dated: dict[Drill, list[DatedTake]]
    whole: bool = True
    elsewhere: int = 0
    unread: tuple[str, ...] = ()


def look_back(desk: Desk, choose: Choose, days: int | None = LOOK_BACK_DAYS) -> Looked:
    """A player's takes in the last so many days with takes; None: in all of them.

    When `choose` takes every drill these are the days the player played at all; otherwise each drill's own.
    Raises InputError for a log that cannot be read or a player it does not know, and what `choose` raises.
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
        each: list[str | None] = [None] if len(chosen) == len(found) else list(chosen.values())
        starts = {key: _start(log, player, days, key) for key in each}
        by_key: dict[str, list[Answer]] = {}
        for key, since in starts.items():
            for answer in log.answers_since(player, since or "", key):
                by_key.setdefault(answer.drill, []).append(answer)
    dated = {}
    for drill, key in chosen.items():
        if key in by_key:
            own = in_order(drill, by_key[key][0].chords)
            dated[own] = _dated(own, by_key[key])
        elif len(chosen) == 1:
            dated[drill] = []
    whole = not any(starts.values())
    return Looked(dated, whole, 0 if whole else len(chosen) - len(dated), unread)


def _start(log: Log, player: str, days: int | None, drill: str | None) -> str | None:
    return None if days is None else log.before_the_last_days(player, days, drill)


def _dated(drill: Drill, answers: Iterable[Answer]) -> list[DatedTake]:
    return [(parse_utc(answer.started_utc), take_of(answer, drill)) for answer in answers]
