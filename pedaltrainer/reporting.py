"""What the log tells for a report, read no further back than that needs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import TypeVar

from pedaltrainer import known, progress
from pedaltrainer.advice import report_told as told
from pedaltrainer.advice.songs import fastest_words, ready_count
from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.evidence import (
    MOST_TAKES,
    DatedTake,
    Evidence,
    Known,
    evidence_of,
    minutes_of,
    shape_drill,
)
from pedaltrainer.practice.limits import Ratio, limit_of, ratio_of
from pedaltrainer.practice.readiness import READY_CHANCE, chance_of, needs_of, song_standing, standings_of
from pedaltrainer.practice.take import Outcome
from pedaltrainer.practice.trend import trend_of
from pedaltrainer.records import opening, trouble
from pedaltrainer.records.log import Log
from pedaltrainer.records.packs import Pack, PackDrill
from pedaltrainer.records.rows import Answer, parse_utc, utc_text
from pedaltrainer.songs.song import Song

T = TypeVar("T")
Waiting = Callable[[Sequence[T], str], Iterable[T]]
"""Gives the items in turn and says on the way how far it is."""
LAST_WEEK_DAYS = 7
LAST_DAY_WITHIN = timedelta(hours=36)
"""All takes of a drill's last day are within this of the last one, also where it ran past midnight."""
EARLIEST = datetime(1, 1, 3, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Source:
    """A log and the songs kept beside it. name: what to call it among others."""

    name: str
    path: Path
    songs: tuple[Song, ...] = ()
    packs: tuple[Pack, ...] = ()

    @property
    def set_drills(self) -> tuple[PackDrill, ...]:
        """The drills of the packs."""
        return tuple(drill for pack in self.packs for drill in pack.drills)

    @property
    def targets_bpm(self) -> dict[str, float]:
        """What is asked of drills, by their keys; a pack's word goes before a song's."""
        songs = {need.drill.key: need.tempo_bpm for need in needs_of(self.songs)}
        return songs | {
            one.drill.key: one.target_bpm for one in self.set_drills if one.target_bpm is not None
        }


def open_log(path: Path) -> Log:
    """A log to be read: the one in a folder, or a file under any name. Raises InputError."""
    if not path.is_file():
        return Log.open(path, read_only=True)
    opening.refuse_a_foreign_header(path)
    with trouble.said_in_words(path):
        return Log(path, opening.open_to_read(path, opening.BUSY_TIMEOUT_S))


def at_once(items: Sequence[T], doing: str) -> Iterable[T]:
    """Waits without a word."""
    return items


def players_in(source: Source) -> list[str]:
    """Everybody who has a session in a log."""
    with open_log(source.path) as log:
        return log.players()


# --- one player -------------------------------------------------------------------------


def tell(
    source: Source, player: str, now: datetime, days: int, waiting: Waiting[Drill], zone: tzinfo | None = None
) -> told.Told:
    """All of a player's report but its cautions. `now` carries its time zone; zone None: this machine's.

    Raises InputError for a log that cannot be read or a player it does not know.
    """
    span, needs = told.span_of(now, days, zone), needs_of(source.songs)
    with open_log(source.path) as log:
        player = _shown(log, player)
        dated, unread = _dated(log.answers_since(player, utc_text(span.start)))
        played = log.minutes_by_day(player, zone)
        takes = dict(_takes_for_evidence(log, player, dated)) if needs or dated else {}
    found = tuple(_progress(dated, source.targets_bpm, zone, waiting))
    changes = [need.drill for need in needs]
    ends = told.ends_of_weeks(span, now) if needs else ((span.last, now),)
    weeks = [(day, then, ratio_of(changes, then)) for day, then in _weeks(takes, ends, waiting)]
    _, now_known, ratio = weeks[-1]
    asked = {drill.key for drill in changes}
    others = [one.drill for one in found if one.drill.kind is Kind.CHANGE and one.drill.key not in asked]
    return told.Told(
        player,
        span,
        found,
        played,
        told.rests_of((pair for takes in dated.values() for pair in takes), zone),
        tuple(_song_weeks(song, weeks) for song in source.songs),
        standings_of(needs, now_known, ratio) if needs else (),
        tuple((drill, limit_of(drill, now_known, ratio)) for drill in others),
        unread=known.unread_words(unread),
    )


def _shown(log: Log, player: str) -> str:
    """The name that a player goes by now. Raises InputError for one who is not in the log."""
    sessions = log.sessions(player, limit=1)
    if not sessions:
        there = ", ".join(log.players()) or "nobody yet"
        raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
    return sessions[0].player


def _dated(newest_first: Iterable[Answer]) -> tuple[dict[Drill, list[DatedTake]], tuple[str, ...]]:
    """Takes by drill, the drill practised last first, and the names of drills that cannot be read."""
    by_key: dict[str, list[Answer]] = {}
    for answer in newest_first:
        by_key.setdefault(answer.drill, []).append(answer)
    dated, unread = {}, []
    for key, answers in by_key.items():
        try:
            drill = known.drill_of(answers[0])
        except InputError:
            unread.append(key)
            continue
        dated[drill] = [(parse_utc(one.started_utc), known.take_of(one, drill)) for one in answers]
    return dated, tuple(unread)


def _progress(
    dated: Mapping[Drill, Sequence[DatedTake]],
    targets_bpm: Mapping[str, float],
    zone: tzinfo | None,
    waiting: Waiting[Drill],
) -> Iterator[progress.Progress]:
    for drill in waiting(tuple(dated), "Working out drills"):
        one = progress.progress_of(drill, dated[drill], targets_bpm.get(drill.key), zone)
        if one.days:
            yield one


def _takes_for_evidence(
    log: Log, player: str, in_span: Mapping[Drill, Sequence[DatedTake]]
) -> Iterator[tuple[Drill, tuple[list[DatedTake], float]]]:
    """By drill: the takes of the span and those before it that a belief at its beginning rests on, and the
    player's reaction in seconds. A drill whose name cannot be read is passed over."""
    counts = {drill.key: len(takes) for drill, takes in in_span.items()}
    for key in log.drills(player):
        answers = log.last_answers(player, key, MOST_TAKES + counts.get(key, 0))
        dated, _ = _dated(answers)
        for drill, takes in dated.items():
            yield drill, (takes, answers[0].reaction_ms / 1000)


def _weeks(
    takes: Mapping[Drill, tuple[Sequence[DatedTake], float]],
    ends: Sequence[tuple[date, datetime]],
    waiting: Waiting[Drill],
) -> Iterator[tuple[date, dict[str, Evidence]]]:
    """What was known at the end of each week, by drill."""
    found: dict[datetime, dict[str, Evidence]] = {moment: {} for _, moment in ends}
    for drill in waiting(tuple(takes), "Looking back"):
        dated, reaction_s = takes[drill]
        for _, moment in ends:
            before = [pair for pair in dated if pair[0] < moment][:MOST_TAKES]
            if before:
                found[moment][drill.key] = evidence_of(drill, before, moment, reaction_s=reaction_s)
    return ((day, found[moment]) for day, moment in ends)


def _song_weeks(song: Song, weeks: Iterable[tuple[date, Known, Ratio]]) -> told.SongWeeks:
    return told.SongWeeks(song, tuple((day, song_standing(song, then, ratio)) for day, then, ratio in weeks))


# --- all players ------------------------------------------------------------------------


def pupils(
    sources: Sequence[Source],
    now: datetime,
    days: int,
    waiting: Waiting[tuple[Source, str]],
    zone: tzinfo | None = None,
) -> list[told.Pupil]:
    """Everybody in these logs. Raises InputError for a log that cannot be read."""
    everybody = [(source, player) for source in sources for player in players_in(source)]
    return [_pupil(source, player, now, days, zone) for source, player in waiting(everybody, "Pupils")]


def _pupil(source: Source, player: str, now: datetime, days: int, zone: tzinfo | None) -> told.Pupil:
    span = told.span_of(now, days, zone)
    changes = [need.drill for need in needs_of(source.songs)]
    with open_log(source.path) as log:
        dated, _ = _dated(log.answers_since(player, utc_text(span.start)))
        last = log.takes(player=player, limit=1)
        takes = dict(_takes_asked(log, player, (*changes, *(one.drill for one in source.set_drills))))
    found = tuple(_lately(drill, takes, zone) for drill, takes in dated.items())
    now_known = dict(_weeks(takes, ((span.last, now),), at_once))[span.last]
    ratio = ratio_of(changes, now_known)
    return told.Pupil(
        player,
        source.name,
        span.last,
        found,
        _minutes_since(dated, now - timedelta(days=LAST_WEEK_DAYS)),
        parse_utc(last[0].started_utc).astimezone(zone).date() if last else None,
        (*_songs_asked(source.songs, now_known, ratio), *_packs_asked(source.packs, now_known)),
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
            words = f"{ready_count(standing)} {fastest_words(standing)}"
            ready = sum(one.is_ready for one in standing.standings)
            yield told.Asked(song.title, ready, len(standing.standings), words, song.by)


def _packs_asked(packs: Iterable[Pack], now_known: Known) -> Iterator[told.Asked]:
    for pack in packs:
        wanted = [one for one in pack.drills if one.target_bpm is not None]
        to_go = [one for one in wanted if not _is_reached(one, now_known)]
        named = ", ".join(f"{one.drill.title} at {one.target_bpm:g} BPM" for one in to_go)
        words = f"Not reached yet: {named}." if to_go else "All reached."
        if wanted:
            yield told.Asked(pack.title, len(wanted) - len(to_go), len(wanted), words)


def _is_reached(one: PackDrill, now_known: Known) -> bool:
    own = now_known.get(one.drill.key)
    return own is not None and chance_of(own.belief, one.target_bpm or 0.0) >= READY_CHANCE


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
