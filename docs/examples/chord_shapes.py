"""Shapes of a chord, their fingers, and the easiest way through a row: python chord_shapes.py [CHORD]"""

import sys
from collections.abc import Iterable

from pedaltrainer.neck import fingerings, route, shapes_for


def frets(numbers: Iterable[int | None]) -> str:
    """As players write them, from the lowest string up; x is not played."""
    return " ".join("x" if fret is None else str(fret) for fret in numbers)


def main(chord: str) -> None:
    print(f"{chord}, best first")
    for shape in shapes_for(chord, limit=5):
        print(f"  {frets(shape.frets):<18} fingers {frets(shape.fingers)}")

    # The same frets can be held in several ways; a cost of one is about one more finger.
    print("G as 3 2 0 0 0 3")
    for fingering in fingerings((3, 2, 0, 0, 0, 3), limit=3):
        print(f"  fingers {frets(fingering.fingers)}   cost {fingering.cost:.2f}")

    print("Em C G D, round and round")
    chords = ("Em", "C", "G", "D")
    for name, shape in zip(chords, route(chords, repeats=True), strict=True):
        print(f"  {name:<4} {frets(shape.frets):<18} fingers {frets(shape.fingers)}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "Bm7b5")
