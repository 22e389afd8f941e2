"""The shapes that the trade takes first for chord symbols (see tests/data/README.md)."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pedaltrainer.neck.shapes import Shape

DATA = Path(__file__).parents[1] / "data"


@dataclass(frozen=True)
class UsualShapes:
    """usual: frets, and the fingerings that are usual for them; none: any fingering is."""

    symbol: str
    usual: tuple[tuple[str, tuple[str, ...]], ...]

    def has_frets(self, shape: Shape) -> bool:
        return frets_text(shape) in {frets for frets, _ in self.usual}

    def has(self, shape: Shape) -> bool:
        fingers = "".join(map(str, shape.fingers))
        return any(
            frets == frets_text(shape) and (not usual or fingers in usual) for frets, usual in self.usual
        )


def frets_text(shape: Shape) -> str:
    """`x32010`: a sign a string from the lowest; digits beyond the ninth fret are letters."""
    return "".join("x" if fret is None else "0123456789abcdefghijklmno"[fret] for fret in shape.frets)


def read_usual_shapes(name: str) -> Sequence[UsualShapes]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [
        UsualShapes(
            row["symbol"],
            tuple(
                (frets, tuple(fingers.split(",")) if fingers else ())
                for frets, _, fingers in (one.partition("/") for one in row["usual"].split())
            ),
        )
        for row in rows
    ]
