"""What is advised for common changes and songs, as tables: python -m tests.benchmarks.taught

Of 25 changes what the hand does and the way that is called the easiest; of 19 progressions, played round and
round, the fingerings that are not the usual ones, each song fingered once, and how much cheaper the free
choice is. At the end how many fingerings that nobody teaches are among them: 0 is asked for.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable

from pedaltrainer.neck.findings import find_change, find_route
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.lookup import Setup, as_chosen
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.neck.taught import is_taught
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.telling.neck_words import in_short

CHANGES = (
    "C Am", "C F", "C G", "G D", "D A", "A D", "E A", "A E", "Am E", "Am F", "Am C", "Em C", "Em G", "G Em",
    "D Em", "Dm F", "F G", "F C", "D G", "E Am", "B7 E", "Bm A", "F#m D", "Dm7 G7", "G D/F#",
)  # fmt: skip
PROGRESSIONS = (
    "Em C G D", "C G Am F", "G D Em C", "A D E", "D A E A", "Am F C G", "C Am F G", "G C D G", "E A B7 E",
    "Am Dm E Am", "Dm7 G7 Cmaj7", "D G A D", "Am G F E", "C F G C", "G D Am C", "A E F#m D", "Bm G D A",
    "G D/F# Em C", "Em G D A",
)  # fmt: skip
"""Common ones of open chords and first barres (common practice, no published source)."""


def untaught(shapes: Iterable[Shape]) -> int:
    return sum(
        not is_taught(shape.frets, shape.fingers, fingerings(shape.frets)[0].fingers) for shape in shapes
    )


def change_rows() -> tuple[list[str], int]:
    """A table row a change, and how many fingerings in them are untaught."""
    rows, strange = [], 0
    for change in CHANGES:
        found = find_change(change, Setup(), shape_book(), 0)
        easier = ""
        if found.easiest is not None:
            move = found.easiest.move
            strange += untaught((move.here, move.there))
            named = " ".join(map(as_chosen, found.symbols, (move.here, move.there)))
            easier = f"{named}: {in_short(move)}"
        rows.append(f"| {change} | {in_short(found.here_and_now.move)} | {easier} |")
    return rows, strange


def progression_rows() -> tuple[list[str], int]:
    rows, strange = [], 0
    for song in PROGRESSIONS:
        once, free = (
            find_route(f"{song} {song}", Setup(), shape_book(), repeats=True, free=free)
            for free in (False, True)
        )
        strange += untaught(set(once.shapes))
        own = dict.fromkeys(
            as_chosen(symbol, shape)
            for symbol, shape, usual in zip(once.symbols, once.shapes, once.textbook, strict=True)
            if shape != usual
        )
        rows.append(f"| {song} | {', '.join(own)} | {1 - free.cost / once.cost:.1%} |")
    return rows, strange


def main() -> int:
    """Print both tables; 0 when no untaught fingering is in them."""
    of_changes, of_songs = change_rows(), progression_rows()
    print("| change | in short | called easier |\n|---|---|---|", *of_changes[0], sep="\n")
    print("\n| song | not as usual | free is cheaper by |\n|---|---|---|", *of_songs[0], sep="\n")
    print(f"\nuntaught: {of_changes[1]} in changes, {of_songs[1]} in songs")
    return 0 if of_changes[1] == of_songs[1] == 0 else 1


if __name__ == "__main__":
    sys.exit(main())
