"""What can be done about a limit: smaller pieces of a change, each only where the shapes allow it.

Common practice, no published source: a shape that is slow alone is landed alone, formed in the air, eased
down the neck where it is barred, looked through string by string, pressed and let go in slow stages; a travel
is made easier: shared fingers, both shapes in one place, other fingers, one finger first, slow travel.
A piece is proposed where a change has been flat for long and never put into a plan by itself: by simulation
a part drilled alone earns nothing over it (docs/evidence/coaching.md), so the choice is the player's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.symbols import ChosenChord, parse_chosen
from pedaltrainer.neck.fingering import costs_of
from pedaltrainer.neck.routes import plan_route
from pedaltrainer.practice.coach.evidence import Evidence, Known, shape_drill
from pedaltrainer.practice.coach.limits import Limit, Which
from pedaltrainer.practice.drill import Drill, Own, parse_drill
from pedaltrainer.practice.hands import hand_for, hands
from pedaltrainer.practice.kinds import KINDS, Kind, KindRow
from pedaltrainer.practice.trend import Verdict

LEAST_SAVING = 0.25
"""Other fingers are proposed when they save this share of the move."""


def is_flat(evidence: Evidence | None) -> bool:
    """Has practising this drill led nowhere for long? Only a trend that was asked for can say so."""
    return evidence is not None and evidence.trend is not None and evidence.trend.verdict is Verdict.FLAT


def hold_cost(chord: str, book: ShapeBook | None) -> float:
    """What a chord's shape costs to hold, in the neck's units; the same for all when no shape is known."""
    shape = hand_for(chord, book).shape if book is not None else None
    if shape is None:
        return 0.0
    costs = costs_of(shape.frets, shape.fingers, shape.tuning)
    return math.inf if costs is None else sum(costs.values())


def _of_kinds(kinds: Iterable[Kind], *chords: str) -> Iterator[Drill]:
    return (Drill(kind, chords, KINDS[kind].cycle) for kind in kinds)


def shape_pieces(change: Drill, chord: str, book: ShapeBook | None) -> tuple[Drill, ...]:
    """The drills that work on one of its shapes, the whole shape first; those that it can be put to."""
    more = tuple(_of_kinds((Kind.AIR, Kind.EASE, Kind.RING, Kind.PRESSURE), chord))
    made = more if book is None else tuple(drill for drill in more if _can_be_made(drill, book))
    return (shape_drill(change, chord), *made)


def ways(drill: Drill, book: ShapeBook, smaller: bool, own: Own = MappingProxyType({})) -> tuple[Drill, ...]:
    """All other kinds of drill that its chords can be put to: the smaller pieces, or those of the whole.

    own: kinds of the player's own.
    """

    def fits(row: KindRow) -> bool:
        return row.smaller is smaller and row.chords[0] <= len(drill.chords) <= row.chords[1]

    kinds = (kind for kind, row in KINDS.items() if fits(row) and kind not in _PLAIN)
    named = (parse_drill(" ".join((name, *drill.chords)), own=own) for name, row in own.items() if fits(row))
    return tuple(one for one in (*_of_kinds(kinds, *drill.chords), *named) if _can_be_made(one, book))


_PLAIN = {Kind.CHANGE, Kind.RE_LAND, Kind.PASSAGE}
"""Kinds that are no way of playing others."""


def travel_pieces(change: Drill, book: ShapeBook | None) -> tuple[Drill, ...]:
    """The drills that take something out of the travel, easiest first; those these shapes can be put to."""
    if book is None:
        return ()
    here, there = change.chords
    wanted = (
        Drill(Kind.SHARED, (here, there), gap=change.gap),
        Drill(Kind.LEVEL, (here, there), gap=change.gap),
        Drill(Kind.LEVEL, (there, here), gap=change.gap),
        *_of_kinds((Kind.LEAD, Kind.TRAVEL), here, there),
    )
    made = [drill for drill in wanted if _can_be_made(drill, book)]
    return tuple({drill.kind: drill for drill in reversed(made)}[kind] for kind in _kinds(made))


def _kinds(made: Iterable[Drill]) -> tuple[Kind, ...]:
    return tuple(dict.fromkeys(drill.kind for drill in made))


def _can_be_made(drill: Drill, book: ShapeBook) -> bool:
    try:
        return all(hand.shape is not None for hand in hands(drill, book))
    except InputError:
        return False


def smaller_piece(change: Drill, limit: Limit, known: Known, book: ShapeBook | None) -> Drill | None:
    """What to try in place of a change that has been flat for long; None where nothing smaller is left.

    The first piece of what holds the change back that is measured and not flat itself; after those, of the
    slow ones the one played longest ago. Where the limit is not known yet, what would tell most.
    """
    if limit.which is Which.UNSURE:
        return limit.measure_first
    if limit.which is Which.TRAVEL:
        other = None if book is None else other_fingers(change, book)
        pieces = (*travel_pieces(change, book), *(() if other is None else (other,)))
    else:
        pieces = shape_pieces(change, change.chords[0 if limit.which is Which.FIRST else 1], book)
    slow = [piece for piece in pieces if piece.row.slow_bpm is not None]
    measured = (piece for piece in pieces if piece.row.slow_bpm is None)
    usual = min(slow, key=lambda piece: last_played(piece, known), default=None)
    return next((piece for piece in measured if not is_flat(known.get(piece.key))), usual)


def last_played(drill: Drill, known: Known) -> float:
    """When a drill was played last, in seconds as clocks count them; before all time if it never was."""
    own = known.get(drill.key)
    return -math.inf if own is None or own.last is None else own.last.timestamp()


@lru_cache(maxsize=64)
def other_fingers(change: Drill, book: ShapeBook) -> Drill | None:
    """The change with other frets or fingers, named, where the move then costs much less; else None."""
    usual = {chord: hand_for(chord, book).shape for chord in change.chords}
    given = {chord: shape for chord, shape in usual.items() if shape is not None}
    try:
        plan = plan_route(change.chords, book.tuning, usual=given)
    except InputError:
        return None
    (planned,) = plan.changes
    if planned.saving < LEAST_SAVING * planned.textbook.cost:
        return None
    chords = (
        str(ChosenChord(parse_chosen(chord).symbol, shape.frets, shape.fingers))
        for chord, shape in zip(change.chords, plan.shapes, strict=True)
    )
    return replace(change, chords=tuple(chords))
