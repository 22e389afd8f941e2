"""What can be done about a limit: smaller pieces of a change, each only where the shapes allow it.

Common practice, no published source: a shape that is slow alone is landed alone, and pressed and let go in
slow stages; a travel is made easier: the shared fingers, both shapes in one place, other fingers. A piece is
proposed where a change has been flat for long and is never put into a plan by itself: by simulation a part
drilled alone earns nothing over the change (docs/evidence/coaching.md), so the choice is the player's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.symbols import ChosenChord, parse_chosen
from pedaltrainer.neck.fingering import costs_of
from pedaltrainer.neck.routes import plan_route
from pedaltrainer.practice.coach.evidence import Evidence, Known, shape_drill
from pedaltrainer.practice.coach.limits import Limit, Which
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.hands import hand_for, hands
from pedaltrainer.practice.kinds import KINDS, Kind
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


def pressure(chord: str) -> Drill:
    return Drill(Kind.PRESSURE, (chord,), KINDS[Kind.PRESSURE].cycle)


def travel_pieces(change: Drill, book: ShapeBook | None) -> tuple[Drill, ...]:
    """The drills that take something out of the travel, easiest first; those these shapes can be put to."""
    if book is None:
        return ()
    here, there = change.chords
    wanted = (
        Drill(Kind.SHARED, (here, there), gap=change.gap),
        Drill(Kind.LEVEL, (here, there), gap=change.gap),
        Drill(Kind.LEVEL, (there, here), gap=change.gap),
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

    The first piece of what holds the change back that is not flat itself; where the limit is not known
    yet, what would tell most.
    """
    if limit.which is Which.UNSURE:
        return limit.measure_first
    if limit.which is Which.TRAVEL:
        other = None if book is None else other_fingers(change, book)
        pieces = (*travel_pieces(change, book), *(() if other is None else (other,)))
    else:
        chord = change.chords[0 if limit.which is Which.FIRST else 1]
        pieces = (shape_drill(change, chord), pressure(chord))
    return next((piece for piece in pieces if not is_flat(known.get(piece.key))), None)


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
