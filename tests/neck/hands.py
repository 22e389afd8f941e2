"""Shapes as players write them, and made-up ones, for the tests of moves, pieces and routes."""

from __future__ import annotations

from hypothesis import strategies as st

from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.neck.shapes import Shape


def hand(frets: str, fingers: str, tuning: Tuning = STANDARD_TUNING) -> Shape:
    """A shape from its frets and fingers, lowest string first: hand("x 3 2 0 1 0", "0 3 2 0 1 0")."""
    return Shape(
        tuple(None if fret == "x" else int(fret) for fret in frets.split()),
        tuple(int(finger) for finger in fingers.split()),
        tuning,
    )


C = hand("x 3 2 0 1 0", "0 3 2 0 1 0")
D = hand("x x 0 2 3 2", "0 0 0 1 3 2")
E = hand("0 2 2 1 0 0", "0 2 3 1 0 0")
F = hand("1 3 3 2 1 1", "1 3 4 2 1 1")
G_123 = hand("3 2 0 0 0 3", "2 1 0 0 0 3")
G_234 = hand("3 2 0 0 0 3", "3 2 0 0 0 4")
A = hand("x 0 2 2 2 0", "0 0 1 2 3 0")
A_BARRE = hand("5 7 7 6 5 5", "1 3 4 2 1 1")
AM = hand("x 0 2 2 1 0", "0 0 2 3 1 0")
BM = hand("x 2 4 4 3 2", "0 1 3 4 2 1")
EM = hand("0 2 2 0 0 0", "0 2 3 0 0 0")
ALL_OPEN = hand("0 0 0 0 0 0", "0 0 0 0 0 0")


@st.composite
def hands(draw: st.DrawFn, lowest_fret: int = 1, fewest_fingers: int = 0, open_strings: bool = True) -> Shape:
    """Any shape of six strings with at most one string a finger, but for a barre of the index finger."""
    strings = draw(st.permutations(range(6)))
    fingers = draw(st.lists(st.sampled_from((1, 2, 3, 4)), unique=True, min_size=fewest_fingers))
    base = draw(st.integers(lowest_fret, 12))
    rest = st.sampled_from((None, 0)) if open_strings else st.none()
    frets: list[int | None] = [draw(rest) for _ in range(6)]
    held = [0] * 6
    for finger, string in zip(fingers, strings, strict=False):
        frets[string], held[string] = base + draw(st.integers(0, 3)), finger
    if 1 in fingers and draw(st.booleans()):
        flat_fret = frets[held.index(1)]
        for string in strings[len(fingers) : len(fingers) + 2]:
            frets[string], held[string] = flat_fret, 1
    return Shape(tuple(frets), tuple(held))
