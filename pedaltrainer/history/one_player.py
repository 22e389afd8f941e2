"""What the log tells for a report, read no further back than that needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, tzinfo

from pedaltrainer.errors import InputError
from pedaltrainer.history import told
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.named import readable
from pedaltrainer.history.played import played_by_day
from pedaltrainer.history.record import (
    Beginnings,
    DrillRecord,
    last_sessions,
    lately,
    record_of,
    records_since,
    since_of,
)
from pedaltrainer.history.silent import with_silent_strings
from pedaltrainer.history.twice_judged import two_judges
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.evidence import Evidence, Known, SessionTakes, evidence_of
from pedaltrainer.practice.coach.limits import Ratio, limit_of, ratio_of
from pedaltrainer.practice.coach.readiness import (
    needs_of,
    song_standing,
    standings_of,
)
from pedaltrainer.practice.drill import Drill, Kind, parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import parse_utc, utc_text
from pedaltrainer.records.told_by_log import END_OF_TIME
from pedaltrainer.session.events import Noted
from pedaltrainer.songs.song import Song
from pedaltrainer.system.patience import Waiting, in_silence
from pedaltrainer.system.plain import built


def tell(
    desk: Desk, now: datetime, days: int, waiting: Waiting = in_silence, zone: tzinfo | None = None
) -> told.Told:
    """All that a player's report is made from. `now` carries its time zone; zone None: this machine's.

    Raises InputError for a log that cannot be read or a player it does not know.
    """
    span, needs = told.span_of(now, days, zone), needs_of(desk.songs)
    with desk.log() as log:
        player = _shown(log, desk.player)
        reading = Reading(log, player, span.start)
        played = played_by_day(log, player, zone)
        takes = dict(_before_the_weeks(reading)) if needs or reading.records else {}
        lately = {key: reading.lately(key) for key in reading.records}
        notes = tuple(_notes(log, player, span))
    worked_out = list(_progress(reading.records, lately, desk.targets_bpm, zone, waiting))
    records = [record for record, _ in worked_out]
    found = with_silent_strings(desk, records, [one for _, one in worked_out])
    judges = two_judges(desk, records, zone)
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
        told.rests_of((pair for one in reading.records.values() for pair in one.dated), zone),
        tuple(_song_weeks(song, weeks) for song in desk.songs),
        standings_of(needs, now_known, ratio) if needs else (),
        tuple((drill, limit_of(drill, now_known, ratio)) for drill in others),
        unread=reading.unread,
        notes=notes,
        two_judges=tuple((one.drill, judges[one.drill.key]) for one in records if one.drill.key in judges),
    )


def _notes(log: Log, player: str, span: told.Span) -> Iterator[told.NoteTold]:
    """What was noted in the days of the span; a note that this program cannot read is passed over."""
    for found in log.inputs_since(player, Noted.__name__, utc_text(span.start)):
        try:
            noted: Noted = built(Noted, {name: value for name, value in found.items() if name != "event"})
            yield told.NoteTold(
                parse_utc(noted.take_utc), parse_drill(noted.drill), noted.tempo_bpm, noted.note
            )
        except (InputError, KeyError, TypeError, ValueError):
            continue


def _shown(log: Log, player: str) -> str:
    """The name that a player goes by now. Raises InputError for one who is not in the log."""
    sessions = log.sessions(player, limit=1)
    if not sessions:
        there = ", ".join(log.players()) or "nobody yet"
        raise InputError(f"The log has no takes of {player}; name a player with --player: {there}.")
    return sessions[0].player


class Reading:
    """What a player's log has of the days since a moment, by the drill's key. For as long as it is open."""

    def __init__(self, log: Log, player: str, start: datetime) -> None:
        self.log, self.player, self.beginnings = log, player, Beginnings(log, player)
        self.records, self.unread = records_since(log, player, utc_text(start), self.beginnings)
        self._trend_since = since_of(log, player)

    def lately(self, key: str) -> tuple[SessionTakes, ...]:
        """The sessions that the verdict on a drill is told from."""
        return lately(self.log, self.player, key, self.beginnings, self._trend_since)

    def last(self, drill: Drill, key: str, before: datetime | None = None) -> DrillRecord:
        """The last session with a drill, before a moment where one is given."""
        when = END_OF_TIME if before is None else utc_text(before)
        return last_sessions(self.log, self.player, drill, key, self.beginnings, when)


def _progress(
    records: Mapping[str, DrillRecord],
    lately: Mapping[str, Sequence[SessionTakes]],
    targets_bpm: Mapping[str, float],
    zone: tzinfo | None,
    waiting: Waiting,
) -> Iterator[tuple[DrillRecord, progress.Progress]]:
    for key in waiting(tuple(records), "Working out drills"):
        one = records[key]
        target_bpm = targets_bpm.get(one.drill.key)
        told = progress.progress_of(
            one.drill, one.sessions, target_bpm, zone, before=one.before, lately=lately[key]
        )
        if told.days:
            yield one, told


def _before_the_weeks(reading: Reading) -> Iterator[tuple[Drill, tuple[SessionTakes, ...]]]:
    """By drill: the sessions of the span, and those before it that a belief at its beginning rests on. A
    drill whose name cannot be read is passed over."""
    runs = reading.beginnings.runs
    there, _ = readable((*reading.log.drills(reading.player), *runs))
    for drill, key in there.items():
        one = reading.records.get(key, record_of(drill, (), reading.beginnings, runs.get(key, ())))
        first = next(iter(one.sessions), None)
        earlier = reading.last(drill, key, first.began if first else None).sessions
        sessions = (*earlier, *one.sessions)
        if sessions:
            yield one.drill, sessions


def _weeks(
    takes: Mapping[Drill, Sequence[SessionTakes]],
    ends: Sequence[tuple[date, datetime]],
    waiting: Waiting,
) -> Iterator[tuple[date, dict[str, Evidence]]]:
    """What was known at the end of each week, by drill."""
    found: dict[datetime, dict[str, Evidence]] = {moment: {} for _, moment in ends}
    for drill in waiting(tuple(takes), "Looking back"):
        for _, moment in ends:
            before = [one.until(moment) for one in takes[drill] if one.began < moment]
            if before:
                found[moment][drill.key] = evidence_of(drill, before, moment)
    return ((day, found[moment]) for day, moment in ends)


def _song_weeks(song: Song, weeks: Iterable[tuple[date, Known, Ratio]]) -> told.SongWeeks:
    return told.SongWeeks(song, tuple((day, song_standing(song, then, ratio)) for day, then, ratio in weeks))
