"""The open data as chords: the published positions of each root and suffix, and where ours stand to them."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from pedaltrainer.neck.notes import note_name
from pedaltrainer.neck.repertoire import Frets, Grip
from pedaltrainer.neck.search import shapes_for
from pedaltrainer.neck.spelling import Spelling, spell
from tests.neck.open_shapes import Row, read_rows

PLACES = 12
_PLAIN = {"major": "", "minor": "m"}


@dataclass(frozen=True)
class Chord:
    """One pair of root and suffix with its published positions in their order along the neck."""

    root: str
    suffix: str
    rows: tuple[Row, ...]

    @property
    def symbol(self) -> str:
        return self.root + _PLAIN.get(self.suffix, self.suffix)

    @property
    def tuned_on(self) -> bool:
        """Half of the pairs, by a hash: the first byte of SHA-256 of `root|suffix` is even."""
        return hashlib.sha256(f"{self.root}|{self.suffix}".encode()).digest()[0] % 2 == 0

    @cached_property
    def ranks(self) -> tuple[int | None, ...]:
        """For each row, the place of its frets among our shapes, from 1; None when not there."""
        ours = [shape.frets for shape in shapes_for(self.symbol, limit=None)]
        return tuple(ours.index(row.frets) + 1 if row.frets in ours else None for row in self.rows)

    @property
    def found(self) -> tuple[bool, ...]:
        """For each row, whether its frets are among our first twelve."""
        return tuple(rank is not None and rank <= PLACES for rank in self.ranks)


def read_chords() -> list[Chord]:
    rows: dict[tuple[str, str], list[Row]] = {}
    for row in read_rows():
        root, suffix, _ = row.name.split()
        rows.setdefault((root, suffix), []).append(row)
    return [Chord(root, suffix, tuple(positions)) for (root, suffix), positions in rows.items()]


def grips_on_c(rows: Iterable[tuple[Chord, Row]]) -> list[Grip]:
    """The grips of published positions, the most used first, each written for the root C at its lowest
    place; without the rows that sound a note their name does not have."""
    counted = Counter(
        (_symbol_on_c(spelling), _on_c(row.frets, spelling.root_pitch_class), 0 in row.frets)
        for chord, row in rows
        for spelling in [spell(chord.symbol)]
        if not foreign_notes(chord, row)
    )
    return [Grip(symbol, frets, roots, opened) for (symbol, frets, opened), roots in counted.most_common()]


def _symbol_on_c(spelling: Spelling) -> str:
    quality = spelling.symbol.quality
    bass = note_name(spelling.bass_pitch_class - spelling.root_pitch_class)
    return f"C{quality}/{bass}" if spelling.symbol.bass else f"C{quality}"


def _on_c(frets: Frets, root_pitch_class: int) -> Frets:
    lowest = min(fret for fret in frets if fret is not None)
    moved = (lowest - root_pitch_class) % 12 - lowest
    return tuple(None if fret is None else fret + moved for fret in frets)


def foreign_notes(chord: Chord, row: Row) -> set[int]:
    """Pitch classes that the row sounds and the symbol does not have."""
    return {note % 12 for note in row.midi} - spell(chord.symbol).pitch_classes


def needed_notes_missing(chord: Chord, row: Row) -> set[int]:
    return set(spell(chord.symbol).needed_pitch_classes) - {note % 12 for note in row.midi}
