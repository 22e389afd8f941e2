"""What can be done about a limit: smaller pieces of a change, each only where the shapes allow it.

Common practice, no published source: a shape that is slow alone is landed alone, and pressed and let go in
slow stages while it is far behind; a travel is made easier (the shared fingers, both shapes in one place)
before the whole change, and the change is played before the passage that it comes in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.symbols import ChosenChord, parse_chosen
from pedaltrainer.neck.fingering import costs_of
from pedaltrainer.neck.routes import plan_route
from pedaltrainer.practice.coach.evidence import Evidence, Known
from pedaltrainer.practice.coach.readiness import Need, chance_of
from pedaltrainer.practice.drill import MOST_HELD, Drill, Kind, PressureStage
from pedaltrainer.practice.hands import hand_for, hands
from pedaltrainer.practice.trend import Verdict
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.song import Song

DONE_CHANCE = 0.80
"""A piece has done its work when it is clean at the tempo of the need with this chance."""
LEAST_SAVING = 0.25
"""Other fingers are proposed when they save this share of the move."""
CONTEXT = 2
"""Chords either side of a change that make up its passage."""

Passages = Mapping[str, Drill]
"""A change in its song, by the key of the change."""


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
    return Drill(Kind.PRESSURE, (chord,), len(PressureStage))


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


def next_piece(need: Need, known: Known, book: ShapeBook | None) -> Drill | None:
    """The first piece of the travel that is neither done nor flat; None when the whole change is next.

    Other fingers come last, and only when the whole change has been flat for long.
    """
    for piece in travel_pieces(need.drill, book):
        if not _has_done(known.get(piece.key), need):
            return piece
    if book is None or not is_flat(known.get(need.drill.key)):
        return None
    other = other_fingers(need.drill, book)
    return other if other is not None and not _has_done(known.get(other.key), need) else None


def _has_done(own: Evidence | None, need: Need) -> bool:
    if own is None or not own.takes:
        return False
    return is_flat(own) or chance_of(own.belief, need.tempo_bpm) >= DONE_CHANCE


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


def passages_of(songs: Iterable[Song]) -> Passages:
    """Every change with its neighbours in the song, in its rhythm; where it comes first with neighbours
    on both sides, else where it comes first."""
    found: dict[str, Drill] = {}
    for song in songs:
        changes = changes_of(song)
        for index, change in enumerate(changes):
            key = Drill(Kind.CHANGE, (change.here, change.there), gap=change.gap).key
            around = changes[max(0, index - CONTEXT + 1) : index + CONTEXT]
            chords = (around[0].here, *(one.there for one in around))
            if key in found and len(found[key].chords) >= len(chords):
                continue
            starts = [one.at_beats for one in around]
            between = [later - sooner for sooner, later in pairwise(starts)]
            usual = max(between, default=Fraction(1))
            holds = tuple(min(hold, Fraction(MOST_HELD)) for hold in (usual, *between, usual))
            found[key] = Drill(Kind.PASSAGE, chords, gap=change.gap, holds=holds)
    return found
