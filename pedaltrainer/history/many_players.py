"""What the logs of many players tell a teacher, read no further back than that needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, tzinfo

from pedaltrainer.history import told
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.one_player import Reading
from pedaltrainer.history.played import played_by_day
from pedaltrainer.history.record import DrillRecord
from pedaltrainer.packs.pack import Pack
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.evidence import Evidence, Known, SessionTakes, evidence_of, shape_drill
from pedaltrainer.practice.coach.limits import Ratio, ratio_of
from pedaltrainer.practice.coach.plan import Task, is_ready
from pedaltrainer.practice.coach.readiness import needs_of, song_standing
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.songs.song import Song
from pedaltrainer.system.patience import Waiting, in_silence

LAST_WEEK_DAYS = 7

LAST_DAY_WITHIN = timedelta(hours=36)
"""All takes of a drill's last day are within this of the last one, also where it ran past midnight."""


def pupils(
    desks: Sequence[Desk],
    now: datetime,
    days: int,
    waiting: Waiting = in_silence,
    zone: tzinfo | None = None,
) -> list[told.Pupil]:
    """Everybody in the logs of these desks. Raises InputError for a log that cannot be read."""
    everybody = [desk.of(player) for desk in desks for player in _players_in(desk)]
    return [_pupil(desk, now, days, zone) for desk in waiting(everybody, "Pupils")]


def _players_in(desk: Desk) -> list[str]:
    with desk.log() as log:
        return log.players()


def _pupil(desk: Desk, now: datetime, days: int, zone: tzinfo | None) -> told.Pupil:
    span = told.span_of(now, days, zone)
    changes = [need.drill for need in needs_of(desk.songs)]
    with desk.log() as log:
        reading = Reading(log, desk.player, span.start)
        played = played_by_day(log, desk.player, zone)
        asked = dict(_asked(reading, (*changes, *(one.drill for one in desk.set_drills)), now))
        found = tuple(
            _last_day(one, reading.lately(key), zone) for key, one in reading.records.items() if one.sessions
        )
    ratio = ratio_of(changes, asked)
    week = date_range(span.last, LAST_WEEK_DAYS)
    return told.Pupil(
        desk.player,
        desk.log_place.name,
        span.last,
        found,
        sum(one.minutes for day, one in played.items() if day in week),
        max(played, default=None),
        (*_songs_asked(desk.songs, asked, ratio), *_packs_asked(desk.packs, asked)),
    )


def date_range(last: date, days: int) -> frozenset[date]:
    """The last so many days."""
    return frozenset(last - timedelta(days=number) for number in range(days))


def _last_day(one: DrillRecord, lately: Sequence[SessionTakes], zone: tzinfo | None) -> progress.Progress:
    """A drill's trend and its last day alone: a teacher's page has no room for more, and each day costs."""
    since = one.sessions[-1].last - LAST_DAY_WITHIN
    last = one.since(since)
    found = progress.progress_of(one.drill, last.sessions, zone=zone, before=last.before, lately=lately)
    return replace(found, days=found.days[-1:])


def _songs_asked(songs: Iterable[Song], now_known: Known, ratio: Ratio) -> Iterator[told.Asked]:
    for song in songs:
        standing = song_standing(song, now_known, ratio)
        if standing.standings:
            ready = sum(one.is_ready for one in standing.standings)
            yield told.Asked(song.title, ready, len(standing.standings), song.by, standing)


def _packs_asked(packs: Iterable[Pack], now_known: Known) -> Iterator[told.Asked]:
    for pack in packs:
        wanted = [one for one in pack.drills if one.target_bpm is not None]
        to_go = tuple(
            one for one in wanted if not is_ready(Task(one.drill, one.target_bpm, (pack.title,)), now_known)
        )
        if wanted:
            yield told.Asked(pack.title, len(wanted) - len(to_go), len(wanted), to_go=to_go)


def _asked(reading: Reading, drills: Sequence[Drill], now: datetime) -> Iterator[tuple[str, Evidence]]:
    """What is known of what is set, and of the shapes of its changes, by key."""
    changes = (drill for drill in drills if drill.kind is Kind.CHANGE)
    shapes = [shape_drill(change, chord) for change in changes for chord in change.chords]
    for drill in {drill.key: drill for drill in (*drills, *shapes)}.values():
        one = reading.last(drill, drill.key)
        if one.sessions:
            yield drill.key, evidence_of(one.drill, one.sessions, now)
