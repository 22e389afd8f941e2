"""How many published shapes are found, what kinds are missed, and how fast: python -m tests.benchmarks.shapes

    [--misses]   name every published position that is not among the first twelve
    [--grips]    only print the grips in use, as pedaltrainer/neck/grips.py has them

The open data (tests/data/README.md) as they are, whose grips the program has, and with positions hidden: the
grips are then drawn from those that are shown, and the shares are those of the hidden ones. Speed: each of 12
roots x 40 qualities on its own, with nothing cached, then all of them again; time of the processor alone, so
that what else runs does not count.
"""

from __future__ import annotations

import argparse
import textwrap
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import fields

import numpy as np

from pedaltrainer.neck import fingering, search, shapes_for
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.songs.shipped import shape_book
from tests.neck.open_shapes import Row
from tests.neck.published import (
    PLACES,
    Chord,
    Shares,
    Split,
    foreign_notes,
    grips_on_c,
    hiding_roots,
    hiding_rows,
    needed_notes_missing,
    read_chords,
    repertoire_from,
    shares,
)
from tests.neck.usual_shapes import read_usual_shapes

ROOTS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
QUALITIES = (
    "", "m", "7", "m7", "maj7", "6", "m6", "69", "9", "m9", "maj9", "11", "m11", "13", "m13", "maj13", "5",
    "add9", "madd9", "sus2", "sus4", "7sus4", "9sus4", "dim", "dim7", "m7b5", "aug", "aug7", "7b5", "7#5",
    "7b9", "7#9", "9#11", "maj7#11", "maj7#5", "mmaj7", "mmaj9", "m69", "7alt", "13b9",
)  # fmt: skip


def kind_of_miss(chord: Chord, row: Row, rank: int | None) -> str:
    """Why a published position is not among our first twelve."""
    sounding = [string for string, fret in enumerate(row.frets) if fret is not None]
    skipped = sounding[-1] - sounding[0] + 1 - len(sounding)
    if foreign_notes(chord, row):
        return "sounds a note that its name does not have"
    if needed_notes_missing(chord, row):
        return "leaves out a needed tone"
    if skipped > 1:
        return "two silent strings amid sounding ones"
    if min(fret for fret in row.frets if fret is not None) > PLACES:
        return "beyond the twelfth fret"
    if rank is not None:
        return f"our {PLACES + 1}th to 24th" if rank <= 24 else "our 25th or later"
    return "not among those given fingers"


def report_hidden(name: str, splits: Sequence[Split]) -> None:
    every = [shares(hidden, repertoire_from(shown)) for shown, hidden in splits]
    means = (float(np.mean([getattr(one, field.name) for one in every])) for field in fields(Shares))
    print(f"{name}: {Shares(*means)}")


def report_misses(chords: Sequence[Chord], one_by_one: bool) -> None:
    missed = [
        (kind_of_miss(chord, row, rank), row.name, row.frets, rank)
        for chord in chords
        for row, rank, hit in zip(chord.rows, chord.ranks(), chord.found(), strict=True)
        if not hit
    ]
    for kind, count in Counter(kind for kind, *_ in missed).most_common():
        print(f"  {count:4} {kind}")
    for kind, name, frets, rank in sorted(missed, key=lambda miss: miss[:2]) if one_by_one else ():
        print(f"  {name}: {' '.join('x' if f is None else str(f) for f in frets)}: {kind}, rank {rank}")


def grips_in_use(chords: Sequence[Chord]) -> str:
    """GRIPS_ON_C as pedaltrainer/neck/grips.py has it: the most used first."""
    words: dict[str, list[str]] = {}
    for grip in grips_on_c(chords):
        signs = "".join("x" if fret is None else np.base_repr(fret, 32).lower() for fret in grip.frets)
        kind = "~" if grip.opened else "*" if grip.roots > 1 else ""
        words.setdefault(grip.symbol, []).append(signs + kind + (str(grip.roots) if grip.roots > 1 else ""))
    lines = []
    for symbol, grips in sorted(words.items()):
        first, *more = textwrap.wrap(" ".join(grips), 92)
        lines += [f'    "{symbol}": "{first}"', *(f'    " {line}"' for line in more)]
        lines[-1] += ","
    return "\n".join(lines)


def times_ms(symbols: Sequence[str]) -> np.ndarray:
    spent = np.empty(len(symbols))
    for index, symbol in enumerate(symbols):
        before = time.process_time()
        shapes_for(symbol)
        spent[index] = (time.process_time() - before) * 1000
    return spent


def report_speed() -> None:
    shapes_for("C")
    search._search.cache_clear()
    fingering._best.cache_clear()
    spell.cache_clear()
    symbols = [root + quality for root in ROOTS for quality in QUALITIES]
    for name in ("cold", "cached"):
        spent = times_ms(symbols)
        p50, p99 = np.percentile(spent, [50, 99])
        print(
            f"{name:<9} {len(symbols)} symbols in {spent.sum() / 1000:.2f} s:"
            f" p50 {p50:.3f} ms, p99 {p99:.3f} ms, max {spent.max():.3f} ms"
        )


def lowest_first(shape: Shape) -> tuple[int, int, int]:
    """A plain rival: what lies lowest on the neck, has the most strings, and the fewest fingers."""
    return (
        max(fret or 0 for fret in shape.frets),
        -len(shape.midi),
        len({finger for finger in shape.fingers if finger}),
    )


def report_first() -> None:
    """How often the usual shape comes first, by the search alone and as a drill plays it; how often never."""
    book = shape_book()
    for name in ("usual_shapes.csv", "more_usual_shapes.csv", "other_usual_shapes.csv"):
        rows = read_usual_shapes(name)
        found = {row.symbol: shapes_for(row.symbol, limit=None) for row in rows}
        first = sum(row.has(found[row.symbol][0]) for row in rows)
        drilled = sum(row.has(usual_shape(parse_chosen(row.symbol), Setup(), book)) for row in rows)
        lowest = sum(row.has(min(found[row.symbol], key=lowest_first)) for row in rows)
        absent = [row.symbol for row in rows if not any(map(row.has_frets, found[row.symbol]))]
        print(
            f"{name}: {len(rows)} symbols, usual first {first}, in a drill {drilled}, absent: {absent or 0}; "
            f"of the same shapes the lowest on the neck is the usual one {lowest} times"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--misses", action="store_true")
    parser.add_argument("--grips", action="store_true")
    asked = parser.parse_args()
    chords = read_chords()
    if asked.grips:
        print(grips_in_use(chords))
        return
    report_first()
    report_speed()
    print(f"all shown: {shares(chords)}")
    report_misses(chords, asked.misses)
    report_hidden("half of the positions hidden, mean of 5", [hiding_rows(chords, seed) for seed in range(5)])
    report_hidden("a tenth hidden, mean of 5", [hiding_rows(chords, seed, 0.1) for seed in range(5)])
    report_hidden("six of the roots hidden, mean of 5", [hiding_roots(chords, seed) for seed in range(5)])


if __name__ == "__main__":
    main()
