"""From shapes and changes to chord boxes, with the notes and degrees below the strings."""

from __future__ import annotations

from pedaltrainer.neck.box import ChordBox
from pedaltrainer.neck.chords.notes import note_name
from pedaltrainer.neck.chords.spelling import Spelling, spell
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import as_chosen
from pedaltrainer.neck.moves import Deed, HandMove
from pedaltrainer.neck.shapes import Shape

_DEGREES = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")


def sounding(shape: Shape) -> tuple[int | None, ...]:
    """The MIDI note number of each string, None where it does not sound."""
    return tuple(
        None if fret is None else shape.tuning.note(string, fret) for string, fret in enumerate(shape.frets)
    )


def note_and_degree(spelling: Spelling, midi: int) -> tuple[str, str]:
    """How a note is named in a chord; one that is not of the chord has its degree in parentheses."""
    try:
        return spelling.note_name_of(midi % 12), spelling.degree_of(midi % 12)
    except ValueError:
        return note_name(midi), f"({_DEGREES[(midi - spelling.root_pitch_class) % 12]})"


def foreign_notes(symbol: str, shape: Shape) -> tuple[str, ...]:
    """The notes of a chosen shape that are not of the chord, each once."""
    notes, degrees = strings_named(symbol, shape)
    pairs = zip(notes, degrees, strict=True)
    return tuple(dict.fromkeys(note for note, degree in pairs if degree.startswith("(")))


def strings_named(symbol: str, shape: Shape) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The note and the degree of each string in a chord; "" where it does not sound."""
    spelling = spell(str(parse_chosen(symbol).symbol))
    named = [("", "") if midi is None else note_and_degree(spelling, midi) for midi in sounding(shape)]
    notes, degrees = zip(*named, strict=True)
    return notes, degrees


def shape_box(symbol: str, shape: Shape, title: str = "") -> ChordBox:
    """A shape's box: titled, with the frets and fingers to ask for it by below."""
    plain = str(parse_chosen(symbol).symbol)
    return ChordBox(
        title=title or plain,
        frets=shape.frets,
        fingers=shape.fingers,
        below=strings_named(symbol, shape),
        caption=(as_chosen(symbol, shape).removeprefix(plain),),
        capo=shape.tuning.capo,
    )


def change_boxes(symbols: tuple[str, str], change: HandMove) -> tuple[ChordBox, ChordBox]:
    """The two boxes of a change, with the fingers marked that stay or move as one block."""
    names = [str(parse_chosen(symbol).symbol) for symbol in symbols]
    here, there = (
        ChordBox(
            title=name,
            frets=shape.frets,
            fingers=shape.fingers,
            below=strings_named(symbol, shape),
            stays=_held(shape, change.doing(Deed.STAYS)),
            together=_held(shape, change.doing(Deed.BLOCK)),
            capo=shape.tuning.capo,
        )
        for name, symbol, shape in zip(names, symbols, (change.here, change.there), strict=True)
    )
    return here, there


def _held(shape: Shape, fingers: tuple[int, ...]) -> frozenset[int]:
    return frozenset(
        string
        for string, (fret, finger) in enumerate(zip(shape.frets, shape.fingers, strict=True))
        if fret and finger in fingers
    )
