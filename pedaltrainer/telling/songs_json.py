"""Songs, readiness and the plan as plain data, for `--json`. Chances and shares run from 0 to 1."""

from __future__ import annotations

from typing import Any

from pedaltrainer.history.today import Planned
from pedaltrainer.practice.coach.limits import Limit
from pedaltrainer.practice.coach.plan import Task
from pedaltrainer.practice.coach.readiness import WHOLE_CHANCE, SongStanding, Standing, needs_of
from pedaltrainer.showing.plan_words import reason_words
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.metre import Metre
from pedaltrainer.songs.song import Song
from pedaltrainer.telling.songs import Ready, is_told, limit_alone_words


def song(one: Song) -> dict[str, Any]:
    """A song in a list. bars: written out. changes: distinct ones. by: ISO 8601, or None."""
    return {
        "title": one.title,
        "tempo_bpm": one.tempo_bpm,
        "bars": len(one.bars),
        "seconds": round(one.seconds, 1),
        "changes": len(needs_of([one])),
        "gap": one.gap.value,
        "strum": str(one.strum),
        "by": one.by.isoformat() if one.by else None,
        "notes": list(one.notes),
        "key": one.key,
        "capo": one.capo,
        "told": list(one.told),
    }


def chart(one: Song) -> dict[str, Any]:
    """What `song show` prints. bar of a change: from 1, of the song written out; beat: from 1, a fraction."""
    first = one.bars[0]
    return song(one) | {
        "metre": str(Metre(first.beats, first.beat_unit)),
        "sections": [
            {"name": section.name, "times": section.times, "bars": len(section.bars)}
            for section in one.sections
        ],
        "landings": [
            {
                "here": change.here,
                "there": change.there,
                "bar": change.bar + 1,
                "beat": str(change.beat + 1),
                "gap": change.gap.value,
                "air_ms": round(change.air_ms, 1),
            }
            for change in changes_of(one)
        ],
    }


def ready(found: Ready) -> dict[str, Any]:
    """What `song ready` prints: each song, then the changes of them all, hardest first."""
    return {
        "songs": [_song_ready(*pair) for pair in found.songs],
        "changes": [change(one) for one in found.changes],
        "next": _next(found.next_up),
    }


def _next(one: Task | None) -> dict[str, Any] | None:
    """The next thing to do, the same wherever it is told."""
    return None if one is None else {"drill": one.drill.key, "target_bpm": _rounded(one.target_bpm, 1)}


def _song_ready(one: Song, standing: SongStanding) -> dict[str, Any]:
    bottleneck = standing.bottleneck
    return {
        "title": one.title,
        "by": one.by.isoformat() if one.by else None,
        "tempo_bpm": standing.tempo_bpm,
        "whole_bpm": _rounded(standing.whole_bpm, 1),
        "whole_chance": WHOLE_CHANCE,
        "changes": len(standing.standings),
        "ready": sum(each.is_ready for each in standing.standings),
        "bottleneck": None if bottleneck is None else bottleneck.need.drill.key,
    }


def change(one: Standing) -> dict[str, Any]:
    """A change. needed_bpm: the drill tempo with the song's air time. clean_bpm with low and high: 90 %; None
    as in `rungs.ToldTempo`, and of a change that was never played."""
    told = one.told
    return {
        "drill": one.need.drill.key,
        "words": one.need.drill.words,
        "here": one.need.drill.chords[0],
        "there": one.need.drill.chords[1],
        "gap": one.need.drill.gap.value,
        "count": one.need.count,
        "songs": list(one.need.songs),
        "by": one.need.by.isoformat() if one.need.by else None,
        "air_ms": round(one.need.air_ms, 1),
        "needed_bpm": round(one.need.tempo_bpm, 1),
        "takes": one.takes,
        "clean_bpm": _rounded(told.bpm, 1),
        "low_bpm": _rounded(told.low_bpm, 1),
        "high_bpm": _rounded(told.high_bpm, 1),
        "is_told": is_told(one),
        "readiness": _rounded(one.readiness if is_told(one) else None, 3),
        "chance": round(one.chance, 3) if one.takes else None,
        "is_ready": one.is_ready,
        "limit": limit(one.limit),
    }


def limit(one: Limit) -> dict[str, Any]:
    """What holds a change back. measure_first: the drill that would tell most, None when it is named."""
    return {
        "which": one.which.value,
        "chance": round(one.chance, 3),
        "chances": {which.value: round(chance, 3) for which, chance in one.chances.items()},
        "measure_first": one.measure_first.words if one.measure_first else None,
        "seconds": one.seconds,
        "words": limit_alone_words(one),
    }


def plan(planned: Planned) -> dict[str, Any]:
    """What `plan` prints. breaks: after how many minutes to rest. proposals: for changes flat for long."""
    one = planned.plan
    return {
        "minutes": one.minutes,
        "lines": [
            {
                "drill": line.drill.key,
                "words": line.drill.words,
                "minutes": round(line.minutes, 2),
                "mode": line.mode.value,
                "start_bpm": line.start_bpm,
                "why": line.why.value,
                "target_bpm": _rounded(line.target_bpm, 1),
                "now_bpm": _rounded(line.now_bpm, 1),
                "reason": reason_words(line),
            }
            for line in one.lines
        ],
        "proposals": [
            {"drill": key, "limit": limit(held), "try": None if piece is None else piece.words}
            for key, (held, piece) in planned.proposals.items()
        ],
        "breaks": list(one.breaks),
        "next": _next(planned.next_up),
    }


def _rounded(figure: float | None, digits: int) -> float | None:
    return None if figure is None else round(figure, digits)
