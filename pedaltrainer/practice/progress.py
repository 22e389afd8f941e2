"""Is practice working? From a player's takes to dated clean tempos, a verdict and what to do. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, tzinfo
from types import MappingProxyType
from typing import NamedTuple, TypeVar

import numpy as np

from pedaltrainer.errors import InputError
from pedaltrainer.practice.clean_tempo import READY_CHANCE, chance_at_least
from pedaltrainer.practice.coach.evidence import FoundTempo, SessionTakes, found_in
from pedaltrainer.practice.drill import Drill, Own, parse_drill
from pedaltrainer.practice.ladders.rungs import ToldTempo, told_of
from pedaltrainer.practice.steps import step_after, step_words
from pedaltrainer.practice.take import minutes_of
from pedaltrainer.practice.trend import NINE_IN_TEN, SITTING_GAP_H, Outlook, Reach, Trend, trend_of

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Day:
    """A day's clean tempo with its 90 % interval, as its last session left it.

    date is local. bpm, low_bpm, high_bpm: as `rungs.ToldTempo` has them. takes: those that stand.
    """

    date: date
    began: datetime
    takes: int
    bpm: float | None
    low_bpm: float | None
    high_bpm: float | None
    minutes: float = 0.0
    step: str = ""
    """Where a drill with steps came to, in words."""
    silent: Mapping[str, int] = field(default_factory=dict)
    """The strings that did not ring, and in how many takes, where a drill is played string by string."""

    @property
    def told(self) -> ToldTempo:
        return ToldTempo(self.bpm, self.low_bpm, self.high_bpm)


@dataclass(frozen=True, slots=True)
class Progress:
    """A drill's days, oldest first, the trend through its takes, and when a target would be reached."""

    drill: Drill
    days: tuple[Day, ...]
    trend: Trend
    target_bpm: float | None = None
    reach: Reach | None = None
    found: FoundTempo | None = None
    """What the last session has found; None without one, and where nothing is measured."""


class LinePoint(NamedTuple):
    """The trend's line at a moment, with the ends of its 90 % band, in BPM."""

    when: datetime
    bpm: float
    low_bpm: float
    high_bpm: float


def chosen(
    by_drill: Mapping[Drill, T],
    words: str | None = None,
    beats_per_chord: int | None = None,
    own: Own = MappingProxyType({}),
) -> dict[Drill, T]:
    """The drills a player asked for by their words, or by the drill's name in the log; None asks for all.

    "Am E" is the change from either side, at every number of beats on a chord unless one is given.
    Raises InputError, naming the drills there are, when there is no such drill, or for no chord.
    """

    # A word that is no chord is said as that, also where the log is empty.
    is_key = words is None or any(words == drill.key for drill in by_drill)
    named = None if words is None or is_key else parse_drill(words, own=own)

    def meant(drill: Drill) -> bool:
        if beats_per_chord is not None and drill.beats_per_chord != beats_per_chord:
            return False
        if words is None or words == drill.key:
            return True
        return named is not None and replace(named, beats_per_chord=drill.beats_per_chord).key == drill.key

    found = {drill: what for drill, what in by_drill.items() if meant(drill)}
    if not found and (words is not None or by_drill):
        asked = f"“{words}”" if words is not None else "any drill"
        beats = f" at {beats_per_chord} beats" if beats_per_chord is not None else ""
        there = ", ".join(f"“{key}”" for key in sorted(drill.key for drill in by_drill)) or "none yet"
        raise InputError(f"The log has no takes of {asked}{beats}; its drills are {there}.")
    return found


def progress_of(
    drill: Drill,
    sessions: Sequence[SessionTakes],
    target_bpm: float | None = None,
    zone: tzinfo | None = None,
    *,
    before: Sequence[SessionTakes] = (),
    lately: Sequence[SessionTakes] | None = None,
) -> Progress:
    """What the sessions of one drill say, oldest first; times carry their time zone.

    zone: where a day is a day (None: this machine's). before: as in `found_in`. lately: the sessions that
    the trend is told from, where these are not the same. Raises ValueError unless target_bpm > 0.
    """
    if drill.row.measures_nothing:
        return Progress(drill, days_of(drill, sessions, zone), trend_of(()))
    found = tuple(found_in(sessions, before))
    trend, reach = trend_in(sessions if lately is None else lately), None
    if target_bpm is not None:
        reach = trend.when_reached(target_bpm)
        if found:
            reach = _reached(reach, found[-1], target_bpm)
    days = _measured_days(sessions, found, zone)
    return Progress(drill, days, trend, target_bpm, reach, found[-1] if found else None)


def days_of(
    drill: Drill,
    sessions: Sequence[SessionTakes],
    zone: tzinfo | None = None,
    before: Sequence[SessionTakes] = (),
) -> tuple[Day, ...]:
    """The days of one drill, oldest first, each as its last session left it. before: as in `found_in`."""
    if drill.row.measures_nothing:
        return tuple(_slow_day(drill, day, played) for day, played in _by_date(sessions, zone).items())
    return _measured_days(sessions, found_in(sessions, before), zone)


def _measured_days(
    sessions: Sequence[SessionTakes], found: Iterable[FoundTempo], zone: tzinfo | None
) -> tuple[Day, ...]:
    each = iter(found)
    return tuple(
        _day(day, played, [next(each) for _ in played][-1])
        for day, played in _by_date(sessions, zone).items()
    )


def trend_in(sessions: Iterable[SessionTakes]) -> Trend:
    """The trend of a drill's sessions."""
    return trend_of(pair for one in sessions for pair in one.dated)


def _reached(reach: Reach, found: FoundTempo, target_bpm: float) -> Reach:
    """Reached is what is called ready: the line through the days alone does not say so."""
    if chance_at_least(found.belief, target_bpm) >= READY_CHANCE:
        return Reach(Outlook.REACHED)
    return Reach(Outlook.NEARLY) if reach.outlook is Outlook.REACHED else reach


def _by_date(sessions: Iterable[SessionTakes], zone: tzinfo | None) -> dict[date, list[SessionTakes]]:
    """Sessions by the local date they began on: playing on past midnight belongs to the evening."""
    by_date: dict[date, list[SessionTakes]] = {}
    before: datetime | None = None
    for one in sessions:
        if before is None or one.began - before > timedelta(hours=SITTING_GAP_H):
            day = one.began.astimezone(zone).date()
        by_date.setdefault(day, []).append(one)
        before = one.last
    return by_date


def _played(day: date, sessions: Sequence[SessionTakes]) -> Day:
    takes = [take for one in sessions for _, take in one.dated]
    return Day(day, sessions[0].began, len(takes), None, None, None, sum(map(minutes_of, takes)))


def _slow_day(drill: Drill, day: date, sessions: Sequence[SessionTakes]) -> Day:
    last = sessions[-1]
    step = step_after((take for _, take in last.dated), drill.row, last.first_step)
    return replace(_played(day, sessions), step=step_words(drill.row, step))


def _day(day: date, sessions: Sequence[SessionTakes], found: FoundTempo) -> Day:
    """A day, with what its last session has found."""
    bpm, low_bpm, high_bpm = told_of(found.estimate, found.finding)
    return replace(_played(day, sessions), bpm=bpm, low_bpm=low_bpm, high_bpm=high_bpm)


def trend_line(one: Progress, steps: int = 60) -> tuple[LinePoint, ...]:
    """The line through the days with its 90 % band, from the first day to the last; () before the third."""
    last = one.trend.last
    if last is None or one.trend.line is None:
        return ()
    first = one.days[0].began
    points: list[LinePoint] = []
    for before_last in np.linspace((first - last) / timedelta(days=1), 0.0, steps):
        middle, sd = one.trend.at(float(before_last))
        ends = (math.exp(middle + off * sd) for off in (0.0, -NINE_IN_TEN, NINE_IN_TEN))
        points.append(LinePoint(last + timedelta(days=float(before_last)), *ends))
    return tuple(points)


def the_only(found: Sequence[Progress]) -> Progress:
    """The one drill of which a picture is asked. Raises InputError when there are several or none."""
    if len(found) != 1:
        raise InputError(
            f'A picture shows one drill and here are {len(found)}; name it, such as "Am E" (and its --beats).'
        )
    return found[0]
