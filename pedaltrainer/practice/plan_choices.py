"""What can be done about a limit: smaller pieces of a change, each only where the shapes allow it.

Common practice, no published source: a shape that is slow alone is landed alone, and pressed and let go in
slow stages while it is far behind; a travel is made easier (the shared fingers, both shapes in one place)
before the whole change, and the change is played before the passage that it comes in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import pairwise

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.practice.drill import MOST_HELD, Drill, Kind, Stage
from pedaltrainer.practice.evidence import Evidence, Known
from pedaltrainer.practice.hands import hands
from pedaltrainer.practice.readiness import Need, chance_of
from pedaltrainer.practice.trend import Verdict
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.song import Song

DONE_CHANCE = 0.80
"""A piece has done its work when it is clean at the tempo of the need with this chance."""
CONTEXT = 2
"""Chords either side of a change that make up its passage."""

Passages = Mapping[str, Drill]
"""A change in its song, by the key of the change."""


def is_flat(evidence: Evidence | None) -> bool:
    """Has practising this drill led nowhere for long? Only a trend that was asked for can say so."""
    return evidence is not None and evidence.trend is not None and evidence.trend.verdict is Verdict.FLAT


def pressure(chord: str) -> Drill:
    return Drill(Kind.PRESSURE, (chord,), len(Stage))


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
    """The first piece of the travel that is neither done nor flat; None when the whole change is next."""
    for piece in travel_pieces(need.drill, book):
        own = known.get(piece.key)
        if own is None or not own.takes:
            return piece
        if not is_flat(own) and chance_of(own.belief, need.tempo_bpm) < DONE_CHANCE:
            return piece
    return None


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
