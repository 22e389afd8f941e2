"""The open data: 1,046 fingered positions (see tests/data/README.md), parted into tuned-on and held-out."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pedaltrainer.neck.fingering import fingerings

OPEN_SHAPES = Path(__file__).parents[1] / "data" / "open_shapes.csv"
TENTHS_TUNED_ON = 7


@dataclass(frozen=True)
class Row:
    """One published position. midi: the notes that sound, lowest string first. rank: the place of its
    fingering among ours, from 1; None when not there."""

    name: str
    frets: tuple[int | None, ...]
    fingers: tuple[int, ...]
    midi: tuple[int, ...]

    @property
    def rank(self) -> int | None:
        ours = [held.fingers for held in fingerings(self.frets)]
        return ours.index(self.fingers) + 1 if self.fingers in ours else None

    @property
    def tenth(self) -> int:
        """0 to 9, by a hash of the frets: the same frets are never both tuned on and held out."""
        return int(hashlib.sha256(repr(self.frets).encode()).hexdigest(), 16) % 10

    @property
    def held_out(self) -> bool:
        return self.tenth >= TENTHS_TUNED_ON

    def __str__(self) -> str:
        frets = " ".join("x" if fret is None else str(fret) for fret in self.frets)
        return f"{self.name}: {frets} with {' '.join(map(str, self.fingers))}"


def read_rows() -> list[Row]:
    lines = OPEN_SHAPES.read_text(encoding="utf-8").splitlines()
    table = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [
        Row(
            f"{row['root']} {row['suffix']} {row['position']}",
            tuple(None if word == "x" else int(word) for word in row["frets"].split()),
            tuple(int(word) for word in row["fingers"].split()),
            tuple(int(word) for word in row["midi"].split()),
        )
        for row in table
    ]


def share_within(rows: Iterable[Row], places: int) -> float:
    """The share of rows whose published fingering is among our first few."""
    found = [row.rank is not None and row.rank <= places for row in rows]
    return sum(found) / len(found)
