"""What a page says, before it is HTML: sections of plain blocks.

Words are text, names and links. A `Name` is somebody else's text (a player, a song): it may hold anything,
run from right to left, and still stands apart from the words around it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Name:
    """A name; to: the key of the section it leads to."""

    text: str
    to: str | None = None


Words = str | Name | tuple[str | Name, ...]


@dataclass(frozen=True, slots=True)
class Lines:
    """Sentences, one below the other; as a list when marked."""

    lines: tuple[Words, ...]
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """A few figures, each under what it is of."""

    pairs: tuple[tuple[str, Words], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """The first cell of a row heads it. figures: columns set to the right. folded: shown when asked for,
    and always in print."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Words, ...], ...]
    figures: frozenset[int] = frozenset()
    folded: bool = False


class PlotDay(NamedTuple):
    """One day's clean tempo and the ends of its interval, in BPM; None where that is not told."""

    at: date
    bpm: float | None
    low_bpm: float | None
    high_bpm: float | None


class PlotPoint(NamedTuple):
    """The trend at a moment, as a proleptic Gregorian ordinal with its part of the day, in BPM."""

    at_days: float
    bpm: float
    low_bpm: float
    high_bpm: float


@dataclass(frozen=True, slots=True)
class TrendPlot:
    """A drill's days on a logarithmic scale from low_bpm to high_bpm. target_bpm may lie off it."""

    title: str
    description: str
    days: tuple[PlotDay, ...]
    line: tuple[PlotPoint, ...]
    low_bpm: float
    high_bpm: float
    target_bpm: float | None = None


@dataclass(frozen=True, slots=True)
class Bars:
    """How many of `of`, on each of some dates."""

    title: str
    description: str
    counts: tuple[tuple[date, int], ...]
    of: int


class Week(NamedTuple):
    """A week from its Monday on: the minutes played, and on how many days."""

    monday: date
    minutes: float
    days: int


@dataclass(frozen=True, slots=True)
class Weeks:
    """Minutes played week by week, a board as long as they are, the oldest first."""

    caption: str
    weeks: tuple[Week, ...]


Block = Lines | Facts | Table | TrendPlot | Bars | Weeks


@dataclass(frozen=True, slots=True)
class PageSection:
    """A heading and what stands under it. key: letters, digits and hyphens, its own on the page.

    apart: in print it begins a sheet.
    """

    key: str
    heading: Words
    blocks: tuple[Block, ...] = ()
    sections: tuple[PageSection, ...] = ()
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """title: also the heading of all. lead: what is said first."""

    title: Words
    lead: tuple[Block, ...]
    sections: tuple[PageSection, ...]
