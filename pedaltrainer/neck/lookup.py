"""Pure: from a player's words to shapes: chosen frets, a capo, the book, chords in a row."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.notes import pitch_class
from pedaltrainer.neck.chords.symbols import ChordSymbol, ChosenChord, parse_chosen
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning, check_frets
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.geometry import HAND_SPAN_MM, USUAL_NECK, NeckSize
from pedaltrainer.neck.search import search
from pedaltrainer.neck.shapes import Shape

_ROOTS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_MINOR_ROOTS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
"""The usual names of keys, by pitch class (common practice, no published source)."""
_MINOR = re.compile(r"m(?!aj)|-|dim|°|o|ø")
_BAR_MARKS = re.compile(r"[|:]+|(?<=\s)[./%-]+(?=\s)")


@dataclass(frozen=True, slots=True)
class Setup:
    """What shapes are looked for with. near: a fret they are to lie near. span_mm: how far index and little
    finger reach apart; None: as far as hands usually do."""

    tuning: Tuning = STANDARD_TUNING
    near: int | None = None
    span_mm: float | None = None
    neck: NeckSize = USUAL_NECK


def hand_symbol(symbol: ChordSymbol, capo: int) -> ChordSymbol:
    """The chord whose shape the hand makes above a capo, where `symbol` is how it sounds."""
    if not capo:
        return symbol
    bass = None if symbol.bass is None else _ROOTS[(pitch_class(symbol.bass) - capo) % 12]
    return ChordSymbol(root_name(pitch_class(symbol.root) - capo, symbol.quality), symbol.quality, bass)


def root_name(root: int, quality: str = "") -> str:
    """The usual name of a pitch class as the root of a chord of a quality: Db, but C#m."""
    return (_MINOR_ROOTS if _MINOR.match(quality) else _ROOTS)[root % 12]


def shapes_of(chord: ChosenChord, setup: Setup, limit: int) -> tuple[Shape, ...]:
    """The shapes to play a chord with, best first: as chosen, or its fingerings, or all that were found.

    Raises InputError when there is none, or when chosen frets are not on this neck.
    """
    if chord.frets is None:
        span_mm = HAND_SPAN_MM if setup.span_mm is None else setup.span_mm
        found = search(str(chord.symbol), setup.tuning, near=setup.near, neck=setup.neck, span_mm=span_mm)
        return tuple(one.shape for one in found[:limit])
    try:
        check_frets(chord.frets, setup.tuning)
    except InputError as trouble:
        raise InputError(f"“{chord}”: {trouble}") from None
    if chord.fingers is not None:
        return (Shape(chord.frets, chord.fingers, setup.tuning),)
    held = fingerings(chord.frets, setup.tuning, setup.neck, limit)
    if not held:
        raise InputError(f"“{chord}” cannot be held by one hand; choose other frets, or name the fingers.")
    return tuple(Shape(chord.frets, one.fingers, setup.tuning) for one in held)


def usual_shape(chord: ChosenChord, setup: Setup, book: ShapeBook) -> Shape:
    """The shape that is meant when a player names a chord: as chosen, else the book's, else the best.

    Above a capo it is the book's shape of the chord that the hand makes.
    Raises InputError as `shapes_of` does.
    """
    known = book_shape(chord.symbol, setup, book) if chord.frets is None and setup.near is None else None
    return known or shapes_of(chord, setup, limit=1)[0]


def book_shape(symbol: ChordSymbol, setup: Setup, book: ShapeBook) -> Shape | None:
    """The book's shape of a chord in this tuning, or None."""
    if setup.tuning.open_midi != book.tuning.open_midi:
        return None
    known = book.find(str(hand_symbol(symbol, setup.tuning.capo)))
    return None if known is None else replace(known, tuning=setup.tuning)


def as_chosen(symbol: str, shape: Shape) -> str:
    """A chord with its frets and fingers, as a drill names it: G[320003/210003]."""
    return str(ChosenChord(parse_chosen(symbol).symbol, shape.frets, shape.fingers))


def as_drill(symbol: str, shape: Shape, book: ShapeBook) -> str:
    """The shortest name by which a session takes this very shape: G for the book's, else with its frets.

    A session knows of no capo: above one the chord is named after the shape that the hand makes.
    """
    made = str(hand_symbol(parse_chosen(symbol).symbol, shape.tuning.capo))
    known = book.find(made)
    is_known = known is not None and (known.frets, known.fingers) == (shape.frets, shape.fingers)
    in_the_book = is_known and shape.tuning.open_midi == book.tuning.open_midi
    return made if in_the_book else as_chosen(made, shape)


def read_chords(text: str) -> tuple[ChosenChord, ...]:
    """The chords of a text in their order; bar lines, beat marks (. / %) and lines from # on are passed over.

    Raises InputError for a word that is no chord, and when there is none.
    """
    lines = [line for line in text.splitlines() if not line.lstrip().startswith("#")]
    words = _BAR_MARKS.sub(" ", f" {'  '.join(lines).replace(' ', '  ')} ").split()
    if not words:
        raise InputError('There is no chord in it; name some, such as "Em C G D".')
    return tuple(parse_chosen(word) for word in words)


def change_of(words: str) -> tuple[ChosenChord, ChosenChord]:
    """The two chords of a change. Raises InputError when there are not two."""
    chords: Sequence[ChosenChord] = read_chords(words)
    if len(chords) != 2:
        raise InputError(f'“{words}” names {len(chords)} of the two chords of a change, such as "C Am".')
    return chords[0], chords[1]
