"""The pages of home: from what is known to the rows of a page. Pure.

Every page has a way back as its last row, home's own being the question whether to close. What a row does is
an errand; the pages that errands lead to are those of `live.places`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pedaltrainer.practice.drill import Drill
from pedaltrainer.screen.view import BarsView, ClimbView
from pedaltrainer.session import home as walk
from pedaltrainer.session.home import AGAIN, BACK, Errand, Leaf, LeafRow, Verb

HOME = walk.HOME


def turn(words: str, to: str, value: str = "", chords: Sequence[str] = ()) -> LeafRow:
    """A row that leads to another page. chords: drawn as boxes while it is marked."""
    return LeafRow(words, Errand(Verb.TURN, to, value), tuple(chords))


def do(words: str, to: str, value: str = "", then: str = "", then_value: str = "") -> LeafRow:
    """A row that does something, and stays; or that leads on to the page `then`."""
    return LeafRow(words, Errand(Verb.DO, to, value, then, then_value))


def teach(words: str, then: str = "", value: str = "") -> LeafRow:
    """A row that begins a lesson for the pedal; after it comes this page, or the page `then`."""
    return LeafRow(words, Errand(Verb.TEACH, value=value, then=then))


def play(words: str, to: str, value: str = "", then: str = "") -> LeafRow:
    """A row that begins a session; after it comes the page `then`, or the same one."""
    return LeafRow(words, Errand(Verb.PLAY, to, value, then))


def back(words: str = "Back") -> LeafRow:
    return LeafRow(words, BACK)


def page(
    to: str,
    title: str,
    rows: Iterable[LeafRow],
    *,
    value: str = "",
    lines: Sequence[str] = (),
    chords: Sequence[str] = (),
    marked: int = 0,
    taps: bool = False,
    climb: ClimbView | None = None,
    bars: BarsView | None = None,
) -> Leaf:
    """A page with a way back as its last row."""
    place = Errand(Verb.TURN, to, value)
    return Leaf(place, title, (*rows, back()), tuple(lines), marked, tuple(chords), taps, climb, bars=bars)


DRILLS = ";"
"""Between the drills of a value."""


def drills_value(drills: Iterable[Drill]) -> str:
    """Drills as the value of an errand."""
    return DRILLS.join(drill.words for drill in drills)


def trouble(place: Errand, sentence: str, leads_to: Errand = BACK) -> Leaf:
    """What could not be done or shown: why, and the way back."""
    rows = [LeafRow("Back", leads_to)]
    if place.to == HOME:
        # Nothing lies before home: it is tried again, or left.
        rows = [LeafRow("Try again", AGAIN), turn("Close", "close")]
    return Leaf(place, "That did not work", tuple(rows), (sentence,))
