"""What a drill puts under the hand: the shape of each of its chords."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.notes import note_name, pitch_class
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.neck.pieces import barred_at, level, shared
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


def hands(drill: Drill, book: ShapeBook) -> tuple[Hand, ...]:
    """The chords of a drill as they are played in it, in their order.

    Raises InputError, naming the drill, when it cannot be made of these shapes: a level drill of an open
    shape, a shared drill of shapes that share nothing or have no more fingers to add, a string to be picked
    that the shape leaves out.
    """
    return _hands(drill, book, drill.turn)


@lru_cache(maxsize=256)
def _hands(drill: Drill, book: ShapeBook, turn: int) -> tuple[Hand, ...]:
    """turn: that of the drill, which does not count when drills are compared."""
    whole = tuple(hand_for(chord, book) for chord in drill.chords)
    make = _string_by_string if drill.row.by_string else _picked if drill.order else _MADE.get(drill.kind)
    if make is None:
        return whole
    try:
        made = make(replace(drill, turn=turn), tuple(map(_needed, whole)))
    except InputError as trouble:
        raise InputError(f"“{drill.words}”: {trouble}") from None
    return tuple(
        Hand(_sounding(chord, hand, shape), shape)
        for chord, hand, shape in zip(drill.chords, whole, made, strict=True)
    )


def _sounding(chord: str, usual: Hand, moved: Shape) -> str:
    """What a shape sounds after it was moved along the neck: all its notes have gone as far as its lowest.

    A part of a shape goes by the chord's name.
    """
    if usual.shape is None or len(moved.midi) != len(usual.shape.midi):
        return usual.name
    semitones = moved.midi[0] - usual.shape.midi[0]
    if not semitones:
        return usual.name
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


Shapes = tuple[Shape, ...]


def _in_one_place(drill: Drill, whole: Shapes) -> Shapes:
    here, there = whole
    return here, level(here, there)


def _with_shared_fingers(drill: Drill, whole: Shapes) -> Shapes:
    here, there = whole
    steps = shared(here, there)
    if drill.added >= len(steps):
        more = len(steps) - 1
        raise InputError(f"these shapes have {counted(more, 'finger')} to add; say at most +{more}.")
    return steps[drill.added].here, steps[drill.added].there


def _string_by_string(drill: Drill, whole: Shapes) -> Shapes:
    most = drill.row.cycle - 1
    if any(len(shape.midi) > most for shape in whole):
        raise InputError(f"{most} strings at most can be picked one by one before the strum.")
    return whole


def _led_by_one(drill: Drill, whole: Shapes) -> Shapes:
    if any(len(_fingers(shape)) < 2 for shape in whole):
        raise InputError("one finger can lead only where there are others; take shapes of two and more.")
    return whole


def _down_the_neck(drill: Drill, whole: Shapes) -> Shapes:
    (shape,) = whole
    return (barred_at(shape, len(drill.row.steps) - drill.turn),)


def _picked(drill: Drill, whole: Shapes) -> Shapes:
    for name, shape in zip(drill.names, whole, strict=True):
        for string in strings_picked(drill, shape):
            if string < 0 or shape.frets[string] is None:
                raise InputError(
                    f"{name} leaves out string {len(shape.frets) - string}; say another order, such as b321, "
                    "or name other frets."
                )
    return whole


_MADE: Mapping[Kind, Callable[[Drill, Shapes], Shapes]] = {
    Kind.LEVEL: _in_one_place,
    Kind.SHARED: _with_shared_fingers,
    Kind.LEAD: _led_by_one,
    Kind.EASE: _down_the_neck,
}
"""Kinds that change the shapes, or need something of them besides what their rows say."""


def strings_picked(drill: Drill, shape: Shape) -> tuple[int, ...]:
    """The strings (0 = lowest) that are picked in a landing of this shape, a beat each; () where none are.

    Below 0 for one that the instrument does not have.
    """
    sounding = [string for string, fret in enumerate(shape.frets) if fret is not None]
    if drill.row.by_string:
        return tuple(sounding)
    return tuple(sounding[0] if mark == "b" else len(shape.frets) - int(mark) for mark in drill.order)


def leading_finger(shape: Shape) -> int:
    """The finger whose string a stroke downwards sounds first: on the lowest string; 0 without fingers."""
    return next(iter(_fingers(shape)), 0)


def _fingers(shape: Shape) -> tuple[int, ...]:
    """The fingers of a shape, in the order of their lowest strings."""
    return tuple(dict.fromkeys(finger for finger in shape.fingers if finger))
