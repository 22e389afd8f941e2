"""What the log tells for a report, read no further back than that needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, tzinfo

from pedaltrainer.errors import InputError
from pedaltrainer.history import told
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.named import drill_of, take_of
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.evidence import MOST_TAKES, Evidence, Known, evidence_of
from pedaltrainer.practice.coach.limits import Ratio, limit_of, ratio_of
from pedaltrainer.practice.coach.readiness import (
    needs_of,
    song_standing,
    standings_of,
)
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.take import DatedTake
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Answer, parse_utc, utc_text
from pedaltrainer.songs.song import Song
from pedaltrainer.system.patience import Waiting, in_silence


def tell(
    desk: Desk, now: datetime, days: int, waiting: Waiting = in_silence, zone: tzinfo | None = None
) -> told.Told:
    """All that a player's report is made from. `now` carries its time zone; zone None: this machine's.

    Raises InputError for a log that cannot be read or a player it does not know.
    """
    span, needs = told.span_of(now, days, zone), needs_of(desk.songs)
    with desk.log() as log:
        player = _shown(log, desk.player)
        dated, unread = _dated(log.answers_since(player, utc_text(span.start)))
        played = log.minutes_by_day(player, zone)
        takes = dict(_takes_for_evidence(log, player, dated)) if needs or dated else {}
    found = tuple(_progress(dated, desk.targets_bpm, zone, waiting))
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
        tuple(_song_weeks(song, weeks) for song in desk.songs),
        standings_of(needs, now_known, ratio) if needs else (),
        tuple((drill, limit_of(drill, now_known, ratio)) for drill in others),
        unread=unread,
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
            drill = drill_of(answers[0])
        except InputError:
            unread.append(key)
            continue
        dated[drill] = [(parse_utc(one.started_utc), take_of(one, drill)) for one in answers]
    return dated, tuple(unread)


def _progress(
    dated: Mapping[Drill, Sequence[DatedTake]],
    targets_bpm: Mapping[str, float],
    zone: tzinfo | None,
    waiting: Waiting,
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
    waiting: Waiting,
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
