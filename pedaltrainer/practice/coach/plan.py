"""Today's practice, by one rule:

every change that is not ready, the longest unplayed first, three minutes at most, where four takes in five
come out clean; it is left the moment its tempo is reached surely enough; when all are ready, round again.

The same facts give the same plan. Why so and not otherwise is measured: docs/evidence/coaching.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import cycle

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.practice.clean_tempo import READY_CHANCE, chance_at_least
from pedaltrainer.practice.coach.evidence import Known, shape_drill
from pedaltrainer.practice.coach.limits import Limit, Ratio, limit_of
from pedaltrainer.practice.coach.pieces import hold_cost, is_flat, last_played, smaller_piece
from pedaltrainer.practice.coach.plan_lines import UNIT_MIN, Mode, PlanLine, Today, Why, fitted
from pedaltrainer.practice.coach.readiness import Need
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.kinds import SLOW_BPM
from pedaltrainer.practice.ladders.rungs import on_the_ladder
from pedaltrainer.songs.metre import Metre

BLOCK_MIN = 3.0
WARM_UP_SHARE, MOST_WARM_UP_MIN = 0.1, 2.0
WARM_UP_TEMPO = 0.6
DUE_DAYS = 14
"""A song due within so many days is practised alone until it is ready."""


@dataclass(frozen=True, slots=True)
class Task:
    """A drill to be practised, and what for.

    target_bpm: None where nothing says how fast; such a drill is never ready. sources: the songs or packs
    that ask for it. by: the nearest of their dates. is_set: a teacher set it. metre: that of its song; None
    where no song asks.
    """

    drill: Drill
    target_bpm: float | None
    sources: tuple[str, ...]
    by: date | None = None
    is_set: bool = False
    metre: Metre | None = None


def task_of(need: Need) -> Task:
    """A change of the songs as a task."""
    return Task(need.drill, need.tempo_bpm, need.songs, need.by, metre=need.metre)


def is_ready(task: Task, known: Known) -> bool:
    """Was it played, and does its clean tempo as its last take left it reach the target with READY_CHANCE?"""
    own = known.get(task.drill.key)
    if own is None or not own.takes or task.target_bpm is None:
        return False
    return chance_at_least(own.belief, task.target_bpm) >= READY_CHANCE


def in_view(tasks: Sequence[Task], known: Known, today: date) -> list[Task]:
    """The tasks that count today: those due soon until they are ready, else all whose day has not gone by.

    What a teacher set counts always.
    """
    soon = [one for one in tasks if one.by is not None and 0 <= (one.by - today).days <= DUE_DAYS]
    if not all(is_ready(one, known) for one in soon):
        return [one for one in tasks if one in soon or one.is_set]
    return [one for one in tasks if one.by is None or one.by >= today] or list(tasks)


def in_turn(tasks: Sequence[Task], known: Known, today: date) -> list[Task]:
    """What is to be practised today, in its order: what is not ready, or all where all is, the longest
    unplayed first. The first one is the next thing to do wherever that is told."""
    counted = in_view(tasks, known, today)
    unready = [one for one in counted if not is_ready(one, known)] or counted
    return sorted(unready, key=lambda one: last_played(one.drill, known))


def plan_today(
    tasks: Sequence[Task], known: Known, minutes: float, today: date, book: ShapeBook | None = None
) -> Today:
    """What to practise in so many minutes. book: the player's shapes, for smaller pieces and the warm-up.

    Raises ValueError unless minutes > 0.
    """
    if not 0 < minutes < math.inf:
        raise ValueError(f"{minutes} minutes are no time to practise in")
    if not tasks:
        return Today((), minutes)
    counted = in_view(tasks, known, today)
    lines = _warm_up(counted, known, minutes, book)
    left_min = minutes - sum(line.minutes for line in lines)
    blocks = {one.drill.key: _block(one, known) for one in in_turn(tasks, known, today)}
    for block in cycle(blocks.values()):
        lines.append(replace(block, minutes=min(BLOCK_MIN, left_min)))
        left_min -= BLOCK_MIN
        # What is left of less than half a block goes to the others.
        if left_min < BLOCK_MIN / 2:
            break
    return fitted(lines, minutes)


def proposals(
    plan: Today, ratio: Ratio, known: Known, book: ShapeBook | None
) -> dict[str, tuple[Limit, Drill | None]]:
    """For each change of the plan that has been flat for long: what holds it back, and a smaller piece.

    By the drill's key. `known` has to hold the trends of the plan's drills.
    """
    flat = {
        line.drill.key: line.drill
        for line in plan.lines
        if line.drill.kind is Kind.CHANGE
        and line.mode is Mode.PRACTISE
        and is_flat(known.get(line.drill.key))
    }
    limits = {key: limit_of(drill, known, ratio) for key, drill in flat.items()}
    return {key: (limit, smaller_piece(flat[key], limit, known, book)) for key, limit in limits.items()}


def _block(task: Task, known: Known) -> PlanLine:
    drill, own = task.drill, known.get(task.drill.key)
    block = PlanLine(
        drill, BLOCK_MIN, Mode.PRACTISE, None, Why.NEW, task.target_bpm, task.sources, metre=task.metre
    )
    if drill.row.slow_bpm is not None:
        return replace(block, mode=Mode.SLOW, start_bpm=drill.row.slow_bpm, why=Why.ASKED)
    if own is None or not own.takes:
        return block
    now_bpm = own.estimate.bpm
    why = Why.KEPT if is_ready(task, known) else Why.ASKED
    return replace(block, start_bpm=on_the_ladder(now_bpm), why=why, now_bpm=now_bpm)


def _warm_up(tasks: Sequence[Task], known: Known, minutes: float, book: ShapeBook | None) -> list[PlanLine]:
    """A slow, easy, known drill, for the hands: it costs time. None in a session of a few minutes."""
    long_min = min(MOST_WARM_UP_MIN, math.floor(minutes * WARM_UP_SHARE / UNIT_MIN) * UNIT_MIN)
    if long_min < UNIT_MIN:
        return []
    played = [one for one in tasks if one.drill.key in known and one.target_bpm is not None]
    if played:
        easy = max(played, key=lambda one: known[one.drill.key].estimate.bpm / (one.target_bpm or 1.0))
        clean_bpm = min(known[easy.drill.key].estimate.bpm, easy.target_bpm or math.inf)
        slow_bpm = on_the_ladder(clean_bpm * WARM_UP_TEMPO)
        return [PlanLine(easy.drill, long_min, Mode.SLOW, slow_bpm, Why.WARM_UP, metre=easy.metre)]
    changes = [one for one in tasks if one.drill.kind is Kind.CHANGE]
    if not changes:
        return []
    asked_in = {chord: change for change in changes for chord in change.drill.chords}
    easiest = min(asked_in, key=lambda chord: (hold_cost(chord, book), chord))
    shape = shape_drill(asked_in[easiest].drill, easiest)
    return [PlanLine(shape, long_min, Mode.SLOW, SLOW_BPM, Why.WARM_UP, metre=asked_in[easiest].metre)]
