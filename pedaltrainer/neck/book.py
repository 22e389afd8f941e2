"""The book of shapes: a TOML file of our own with one table a chord.

[Am]
frets = "x 0 2 2 1 0"
fingers = "0 0 2 3 1 0"
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import pitch_class
from pedaltrainer.neck.chords.symbols import ChordSymbol, parse_chord
from pedaltrainer.neck.chords.tuning import HIGHEST_FRET, STANDARD_TUNING, Tuning
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.system.reading import is_missing, parse_toml, read_text

MOST_BYTES = 1_000_000


ChordSound = tuple[int, str, int | None]


def sound_of(chord: ChordSymbol) -> ChordSound:
    """What sounds alike is equal: Db and C#."""
    bass = None if chord.bass is None else pitch_class(chord.bass)
    return pitch_class(chord.root), chord.quality, bass


@dataclass(frozen=True, eq=False)
class ShapeBook:
    """Shapes by chord symbol, as written in shape files, for one tuning. A book equals only itself."""

    shapes: Mapping[str, Shape]
    tuning: Tuning = STANDARD_TUNING

    def find(self, symbol: str) -> Shape | None:
        """The shape for a symbol, or for another name of the same notes (Db for C#); None when the book has
        none."""
        chord = parse_chord(symbol)
        own = self.shapes.get(str(chord))
        return own if own is not None else self._by_sound.get(sound_of(chord))

    @cached_property
    def _by_sound(self) -> Mapping[ChordSound, Shape]:
        return {sound_of(parse_chord(name)): shape for name, shape in self.shapes.items()}

    def under(self, over: ShapeBook) -> ShapeBook:
        """The book with the shapes of another laid over its own."""
        return replace(self, shapes={**self.shapes, **over.shapes})

    def in_tuning(self, tuning: Tuning) -> ShapeBook:
        """The book for another tuning: its shapes are of no use there."""
        return self if tuning == self.tuning else ShapeBook({}, tuning)


def read_shape_book(path: Path) -> ShapeBook:
    """Read a shape file.

    Raises InputError naming the file, the chord and the mend when it cannot be read.
    """
    if is_missing(path):
        raise InputError(f"The shape file {path} is not there; install the trainer again.")
    try:
        tables = parse_toml(read_text(path, MOST_BYTES))
    except tomllib.TOMLDecodeError as trouble:
        raise InputError(f"The shape file {path} is not readable TOML: {trouble}.") from None
    return ShapeBook(
        {str(parse_chord(name)): read_shape(path, name, table) for name, table in tables.items()}
    )


def read_shape(path: Path, name: str, table: object) -> Shape:
    """One shape from its table; path: where it stands. Raises InputError as `read_shape_book`."""
    if not isinstance(table, dict) or not {"frets", "fingers"} <= table.keys():
        raise InputError(f"{path}: [{name}] needs two lines, frets and fingers.")
    frets = tuple(_read_fret(path, name, word) for word in str(table["frets"]).split())
    fingers = tuple(_read_finger(path, name, word) for word in str(table["fingers"]).split())
    if len(frets) != STANDARD_TUNING.strings or len(fingers) != len(frets):
        raise InputError(f"{path}: [{name}] needs six frets and six fingers, lowest string first.")
    for fret, finger in zip(frets, fingers, strict=True):
        if bool(fret) != bool(finger):
            raise InputError(
                f"{path}: [{name}] must name a finger for each fretted string and 0 for the others."
            )
    return Shape(frets, fingers)


def _read_fret(path: Path, name: str, word: str) -> int | None:
    if word == "x":
        return None
    if re.fullmatch("[0-9]{1,2}", word) and int(word) <= HIGHEST_FRET:
        return int(word)
    raise InputError(f"{path}: [{name}] has the fret “{word}”; write x, or 0 to {HIGHEST_FRET}.")


def _read_finger(path: Path, name: str, word: str) -> int:
    if word in {"0", "1", "2", "3", "4", "5"}:
        return int(word)
    raise InputError(f"{path}: [{name}] has the finger “{word}”; write 0 to 4, or 5 for the thumb.")
