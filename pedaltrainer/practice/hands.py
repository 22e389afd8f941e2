"""What a drill puts under the hand: the shape of each of its chords."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.notes import note_name, pitch_class
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.neck.pieces import level, shared
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.system.amounts import counted


@dataclass(frozen=True, slots=True)
class Hand:
    """One chord of a drill as it is played: the name to show and the shape, None when there is none.

    name: of what the shape sounds. In a shared drill it is the chord's whose fingers these are.
    """

    name: str
    shape: Shape | None


@lru_cache(maxsize=1024)
def hand_for(chord: str, book: ShapeBook) -> Hand:
    """A chord as a player of this book plays it (`lookup.usual_shape`), in the book's tuning.

    Raises InputError for frets that no hand can hold or that are not of this tuning.
    """
    chosen = parse_chosen(chord)
    try:
        shape = usual_shape(chosen, Setup(book.tuning), book)
    except InputError:
        # A chord that this tuning cannot play can still be practised as the player knows how.
        if chosen.frets is not None:
            raise
        shape = None
    return Hand(str(chosen.symbol), shape)


@lru_cache(maxsize=256)
def hands(drill: Drill, book: ShapeBook) -> tuple[Hand, ...]:
    """The chords of a drill as they are played in it, in their order.

    Raises InputError, naming the drill, when it cannot be made of these shapes: a level drill of an open
    shape, a shared drill of shapes that share nothing or have no more fingers to add.
    """
    whole = tuple(hand_for(chord, book) for chord in drill.chords)
    if drill.kind not in {Kind.LEVEL, Kind.SHARED}:
        return whole
    try:
        here, there = (_needed(hand) for hand in whole)
        here, there = _PARTS[drill.kind](here, there, drill.added)
    except InputError as trouble:
        raise InputError(f"“{drill.words}”: {trouble}") from None
    if drill.kind is Kind.LEVEL:
        return Hand(whole[0].name, here), Hand(_sounding(drill.chords[1], whole[1], there), there)
    return Hand(whole[0].name, here), Hand(whole[1].name, there)


def _sounding(chord: str, usual: Hand, moved: Shape) -> str:
    """What a shape sounds after it was moved along the neck: all its notes have gone as far as its lowest."""
    semitones = moved.midi[0] - usual.shape.midi[0] if usual.shape else 0
    symbol = parse_chosen(chord).symbol

    def along(note: str) -> str:
        return note_name(pitch_class(note) + semitones)

    return str(replace(symbol, root=along(symbol.root), bass=symbol.bass and along(symbol.bass)))


def _needed(hand: Hand) -> Shape:
    if hand.shape is None:
        raise InputError(
            f"No shape is known for {hand.name} in this tuning; name its frets, as in G[320003]."
        )
    return hand.shape


def _in_one_place(here: Shape, there: Shape, added: int) -> tuple[Shape, Shape]:
    return here, level(here, there)


def _with_shared_fingers(here: Shape, there: Shape, added: int) -> tuple[Shape, Shape]:
    steps = shared(here, there)
    if added >= len(steps):
        more = len(steps) - 1
        raise InputError(f"these shapes have {counted(more, 'finger')} to add; say at most +{more}.")
    return steps[added].here, steps[added].there


_PARTS = {Kind.LEVEL: _in_one_place, Kind.SHARED: _with_shared_fingers}
