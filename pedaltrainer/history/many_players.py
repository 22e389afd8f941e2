"""What the logs of many players tell a teacher, read no further back than that needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, tzinfo

from pedaltrainer.history import told
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.one_player import _dated, _weeks
from pedaltrainer.packs.pack import Pack, PackDrill
from pedaltrainer.practice import progress
from pedaltrainer.practice.clean_tempo import READY_CHANCE, chance_at_least
from pedaltrainer.practice.coach.evidence import MOST_TAKES, Known, shape_drill
from pedaltrainer.practice.coach.limits import Ratio, ratio_of
from pedaltrainer.practice.coach.readiness import needs_of, song_standing
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.take import DatedTake, Outcome, minutes_of
from pedaltrainer.practice.trend import trend_of
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import parse_utc, utc_text
from pedaltrainer.songs.song import Song
from pedaltrainer.system.patience import Waiting, in_silence

LAST_WEEK_DAYS = 7

LAST_DAY_WITHIN = timedelta(hours=36)
"""All takes of a drill's last day are within this of the last one, also where it ran past midnight."""


EARLIEST = datetime(1, 1, 3, tzinfo=UTC)


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
    player = desk.player
    with desk.log() as log:
        dated, _ = _dated(log.answers_since(player, utc_text(span.start)))
        last = log.takes(player=player, limit=1)
        takes = dict(_takes_asked(log, player, (*changes, *(one.drill for one in desk.set_drills))))
    found = tuple(_lately(drill, takes, zone) for drill, takes in dated.items())
    now_known = dict(_weeks(takes, ((span.last, now),), in_silence))[span.last]
    ratio = ratio_of(changes, now_known)
    return told.Pupil(
        player,
        desk.log_place.name,
        span.last,
        found,
        _minutes_since(dated, now - timedelta(days=LAST_WEEK_DAYS)),
        parse_utc(last[0].started_utc).astimezone(zone).date() if last else None,
        (*_songs_asked(desk.songs, now_known, ratio), *_packs_asked(desk.packs, now_known)),
    )


def _lately(drill: Drill, dated: Sequence[DatedTake], zone: tzinfo | None) -> progress.Progress:
    """A drill's trend and its last day alone: a teacher's page has no room for more, and each day costs."""
    counted = [pair for pair in dated if pair[1].outcome is not Outcome.VOID]
    since = max((when for when, _ in counted), default=EARLIEST) - LAST_DAY_WITHIN
    last = progress.progress_of(drill, (pair for pair in counted if pair[0] > since), zone=zone)
    trend = trend_of(counted if drill.kind not in progress.MEASURES_NOTHING else ())
    return replace(last, days=last.days[-1:], trend=trend)


def _songs_asked(songs: Iterable[Song], now_known: Known, ratio: Ratio) -> Iterator[told.Asked]:
    for song in songs:
        standing = song_standing(song, now_known, ratio)
        if standing.standings:
            ready = sum(one.is_ready for one in standing.standings)
            yield told.Asked(song.title, ready, len(standing.standings), song.by, standing)


def _packs_asked(packs: Iterable[Pack], now_known: Known) -> Iterator[told.Asked]:
    for pack in packs:
        wanted = [one for one in pack.drills if one.target_bpm is not None]
        to_go = tuple(one for one in wanted if not _is_reached(one, now_known))
        if wanted:
            yield told.Asked(pack.title, len(wanted) - len(to_go), len(wanted), to_go=to_go)


def _is_reached(one: PackDrill, now_known: Known) -> bool:
    own = now_known.get(one.drill.key)
    return own is not None and chance_at_least(own.belief, one.target_bpm or 0.0) >= READY_CHANCE


def _takes_asked(
    log: Log, player: str, drills: Sequence[Drill]
) -> Iterator[tuple[Drill, tuple[list[DatedTake], float]]]:
    """The last takes of what is set, and of the shapes of its changes."""
    changes = (drill for drill in drills if drill.kind is Kind.CHANGE)
    shapes = [shape_drill(change, chord) for change in changes for chord in change.chords]
    for key in dict.fromkeys(drill.key for drill in (*drills, *shapes)):
        answers = log.last_answers(player, key, MOST_TAKES)
        for drill, takes in _dated(answers)[0].items():
            yield drill, (takes, answers[0].reaction_ms / 1000)


def _minutes_since(dated: Mapping[Drill, Sequence[DatedTake]], since: datetime) -> float:
    takes = (take for pairs in dated.values() for when, take in pairs if when > since)
    return sum(minutes_of(take) for take in takes)
