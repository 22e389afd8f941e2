"""How much was played, by day: takes that stand, neither void nor taken back, and how long they were."""

from __future__ import annotations

from datetime import date, tzinfo
from functools import lru_cache
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import minutes_played
from pedaltrainer.records.log import Log


class Played(NamedTuple):
    """How much was played on one day."""

    takes: int = 0
    minutes: float = 0.0


def played_by_day(log: Log, player: str, zone: tzinfo | None = None) -> dict[date, Played]:
    """How much a player played on every day with a take that stands, oldest first.

    zone: where a day is a day (None: this machine's). A take belongs to the day it began on, and lasts as
    long as `practice.take.minutes_of` says.
    """
    days: dict[date, Played] = {}
    for quarter in log.played_by_quarter(player):
        day = quarter.at.astimezone(zone).date()
        before = days.get(day, Played())
        minutes = minutes_played(quarter.beats_min, quarter.landings_min * _beats_per_landing(quarter.drill))
        days[day] = Played(before.takes + quarter.takes, before.minutes + minutes)
    return dict(sorted(days.items()))


@lru_cache(maxsize=1024)
def _beats_per_landing(key: str) -> float:
    try:
        return parse_drill(key).beats_per_landing
    except InputError:
        return 1.0  # a drill that only a newer program knows
