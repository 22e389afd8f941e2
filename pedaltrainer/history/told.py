"""What a report is made from: a player's takes in a span of days, worked out and not yet in words. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

from pedaltrainer.history.played import Played
from pedaltrainer.packs.pack import PackDrill
from pedaltrainer.practice.agreement import TwoJudges
from pedaltrainer.practice.coach.limits import Limit
from pedaltrainer.practice.coach.readiness import SongStanding, Standing
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.progress import Progress
from pedaltrainer.practice.take import DatedTake, minutes_of
from pedaltrainer.practice.trend import SITTING_GAP_H
from pedaltrainer.songs.song import Song

REST_MINUTES = 2.0
"""A pause between two takes that is a rest: as long as the stage's own."""
MOST_WEEKS = 14
"""Readiness is told at the end of so many weeks at most, the last one today."""


@dataclass(frozen=True, slots=True)
class Span:
    """The days a report is about, both ends counted, where a day is a day in `zone`."""

    first: date
    last: date
    zone: tzinfo | None = None

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @property
    def start(self) -> datetime:
        return midnight(self.first, self.zone)


def midnight(day: date, zone: tzinfo | None) -> datetime:
    """The beginning of a day; zone None: this machine's."""
    return datetime.combine(day, time(), zone) if zone else datetime.combine(day, time()).astimezone()


def span_of(now: datetime, days: int, zone: tzinfo | None = None) -> Span:
    """The last so many days, today counted. `now` carries its time zone."""
    today = now.astimezone(zone).date()
    return Span(today - timedelta(days=days - 1), today, zone)


def ends_of_weeks(span: Span, now: datetime) -> tuple[tuple[date, datetime], ...]:
    """Sundays of the span, evenly thinned to MOST_WEEKS, and today: each with the moment it has passed."""
    sundays = [span.first + timedelta(days=number) for number in range(span.days - 1)]
    sundays = [day for day in sundays if day.weekday() == 6]
    step = max(1, -(-len(sundays) // (MOST_WEEKS - 1)))
    kept = sundays[::-1][::step][::-1]
    ends = [(day, midnight(day + timedelta(days=1), span.zone)) for day in kept]
    return (*ends, (span.last, now))


@dataclass(frozen=True, slots=True)
class Rests:
    """Pauses of REST_MINUTES or more within sittings, and the longest stretch played without one."""

    count: int = 0
    longest_minutes: float = 0.0
    longest_on: date | None = None


def rests_of(dated: Iterable[DatedTake], zone: tzinfo | None = None) -> Rests:
    """The rests between takes. How long a take lasted follows from its tempo and how far it went."""
    count, longest_minutes, longest_on = 0, 0.0, None
    began = ended = None
    for when, take in sorted(dated, key=lambda pair: pair[0]):
        paused = timedelta.max if ended is None else when - ended
        if paused >= timedelta(minutes=REST_MINUTES):
            count += paused <= timedelta(hours=SITTING_GAP_H)
            began = when
        end = when + timedelta(minutes=minutes_of(take))
        ended = end if ended is None else max(ended, end)
        stretch = (ended - (began or when)).total_seconds() / 60
        if stretch > longest_minutes:
            longest_minutes, longest_on = stretch, (began or when).astimezone(zone).date()
    return Rests(count, longest_minutes, longest_on)


@dataclass(frozen=True, slots=True)
class SongWeeks:
    """A song, and how ready it was at the end of some weeks; the last one is now."""

    song: Song
    weeks: tuple[tuple[date, SongStanding], ...]


@dataclass(frozen=True, slots=True)
class NoteTold:
    """What was noted of a take: when it began, and what was played."""

    at: datetime
    drill: Drill
    tempo_bpm: int
    note: str


@dataclass(frozen=True, slots=True)
class Told:
    """All that one player's report says.

    played: of every day there ever was. unread: the names of drills that were passed over.
    """

    player: str
    span: Span
    found: tuple[Progress, ...]
    played: Mapping[date, Played]
    rests: Rests
    songs: tuple[SongWeeks, ...] = ()
    standings: tuple[Standing, ...] = ()
    limits: tuple[tuple[Drill, Limit], ...] = ()
    unread: tuple[str, ...] = ()
    notes: tuple[NoteTold, ...] = ()
    two_judges: tuple[tuple[Drill, TwoJudges], ...] = ()
    """Foot and ear, of the drills that both have judged in these days."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Something that was set, a song or a pack, and how many of its tempos are reached.

    standing: of a song. to_go: the drills of a pack that are not there yet.
    """

    title: str
    reached: int
    of: int
    by: date | None = None
    standing: SongStanding | None = None
    to_go: tuple[PackDrill, ...] = ()


@dataclass(frozen=True, slots=True)
class Pupil:
    """One row of the teacher's page. log: its name. asked: what was set."""

    name: str
    log: str | None
    today: date
    found: tuple[Progress, ...]
    minutes_last_week: float
    last_played: date | None
    asked: tuple[Asked, ...] = ()
