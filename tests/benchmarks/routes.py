"""How long routes take, and that they grow linearly with the song: python -m tests.benchmarks.routes

Songs are drawn from 12 roots x 40 common qualities with a fixed seed, so that nearly every change is a new
one: the worst case, since each distinct change is computed once. The shapes of every chord are looked up
beforehand, and `--cold` tells how long that takes; the costs of the changes are part of what is measured.
The best of several runs counts.
"""

from __future__ import annotations

import argparse
import sys
import time
from itertools import pairwise

import numpy as np

from pedaltrainer.neck import route

LENGTHS = (100, 200, 400, 800)
LIMIT_MS = 100.0
ROOTS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
QUALITIES = (
    "", "m", "7", "m7", "maj7", "sus2", "sus4", "dim", "dim7", "aug", "6", "m6", "9", "m9", "maj9",
    "add9", "7sus4", "m7b5", "7b5", "7#5", "7b9", "7#9", "mmaj7", "11", "m11", "13", "maj13", "69", "m69",
    "5", "maj7#11", "9sus4", "7b13", "9#11", "madd9", "maj7#5", "maj7b5", "9b5", "aug7", "m13",
)  # fmt: skip


def song(length: int, seed: int = 5) -> list[str]:
    """Chords at random."""
    rng = np.random.default_rng(seed)
    return [ROOTS[rng.integers(len(ROOTS))] + QUALITIES[rng.integers(len(QUALITIES))] for _ in range(length)]


def best_ms(symbols: list[str], runs: int, free: bool) -> float:
    """The shortest time of `runs` routes, in ms."""
    spent = []
    for _ in range(runs):
        before = time.perf_counter()
        route(symbols, free=free)
        spent.append((time.perf_counter() - before) * 1000)
    return min(spent)


def main(runs: int, cold: bool, free: bool) -> int:
    """Print a line a length; 0 when 200 chords take no longer than the limit."""
    songs = {length: song(length) for length in LENGTHS}
    if cold:
        before = time.perf_counter()
        route(songs[LENGTHS[-1]])
        print(f"{LENGTHS[-1]} chords with their shapes to look up: {time.perf_counter() - before:.2f} s")
    for symbols in songs.values():
        route(symbols, free=free)
    spent = {length: best_ms(symbols, runs, free) for length, symbols in songs.items()}
    for length, symbols in songs.items():
        changes = len(set(pairwise(symbols)))
        print(
            f"{length:4d} chords, {changes:3d} distinct changes: {spent[length]:6.1f} ms, "
            f"{spent[length] / spent[LENGTHS[0]]:.2f} times {LENGTHS[0]} chords"
        )
    return 0 if spent[200] <= LIMIT_MS else 1


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--cold", action="store_true")
    parser.add_argument("--free", action="store_true", help="a chord fingered anew wherever it comes")
    given = parser.parse_args()
    sys.exit(main(given.runs, given.cold, given.free))
