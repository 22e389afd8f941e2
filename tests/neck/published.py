"""The open data as chords: the published positions of each root and suffix, and where ours stand to them."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from pedaltrainer.neck.chords.notes import note_name
from pedaltrainer.neck.chords.spelling import Spelling, spell
from pedaltrainer.neck.repertoire import (
    Frets,
    KnownGrip,
    Repertoire,
    moved_grips,
    repertoire_of,
    taught_grips,
)
from pedaltrainer.neck.search import search
from tests.neck.open_shapes import Row, read_rows

PLACES = 12
_PLAIN = {"major": "", "minor": "m"}


@dataclass(frozen=True)
class Chord:
    """One pair of root and suffix with its published positions, or some of them, in their order along the
    neck."""

    root: str
    suffix: str
    rows: tuple[Row, ...]

    @property
    def symbol(self) -> str:
        return self.root + _PLAIN.get(self.suffix, self.suffix)

    def ranks(self, repertoire: Repertoire | None = None) -> tuple[int | None, ...]:
        """For each row, the place of its frets among our shapes, from 1; None when not there."""
        ours = [found.shape.frets for found in search(self.symbol, repertoire=repertoire)]
        return tuple(ours.index(row.frets) + 1 if row.frets in ours else None for row in self.rows)

    def found(self, repertoire: Repertoire | None = None) -> tuple[bool, ...]:
        """For each row, whether its frets are among our first twelve."""
        return tuple(rank is not None and rank <= PLACES for rank in self.ranks(repertoire))


def read_chords() -> list[Chord]:
    rows: dict[tuple[str, str], list[Row]] = {}
    for row in read_rows():
        root, suffix, _ = row.name.split()
        rows.setdefault((root, suffix), []).append(row)
    return [Chord(root, suffix, tuple(positions)) for (root, suffix), positions in rows.items()]


@dataclass(frozen=True)
class Shares:
    """What is among our first twelve: of all positions, and of the pairs of root and suffix those with every
    position there, with their lowest, and with any."""

    positions: float
    every: float
    lowest: float
    any: float

    def __str__(self) -> str:
        return (
            f"{self.positions:.1%} of the positions; of the pairs every position {self.every:.1%},"
            f" the lowest {self.lowest:.1%}, any {self.any:.1%}"
        )


def shares(chords: Sequence[Chord], repertoire: Repertoire | None = None) -> Shares:
    found = [chord.found(repertoire) for chord in chords]
    pairs = len(found)
    return Shares(
        sum(map(sum, found)) / sum(map(len, found)),
        sum(map(all, found)) / pairs,
        sum(each[0] for each in found) / pairs,
        sum(map(any, found)) / pairs,
    )


Split = tuple[list[Chord], list[Chord]]
"""Chords with the positions that are shown, and with those that are hidden."""


def hiding_rows(chords: Sequence[Chord], seed: int, share: float = 0.5) -> Split:
    """A random share of all positions hidden: most pairs keep others."""
    rows = [(chord, row) for chord in chords for row in chord.rows]
    hidden = set(random.Random(seed).sample(range(len(rows)), round(share * len(rows))))
    return (
        _as_chords(pair for index, pair in enumerate(rows) if index not in hidden),
        _as_chords(pair for index, pair in enumerate(rows) if index in hidden),
    )


def hiding_roots(chords: Sequence[Chord], seed: int) -> Split:
    """All positions of six random roots hidden."""
    roots = sorted({chord.root for chord in chords})
    hidden = set(random.Random(seed).sample(roots, len(roots) // 2))
    return [one for one in chords if one.root not in hidden], [one for one in chords if one.root in hidden]


def _as_chords(rows: Iterable[tuple[Chord, Row]]) -> list[Chord]:
    parted = groupby(rows, key=lambda pair: pair[0])
    return [Chord(one.root, one.suffix, tuple(row for _, row in pairs)) for one, pairs in parted]


def repertoire_from(chords: Sequence[Chord]) -> Repertoire:
    """As the program's own, but with the grips of these positions alone."""
    return repertoire_of(grips_on_c(chords), taught_grips(), moved_grips())


def grips_on_c(chords: Iterable[Chord]) -> list[KnownGrip]:
    """The grips of published positions, the most used first, each written for the root C at its lowest
    place; without the rows that sound a note their name does not have."""
    counted = Counter(
        (_symbol_on_c(spelling), _on_c(row.frets, spelling.root_pitch_class), 0 in row.frets)
        for chord in chords
        for spelling in [spell(chord.symbol)]
        for row in chord.rows
        if not foreign_notes(chord, row)
    )
    return [
        KnownGrip(symbol, frets, roots, opened) for (symbol, frets, opened), roots in counted.most_common()
    ]


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
