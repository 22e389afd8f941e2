"""What the commands of the neck find out: shapes of a chord, a change, a route; each a plain value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.spelling import Spelling, spell
from pedaltrainer.neck.chords.symbols import ChordSymbol, ChosenChord, parse_chosen
from pedaltrainer.neck.lookup import (
    Setup,
    book_shape,
    change_of,
    hand_symbol,
    read_chords,
    shapes_of,
    usual_shape,
)
from pedaltrainer.neck.moves import HandMove, move
from pedaltrainer.neck.pieces import Find, SharedStep, found_inside, level, shared, worth_telling
from pedaltrainer.neck.routes import Candidate, Plan, candidates, plan_route
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.neck.taught import beside, listed

FINGERINGS_A_SHAPE = 8
FIRST_POSITION = 4
"""The highest fret of a shape by the nut."""
GUITAR_STRINGS = 6
"""The book's shapes are known on six strings; on another neck they would lie elsewhere."""


@dataclass(frozen=True, slots=True)
class ShapesFound:
    """A chord's shapes, best first. finds: by index into shapes, a known shape inside it that helps."""

    chord: ChosenChord
    spelling: Spelling
    setup: Setup
    hand_makes: ChordSymbol
    shapes: tuple[Shape, ...]
    finds: dict[int, Find]


def find_shapes(words: str, setup: Setup, book: ShapeBook, count: int) -> ShapesFound:
    """Raises InputError for what is no chord, or has no shape on this neck."""
    chord = parse_chosen(words)
    spelling = spell(str(chord.symbol))
    shapes = _usual_first(chord, setup, book, count)
    finds = {} if setup.tuning.strings != GUITAR_STRINGS else _finds(shapes, book)
    return ShapesFound(chord, spelling, setup, hand_symbol(chord.symbol, setup.tuning.capo), shapes, finds)


def _usual_first(chord: ChosenChord, setup: Setup, book: ShapeBook, count: int) -> tuple[Shape, ...]:
    """The shape by which players know the chord, then the others, unless a place or a span is asked for."""
    found = shapes_of(chord, setup, count)
    if chord.frets is not None or setup.near is not None or setup.span_mm is not None:
        return found
    usual = usual_shape(chord, setup, book)
    return (usual, *(shape for shape in found if shape != usual))[:count]


def _is_by_the_nut(shape: Shape) -> bool:
    """What a player knows best lies there: nobody finds Gm again as "C#m, six frets up"."""
    return max((fret or 0 for fret in shape.frets), default=0) <= FIRST_POSITION


def _finds(shapes: Sequence[Shape], book: ShapeBook) -> dict[int, Find]:
    known = {(shape.frets, shape.fingers) for shape in book.shapes.values()}
    by_the_nut = {name: shape for name, shape in book.shapes.items() if _is_by_the_nut(shape)}
    finds: dict[int, Find] = {}
    for number, shape in enumerate(shapes):
        if (shape.frets, shape.fingers) in known:
            continue
        find = next(filter(worth_telling, found_inside(shape, by_the_nut)), None)
        if find is not None:
            finds[number] = find
    return finds


@dataclass(frozen=True, slots=True)
class FingeredChange:
    """One way to finger both chords of a change. cost: of both shapes and the change between them."""

    move: HandMove
    cost: float


@dataclass(frozen=True, slots=True)
class ChangeFound:
    """A change as it is, the easiest other ways to make it, and its smaller pieces.

    place: its rank among `tried` ways by what holding and changing cost, 1 the easiest. easier: so many
    are easier to change and in all; easiest is the first of them. level: the second shape moved to the
    first one's place, or None, and why_not_level says why. shared: the steps of the shared drill, none when
    the shapes share nothing.
    """

    symbols: tuple[str, str]
    setup: Setup
    here_and_now: FingeredChange
    place: int
    tried: int
    others: tuple[FingeredChange, ...]
    easier: int
    easiest: FingeredChange | None
    level: Shape | None
    why_not_level: str
    shared: tuple[SharedStep, ...]


def find_change(
    words: str, setup: Setup, book: ShapeBook, others: int, any_shape: bool = False
) -> ChangeFound:
    """The change is compared with other fingerings of the same shapes; with any_shape, with other shapes too.

    Raises InputError for what is no change, or a chord without a shape on this neck.
    """
    chords = change_of(words)
    here, there = (usual_shape(chord, setup, book) for chord in chords)
    here_choices = _choices(chords[0], here, setup, any_shape)
    ways = _ways(here_choices, _choices(chords[1], there, setup, any_shape), setup)
    place = next(at for at, way in enumerate(ways) if (way.move.here, way.move.there) == (here, there))
    easier = [way for way in ways[:place] if way.move.cost < ways[place].move.cost]
    moved, why_not = _level(here, there)
    return ChangeFound(
        symbols=(str(chords[0]), str(chords[1])),
        setup=setup,
        here_and_now=ways[place],
        place=place + 1,
        tried=len(ways),
        others=tuple(way for at, way in enumerate(ways) if at != place)[:others],
        easier=len(easier),
        easiest=next(iter(easier), None),
        level=moved,
        why_not_level=why_not,
        shared=_shared(here, there, setup),
    )


def _choices(chord: ChosenChord, usual: Shape, setup: Setup, any_shape: bool) -> tuple[Candidate, ...]:
    """The fingerings of a chord to compare with the one that is meant, and that one."""
    if any_shape:
        return candidates(str(chord.symbol), setup.tuning, neck=setup.neck, usual=usual)
    same_frets = ChosenChord(chord.symbol, usual.frets)
    every = candidates(str(same_frets), setup.tuning, neck=setup.neck)
    if any(one.shape == usual for one in every):
        return every
    meant = str(replace(same_frets, fingers=usual.fingers))
    return (*candidates(meant, setup.tuning, neck=setup.neck), *every)


def _ways(here: Sequence[Candidate], there: Sequence[Candidate], setup: Setup) -> list[FingeredChange]:
    """Every way to finger both chords, the easiest first."""
    ways: dict[tuple[Shape, Shape], FingeredChange] = {}
    for first, second in product(here, there):
        change = move(first.shape, second.shape, setup.neck)
        cost = first.cost + change.cost + second.cost
        ways.setdefault((first.shape, second.shape), FingeredChange(change, cost))
    return sorted(ways.values(), key=lambda way: way.cost)


def _level(here: Shape, there: Shape) -> tuple[Shape | None, str]:
    try:
        return level(here, there), ""
    except InputError as why:
        return None, str(why)


def _shared(here: Shape, there: Shape, setup: Setup) -> tuple[SharedStep, ...]:
    try:
        return shared(here, there, setup.neck)
    except InputError:
        return ()


def find_route(
    words: str, setup: Setup, book: ShapeBook, *, repeats: bool, free: bool, any_shape: bool = False
) -> Plan:
    """The easiest fingering of the chords in a text, of each chord one, or free; chosen frets are kept.

    Every chord keeps the frets of its usual shape and only the fingers are chosen, unless any_shape lets it
    go anywhere on the neck.
    Raises InputError for what is no chord, or has no shape on this neck.
    """
    chords = read_chords(words)
    usual = {
        str(chord): known
        for chord in chords
        if chord.frets is None and (known := book_shape(chord.symbol, setup, book))
    }
    kept = {} if any_shape else {str(chord): _refingered(chord, setup, book) for chord in set(chords)}
    symbols = [str(chord) for chord in chords]
    return plan_route(
        symbols, setup.tuning, shapes=kept, usual=usual, neck=setup.neck, repeats=repeats, free=free
    )


def _refingered(chord: ChosenChord, setup: Setup, book: ShapeBook) -> tuple[Shape, ...]:
    """The usual shape of a chord, then the other ways to finger its frets, and the shape that is a finger
    away; only as chosen where it is."""
    usual = usual_shape(chord, setup, book)
    if chord.fingers is not None:
        return (usual,)
    others = list(shapes_of(replace(chord, frets=usual.frets), setup, FINGERINGS_A_SHAPE))
    others += [replace(usual, fingers=fingers) for fingers in listed(usual.frets)]
    if chord.frets is None and (other := beside(usual.frets)):
        others.append(Shape(*other, usual.tuning))
    return tuple(dict.fromkeys((usual, *others)))
