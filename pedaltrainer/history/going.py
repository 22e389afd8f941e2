"""How a player's drills go, for home: the last days of each, and the week."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import look_back
from pedaltrainer.history.played import played_by_day
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.ladders.rungs import ToldTempo
from pedaltrainer.practice.progress import Progress, progress_of, trend_line
from pedaltrainer.practice.trend import Trend, Verdict
from pedaltrainer.showing.home.how_it_goes import Going, LastWeek

WEEK_DAYS = 7
NOTHING_TOLD = ToldTempo(None, None, None)


def goings(desk: Desk, say: Callable[[Trend], str]) -> tuple[Going, ...]:
    """Every drill of the last days, the one practised last first. say: the verdict in words.

    Raises InputError when there is no log or it cannot be read.
    """
    looked = look_back(desk, _all)
    targets = desk.targets_bpm
    return tuple(
        _going(progress_of(one.drill, one.sessions, before=one.before), targets.get(one.drill.key), say)
        for one in looked.records
        if one.sessions
    )


def week_of(desk: Desk, now: datetime) -> LastWeek:
    """What the last seven days came to, today counted."""
    first = now.date() - timedelta(days=WEEK_DAYS - 1)
    with desk.log() as log:
        days = [played for day, played in played_by_day(log, desk.player, now.tzinfo).items() if day >= first]
    return LastWeek(sum(one.minutes for one in days), sum(one.takes for one in days))


def _all(there: Mapping[Drill, str]) -> Mapping[Drill, str]:
    return there


def _going(one: Progress, target_bpm: float | None, say: Callable[[Trend], str]) -> Going:
    return Going(
        one.drill,
        one.days[-1].told if one.days else NOTHING_TOLD,
        one.trend.verdict is Verdict.RISING,
        say(one.trend),
        one.days,
        trend_line(one),
        target_bpm,
    )
