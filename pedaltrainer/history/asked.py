"""What is asked of a player: the drills of the songs and the packs, and how fast."""

from __future__ import annotations

from collections.abc import Sequence

from pedaltrainer.packs.pack import Pack
from pedaltrainer.practice.coach.plan import Task, task_of
from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.songs.song import Song


def tasks_of(songs: Sequence[Song], packs: Sequence[Pack]) -> list[Task]:
    """What songs and packs ask for, each drill once, at the fastest tempo that any of them asks of it.

    A change that leaves less time than the fastest drill does can be practised as no drill.
    """
    # What a teacher set comes first, while nothing has been played.
    asked = [
        Task(one.drill, one.target_bpm, (pack.title,), is_set=True) for pack in packs for one in pack.drills
    ]
    asked += [task_of(need) for need in needs_of(songs) if not need.is_beyond_a_drill]
    found: dict[str, Task] = {}
    for one in asked:
        before = found.setdefault(one.drill.key, one)
        # As it is asked for fastest: in that song's metre.
        faster = max(before, one, key=lambda task: task.target_bpm or 0.0)
        dates = [day for day in (before.by, one.by) if day is not None]
        found[one.drill.key] = Task(
            one.drill,
            faster.target_bpm,
            tuple(dict.fromkeys((*before.sources, *one.sources))),
            min(dates, default=None),
            before.is_set or one.is_set,
            faster.metre or before.metre or one.metre,
        )
    return list(found.values())
