"""Today's practice: the player's songs and log in, a planned session out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, with_trends
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.packs.pack import Pack, PackDrill
from pedaltrainer.practice.coach.evidence import Known, history_of
from pedaltrainer.practice.coach.plan import BLOCK_MIN, MEASURE_MIN, plan_today
from pedaltrainer.practice.coach.plan_choices import is_flat, passages_of
from pedaltrainer.practice.coach.plan_lines import Mode, PlanLine, Today, fitted
from pedaltrainer.practice.coach.readiness import Need, needs_of, united
from pedaltrainer.practice.drill import Drill, Kind, air_time_ms
from pedaltrainer.practice.hands import hands
from pedaltrainer.practice.ladders.hold import SLOW_BPM
from pedaltrainer.session.settings import FIRST_START_BPM, Settings

USUAL_MINUTES = 20.0
NO_SONGS = (
    "There is no song yet to plan for; add one with pedaltrainer song add FILE, "
    'or practise a change with pedaltrainer play "Am E".'
)


@dataclass(frozen=True, slots=True)
class Planned:
    """Today's plan and the evidence it rests on."""

    plan: Today
    known: Known


def plan_for(desk: Desk, minutes: float, now: datetime) -> Planned:
    """What to practise now. `now` carries its time zone: its date there is today.

    Changes with a target in the packs in use are needed like those of the songs; their other drills have
    minutes set aside. Raises InputError when there is nothing to plan for, or for a log that cannot be read.
    """
    book = desk.shapes
    asked = (need for need in pack_needs(desk.packs) if can_be_played(need.drill, book))
    needs = united((*needs_of(desk.songs), *asked))
    set_drills = [one for one in _set_drills(desk.packs) if can_be_played(one[0].drill, book)]
    if not needs and not set_drills:
        raise InputError(NO_SONGS)
    known = evidence(desk, now)
    set_lines = _set_lines(set_drills, known, minutes * SET_SHARE if needs else minutes)
    left = minutes - sum(line.minutes for line in set_lines)
    if not needs:
        return Planned(fitted(set_lines, minutes), known)
    passages = passages_of(desk.songs)
    plan = plan_today(needs, known, left, now.date(), book=book, passages=passages)
    practised = [line.drill for line in plan.lines if line.mode is Mode.PRACTISE]
    known = with_trends(desk, now, known, practised)
    if any(is_flat(known.get(drill.key)) for drill in practised):
        # What has led nowhere for long is gone about in another way.
        plan = plan_today(needs, known, left, now.date(), book=book, passages=passages)
    # What the teacher set comes early, while the hands are fresh; the warm-up comes first.
    warm_up = [line for line in plan.lines[:1] if line.reason.startswith("warm-up")]
    lines = [*warm_up, *set_lines, *plan.lines[len(warm_up) :]]
    return Planned(fitted(lines, minutes) if set_lines else plan, known)


SET_SHARE = 0.5
"""At most this share of a session goes to the drills that packs set beside the changes with a target."""


def pack_needs(packs: Sequence[Pack]) -> tuple[Need, ...]:
    """The changes with a target, each wanted by its pack as by a song."""
    return tuple(
        Need(one.drill, one.target_bpm, air_time_ms(one.target_bpm, one.drill.lift), 1, (pack.title,))
        for pack in packs
        for one in pack.drills
        if one.target_bpm is not None and one.drill.kind is Kind.CHANGE
    )


def _set_drills(packs: Sequence[Pack]) -> list[tuple[PackDrill, str]]:
    """The drills that are no needs, each once, with the title of their pack."""
    found = {
        one.drill.key: (one, pack.title)
        for pack in packs
        for one in pack.drills
        if one.target_bpm is None or one.drill.kind is not Kind.CHANGE
    }
    return list(found.values())


def can_be_played(drill: Drill, book: ShapeBook) -> bool:
    """Can these shapes be put to the drill? In another tuning perhaps not; a session goes on without it."""
    try:
        return bool(hands(drill, book))
    except InputError:
        return False


def _set_lines(drills: Sequence[tuple[PackDrill, str]], known: Known, minutes: float) -> list[PlanLine]:
    """As many of the drills as the minutes hold, those that were left longest first; never none of them."""

    def left_longest(one: tuple[PackDrill, str]) -> float:
        own = known.get(one[0].drill.key)
        return 0.0 if own is None or own.last is None else own.last.timestamp()

    lines: list[PlanLine] = []
    for one, title in sorted(drills, key=left_longest):
        line = _set_line(one, title, known)
        spent = sum(line.minutes for line in lines)
        if lines and spent + line.minutes > minutes:
            break
        lines.append(replace(line, minutes=min(line.minutes, minutes)))
    return lines


def _set_line(one: PackDrill, title: str, known: Known) -> PlanLine:
    own = known.get(one.drill.key)
    reason = f"{one.drill.title}: set in {title}"
    if one.drill.kind is Kind.PRESSURE:
        return PlanLine(one.drill, MEASURE_MIN, Mode.SLOW, SLOW_BPM, reason)
    target = "" if one.target_bpm is None else f", {one.target_bpm:g} BPM"
    if own is None or not own.takes:
        return PlanLine(one.drill, MEASURE_MIN, Mode.MEASURE, None, f"{reason}{target}; not measured yet")
    now = f"; {own.estimate.bpm:.0f} now" if target else ""
    return PlanLine(one.drill, BLOCK_MIN, Mode.PRACTISE, None, f"{reason}{target}{now}")


def usual_minutes(packs: Sequence[Pack]) -> float:
    """How long a session is when nobody says: as the packs ask, the longest of them."""
    return max((pack.minutes for pack in packs if pack.minutes is not None), default=USUAL_MINUTES)


def as_session(settings: Settings, planned: Planned) -> Settings:
    """The settings of a session that runs a plan, its other settings as they are."""
    lines = planned.plan.lines
    return replace(
        settings,
        drills=tuple(line.drill for line in lines),
        minutes_each=tuple(line.minutes for line in lines),
        modes=tuple(line.mode.value for line in lines),
        reasons=tuple(line.reason for line in lines),
        starts_bpm=tuple(line.start_bpm or FIRST_START_BPM for line in lines),
        start_named=False,
        histories=tuple(history_of(line.drill, planned.known) for line in lines),
        minutes=None,
    )
