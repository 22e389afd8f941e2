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
from pedaltrainer.practice.coach.limits import USUAL_RATIO, Limit, Ratio, ratio_of
from pedaltrainer.practice.coach.plan import Task, in_turn, plan_today, proposals
from pedaltrainer.practice.coach.plan_lines import Mode, Today
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.hands import hands

USUAL_MINUTES = 20.0
NO_SONGS = (
    "There is no song yet to plan for; add one with pedaltrainer song add FILE, "
    'or practise a change with pedaltrainer play "Am E".'
)


@dataclass(frozen=True, slots=True)
class Planned:
    """Today's plan and the evidence it rests on. proposals: for changes flat for long, by key.

    next_up: the next thing to do, the warm-up aside. ratio: the player's own.
    """

    plan: Today
    known: Known
    proposals: Mapping[str, tuple[Limit, Drill | None]]
    next_up: Task | None = None
    ratio: Ratio = USUAL_RATIO


def plan_for(desk: Desk, minutes: float, now: datetime) -> Planned:
    """What to practise now. `now` carries its time zone: its date there is today.

    The drills of the packs in use are asked for like the changes of the songs. Raises InputError when there
    is nothing to plan for, or for a log that cannot be read.
    """
    tasks = playable(desk)
    if not tasks:
        raise InputError(NO_SONGS)
    known = evidence(desk, now)
    plan = plan_today(tasks, known, minutes, now.date(), desk.shapes)
    known = with_trends(desk, known, [line.drill for line in plan.lines if line.mode is Mode.PRACTISE])
    ratio = ratio_of((one.drill for one in tasks if one.drill.kind is Kind.CHANGE), known)
    proposed = proposals(plan, ratio, known, desk.shapes)
    return Planned(plan, known, proposed, next_up(desk, known, now), ratio)


def playable(desk: Desk) -> list[Task]:
    """What is asked for and can be played with the shapes of the desk."""
    return [one for one in desk.tasks if can_be_played(one.drill, desk.shapes)]


def next_up(desk: Desk, known: Known, now: datetime) -> Task | None:
    """The next thing to practise, with which the plan of today begins after its warm-up.

    None where nothing is asked. known: with what is known of what is asked for.
    """
    return next(iter(in_turn(playable(desk), known, now.date())), None)


def can_be_played(drill: Drill, book: ShapeBook) -> bool:
    """Can these shapes be put to the drill? In another tuning perhaps not; a session goes on without it."""
    try:
        return bool(hands(drill, book))
    except InputError:
        return False


def usual_minutes(packs: Sequence[Pack]) -> float:
    """How long a session is when nobody says: as the packs ask, the longest of them."""
    return max((pack.minutes for pack in packs if pack.minutes is not None), default=USUAL_MINUTES)
