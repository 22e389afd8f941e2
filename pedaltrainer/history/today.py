"""Today's practice: the player's songs and log in, a planned session out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, with_trends
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.packs.pack import Pack
from pedaltrainer.practice.coach.evidence import Known
from pedaltrainer.practice.coach.limits import Limit
from pedaltrainer.practice.coach.plan import Task, plan_today, proposals, task_of
from pedaltrainer.practice.coach.plan_lines import Mode, Today
from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.hands import hands
from pedaltrainer.songs.song import Song

USUAL_MINUTES = 20.0
NO_SONGS = (
    "There is no song yet to plan for; add one with pedaltrainer song add FILE, "
    'or practise a change with pedaltrainer play "Am E".'
)


@dataclass(frozen=True, slots=True)
class Planned:
    """Today's plan and the evidence it rests on. proposals: for changes flat for long, by key."""

    plan: Today
    known: Known
    proposals: Mapping[str, tuple[Limit, Drill | None]]


def plan_for(desk: Desk, minutes: float, now: datetime) -> Planned:
    """What to practise now. `now` carries its time zone: its date there is today.

    The drills of the packs in use are asked for like the changes of the songs. Raises InputError when there
    is nothing to plan for, or for a log that cannot be read.
    """
    tasks = [one for one in tasks_of(desk.songs, desk.packs) if can_be_played(one.drill, desk.shapes)]
    if not tasks:
        raise InputError(NO_SONGS)
    known = evidence(desk, now)
    plan = plan_today(tasks, known, minutes, now.date(), desk.shapes)
    known = with_trends(desk, known, [line.drill for line in plan.lines if line.mode is Mode.PRACTISE])
    changes = [one.drill for one in tasks if one.drill.kind is Kind.CHANGE]
    return Planned(plan, known, proposals(plan, changes, known, desk.shapes))


def tasks_of(songs: Sequence[Song], packs: Sequence[Pack]) -> list[Task]:
    """What songs and packs ask for, each drill once, at the fastest tempo that any of them asks of it.

    A change that leaves less time than the fastest drill does can be practised as no drill.
    """
    # What a teacher set comes first, while nothing has been played.
    asked = [Task(one.drill, one.target_bpm, (pack.title,)) for pack in packs for one in pack.drills]
    asked += [task_of(need) for need in needs_of(songs) if not need.is_beyond_a_drill]
    found: dict[str, Task] = {}
    for one in asked:
        before = found.setdefault(one.drill.key, one)
        dates = [day for day in (before.by, one.by) if day is not None]
        found[one.drill.key] = Task(
            one.drill,
            max(before.target_bpm or 0.0, one.target_bpm or 0.0) or None,
            tuple(dict.fromkeys((*before.sources, *one.sources))),
            min(dates, default=None),
        )
    return list(found.values())


def can_be_played(drill: Drill, book: ShapeBook) -> bool:
    """Can these shapes be put to the drill? In another tuning perhaps not; a session goes on without it."""
    try:
        return bool(hands(drill, book))
    except InputError:
        return False


def usual_minutes(packs: Sequence[Pack]) -> float:
    """How long a session is when nobody says: as the packs ask, the longest of them."""
    return max((pack.minutes for pack in packs if pack.minutes is not None), default=USUAL_MINUTES)
