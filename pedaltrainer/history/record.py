"""The log's takes of a drill, session by session: what every figure of it is made from.

Read no further back than is needed. What a session's ladder began with stands in its settings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import zip_longest
from typing import Any, NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.history.named import in_order, readable, take_of
from pedaltrainer.history.runs import Runs, in_turn, told_by_runs
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.coach.evidence import SessionTakes, in_sittings, last_needed
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.take import DatedTake
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Answer, parse_utc, utc_text
from pedaltrainer.records.told_by_log import END_OF_TIME

LONGEST_SESSION = timedelta(hours=18)
AT_FIRST = 40
"""Takes that are read first when the last session of a drill is looked for: most have fewer."""
LOOK_BACK_DAYS = 90
"""Days on which the player played that a trend is told from: twice what a verdict needs. A straight line
through years would call a player rising whose last half year was flat."""


class Begun(NamedTuple):
    """What a session began with on a drill: its ladder's history, and the step of a drill with steps."""

    history: tuple[PastResult, ...] = ()
    first_step: int = 0


NEW = Begun()
ByDrill = Mapping[str, Begun]
"""What a session began with, by the drill's key."""


class Beginnings:
    """What the sessions of a log began with, and what run-throughs told, each read once. For as
    long as the log is open. runs: where they have been told already."""

    def __init__(self, log: Log, player: str, runs: Runs | None = None) -> None:
        self._log = log
        self.runs = told_by_runs(log, player) if runs is None else runs
        self._found: dict[str, ByDrill | None] = {}

    def read(self, session_ids: Iterable[str]) -> None:
        """Read those not read yet, all at once."""
        new = {id for id in session_ids if id not in self._found}
        if new:
            there = self._log.settings_of(new)
            self._found |= {id: _begun(there.get(id)) for id in new}

    def of(self, session_id: str, key: str) -> Begun | None:
        """What a session began with on a drill; None for takes that no stage of this program put there."""
        self.read((session_id,))
        found = self._found[session_id]
        return None if found is None else found.get(key, NEW)


def _begun(settings: Any) -> ByDrill | None:
    try:
        drills, histories = settings["drills"], settings["histories"]
        steps = (int(step) for step in settings.get("first_steps", ()))
        found: dict[str, Begun] = {}
        for words, history, step in zip_longest(drills, histories[: len(drills)], steps):
            begun = Begun(tuple(PastResult(**past) for past in history or ()), step or 0)
            found.setdefault(_key(words), begun)
    except (AttributeError, KeyError, TypeError, ValueError, InputError):
        return None
    return {key: begun for key, begun in found.items() if all(past.can_be for past in begun.history)}


@lru_cache(maxsize=1024)
def _key(words: str) -> str:
    return parse_drill(words).key


@dataclass(frozen=True, slots=True)
class DrillRecord:
    """What was played of one drill, oldest first.

    dated: every take that was not taken back, void ones too. sessions: the takes that stand. before: the
    sessions before these on which the first of them rests.
    """

    drill: Drill
    dated: tuple[DatedTake, ...] = ()
    sessions: tuple[SessionTakes, ...] = ()
    before: tuple[SessionTakes, ...] = ()

    def since(self, when: datetime) -> DrillRecord:
        """The sessions with a take after that, whole."""
        kept = tuple(one for one in self.sessions if one.last > when)
        earlier = self.sessions[: len(self.sessions) - len(kept)]
        dated = tuple(pair for pair in self.dated if pair[0] > when)
        before = last_needed((*self.before, *earlier, *kept[:1]))[:-1] if kept else ()
        return replace(self, dated=dated, sessions=kept, before=tuple(before))


def record_of(
    drill: Drill,
    newest_first: Sequence[Answer],
    beginnings: Beginnings,
    runs: Iterable[SessionTakes] = (),
) -> DrillRecord:
    """A drill's answers by session, with the run-throughs that told of it; the drill as it was named last."""
    if not newest_first:
        return DrillRecord(drill, sessions=in_turn((), runs))
    drill = in_order(drill, newest_first[0].chords)
    answers = newest_first[::-1]
    dated = tuple((parse_utc(one.started_utc), take_of(one, drill)) for one in answers)
    by_session: dict[str, list[DatedTake]] = {}
    for answer, pair in zip(answers, dated, strict=True):
        if answer.outcome != "void":
            by_session.setdefault(answer.session_id, []).append(pair)
    beginnings.read(by_session)
    sessions: list[SessionTakes] = []
    for id, takes in by_session.items():
        begun = beginnings.of(id, drill.key)
        if begun is None:
            sessions += in_sittings(takes)
        else:
            sessions.append(SessionTakes(tuple(takes), begun.history, first_step=begun.first_step))
    return DrillRecord(drill, dated, in_turn(sessions, runs))


def last_sessions(
    log: Log, player: str, drill: Drill, key: str, beginnings: Beginnings, before: str = END_OF_TIME
) -> DrillRecord:
    """The last session that tells of a drill, and those before it that are needed: all that it rests on, and
    back to the last with takes that stand."""
    most = AT_FIRST
    before_that = parse_utc(before) if before != END_OF_TIME else None
    runs = [run for run in beginnings.runs.get(key, ()) if before_that is None or run.began < before_that]
    while True:
        answers = log.last_answers(player, key, most, before)
        whole = len(answers) < most
        oldest = None if whole else parse_utc(answers[-1].started_utc)
        lately = [run for run in runs if oldest is None or run.began > oldest]
        one = record_of(drill, answers, beginnings, lately)
        with_takes = (number for number, old in enumerate(reversed(one.sessions), start=1) if old.dated)
        needed = max(len(last_needed(one.sessions)), next(with_takes, 0))
        # Of more sessions than needed only the oldest may be cut off.
        if whole or len(one.sessions) > needed:
            return replace(one, sessions=one.sessions[-needed:])
        most *= 4


def since_of(log: Log, player: str, days: int | None = LOOK_BACK_DAYS, key: str | None = None) -> str:
    """The time after which the last so many days lie on which a player played (a drill); "" for all time."""
    return "" if days is None else log.before_the_last_days(player, days, key) or ""


def records_since(
    log: Log, player: str, since: str, beginnings: Beginnings, key: str | None = None
) -> tuple[dict[str, DrillRecord], tuple[str, ...]]:
    """By key, what was played after a time (of one drill), the drill practised last first; and the keys that
    cannot be read. A session that was going on then is there whole."""
    by_key: dict[str, list[Answer]] = {}
    for answer in log.answers_since(player, _well_before(since), key):
        by_key.setdefault(answer.drill, []).append(answer)
    drills, unread = readable(name for name, answers in by_key.items() if answers[0].started_utc > since)
    records = {}
    for drill, name in drills.items():
        one = record_of(drill, by_key[name], beginnings, beginnings.runs.get(name, ()))
        one = one.since(parse_utc(since)) if since else one
        first = next(iter(one.sessions), None)
        if since and first is not None and first.rests_on_another:
            earlier = last_sessions(log, player, drill, name, beginnings, utc_text(first.began)).sessions
            one = replace(one, before=tuple(last_needed((*earlier, first))[:-1]))
        records[name] = one
    return records, unread


def _well_before(since: str) -> str:
    return utc_text(parse_utc(since) - LONGEST_SESSION) if since else ""


def lately(log: Log, player: str, key: str, beginnings: Beginnings, since: str) -> tuple[SessionTakes, ...]:
    """The sessions that the verdict on a drill is told from: those since then (`since_of` the player), or
    where there are none, those of the drill's own last days."""
    found, _ = records_since(log, player, since, beginnings, key)
    if key not in found or not found[key].sessions:
        own = since_of(log, player, key=key)
        found, _ = records_since(log, player, own, beginnings, key)
    return found[key].sessions if key in found else ()
