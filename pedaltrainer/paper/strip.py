"""The heat strip: a song's bars in rows, a section after another, each change as dark as it is far off.

Lightness, a number and a plank tell the same thing, so that it reads in grey and at arm's length. Lengths
on the page are in inches.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path
from typing import Any, NamedTuple

from pedaltrainer.paper.boxes import signs
from pedaltrainer.paper.page import ACCENT, FAINT, GROUND, INK, check_kind, our_look, save


class Level(IntEnum):
    """How far off a change is."""

    READY = 0
    NEAR = 1
    SHORT = 2
    FAR = 3
    UNKNOWN = 4


@dataclass(frozen=True, slots=True)
class Stretch:
    """A chord of a bar, from where it is landed to the next one. start, end: shares of the bar.

    level: of the change to it, None where nothing changes. figure: the number below it. is_bottleneck: the
    change that holds the song back.
    """

    start: float
    end: float
    chord: str
    level: Level | None = None
    figure: str = ""
    is_bottleneck: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """A bar: its number in the song, its chords."""

    number: int
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A section of the song: its name, with how often it is played, and its bars."""

    name: str
    cells: tuple[Cell, ...]


class Strip(NamedTuple):
    """All that is on the page. levels: what each one is called. bottleneck: what its mark is called, ""
    where there is none. figures: what the numbers are."""

    title: str
    below_title: Sequence[str]
    parts: Sequence[Part]
    levels: Mapping[Level, str]
    bottleneck: str
    figures: str


FILLS = {
    Level.READY: GROUND,
    Level.NEAR: "#e8dbc4",
    Level.SHORT: "#c6a876",
    Level.FAR: "#553709",
    Level.UNKNOWN: GROUND,
}
"""Lighter is readier; each step shows in grey. Ready and unknown differ by plank and dots."""
LIGHT_INK = frozenset({Level.FAR})
"""Levels so dark that letters on them are light."""

MARGIN, NAME_WIDTH = 0.35, 1.25
LINE_INCHES = 8.8
"""Width of a row of bars: with the names and margins it fits a sheet of A4 or letter paper on its side."""
CELL_HEIGHT, ROW_HEIGHT, PART_GAP = 0.62, 0.84, 0.16
WIDE_ROW, NARROW_ROW = 8, 4
"""Bars in a row: phrases have four or eight (common practice, no published source)."""
TITLE_POINTS = 15.0
CHORD_POINTS, FIGURE_POINTS, NUMBER_POINTS, LEAST_POINTS = 11.0, 8.5, 7.0, 6.5
LETTER_WIDTH = 0.62
"""Of our bold typeface, as a share of its size."""
PLANK = 0.055
SAMPLE_WIDTH, SAMPLE_HEIGHT = 0.34, 0.22
WIDEST_LINE = 118
"""Letters of a line below the title."""
MOST_DOTS, DOTS_AN_INCH = 60_000, 160
"""A canvas can be no higher than about 65 000 dots; a very long song is drawn coarser."""


def save_strip(path: Path, strip: Strip) -> None:
    """Draw a song's strip into a .png, .svg or .pdf file.

    Raises InputError for another kind of file or one that cannot be written.
    """
    check_kind(path)
    with our_look(salt=strip.title):
        save(_page(strip), path, strip.title)


def bars_in_a_row(parts: Sequence[Part]) -> int:
    """Eight where the chords' names have room for it, else four."""
    cell = LINE_INCHES / WIDE_ROW
    fits = all(_fits(one, cell) for part in parts for bar in part.cells for one in bar.stretches)
    return WIDE_ROW if fits else NARROW_ROW


def _fits(stretch: Stretch, cell_inches: float) -> bool:
    return _name_inches(stretch.chord, CHORD_POINTS) <= (stretch.end - stretch.start) * cell_inches


def _name_inches(name: str, points: float) -> float:
    return len(name) * points * LETTER_WIDTH / 72 + 0.1


def _fitting(name: str, points: float, inches: float) -> float:
    """The size at which a name fits, not too small to read."""
    return min(points, max(LEAST_POINTS, points * inches / _name_inches(name, points)))


def _page(strip: Strip) -> Any:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    a_row = bars_in_a_row(strip.parts)
    lines = [[part.cells[at : at + a_row] for at in range(0, len(part.cells), a_row)] for part in strip.parts]
    below_title = [line for words in strip.below_title for line in textwrap.wrap(words, WIDEST_LINE)]
    above = 0.95 + 0.24 * len(below_title)
    body = sum(ROW_HEIGHT * len(rows) + PART_GAP for rows in lines)
    width, height = 2 * MARGIN + NAME_WIDTH + LINE_INCHES, above + body + 0.95
    dots = min(DOTS_AN_INCH, MOST_DOTS / height)
    figure = Figure(figsize=(width, height), dpi=dots, facecolor=GROUND)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(-height, 0)
    axes.axis("off")
    _heading(axes, strip.title, below_title)
    top = -above
    for part, rows in zip(strip.parts, lines, strict=True):
        axes.text(
            MARGIN, top - CELL_HEIGHT / 2, _short(part.name), fontsize=10.5, fontweight="bold", va="center"
        )
        for row in rows:
            _row(axes, row, top, LINE_INCHES / a_row)
            top -= ROW_HEIGHT
        top -= PART_GAP
    _legend(axes, strip, top - 0.12)
    return figure


def _short(name: str) -> str:
    most = 13
    return name if len(name) <= most else f"{name[: most - 1]}…"


def _heading(axes: Any, title: str, below: Sequence[str]) -> None:
    points = _fitting(title, TITLE_POINTS, NAME_WIDTH + LINE_INCHES)
    axes.text(MARGIN, -0.38, title, fontsize=points, fontweight="bold", va="center")
    for number, line in enumerate(below):
        axes.text(MARGIN, -0.7 - 0.24 * number, line, fontsize=9.5, va="center")


def _row(axes: Any, cells: Sequence[Cell], top: float, cell_width: float) -> None:
    left = MARGIN + NAME_WIDTH
    for number, cell in enumerate(cells):
        start = left + number * cell_width
        axes.text(
            start + 0.1, top + 0.03, str(cell.number), fontsize=NUMBER_POINTS, color=ACCENT, va="bottom"
        )
        for stretch in cell.stretches:
            _stretch(axes, stretch, start, top, cell_width)
        axes.plot([start, start], [top, top - CELL_HEIGHT], color=INK, linewidth=1.4, zorder=5)
    end = left + len(cells) * cell_width
    axes.plot([end, end], [top, top - CELL_HEIGHT], color=INK, linewidth=1.4, zorder=5)
    for y in (top, top - CELL_HEIGHT):
        axes.plot([left, end], [y, y], color=FAINT, linewidth=0.8, zorder=4)


def _stretch(axes: Any, one: Stretch, bar_start: float, top: float, cell_width: float) -> None:
    x, wide = bar_start + one.start * cell_width, (one.end - one.start) * cell_width
    ink = GROUND if one.level in LIGHT_INK else INK
    if one.level is not None:
        _block(axes, one.level, x, top, wide)
    else:
        ink = ACCENT
    axes.text(
        x + 0.06, top - 0.2, signs(one.chord), fontsize=_fitting(one.chord, CHORD_POINTS, wide), color=ink,
        va="center", zorder=6, fontweight="normal" if one.level is None else "bold",
    )  # fmt: skip
    points = _fitting(one.figure, FIGURE_POINTS, wide)
    axes.text(x + 0.06, top - 0.43, one.figure, fontsize=points, color=ink, va="center", zorder=6)
    if one.is_bottleneck:
        _wedge(axes, x, top)


def _block(axes: Any, level: Level, x: float, top: float, wide: float) -> None:
    """The ground of a change: its lightness, a thin line where it lands, the plank when it is ready."""
    from matplotlib.patches import Rectangle

    corner = (x, top - CELL_HEIGHT)
    axes.add_patch(Rectangle(corner, wide, CELL_HEIGHT, color=FILLS[level], linewidth=0, zorder=1))
    axes.plot([x, x], [top, top - CELL_HEIGHT], color=INK, linewidth=0.7, zorder=4)
    _foot(axes, level, x, top - CELL_HEIGHT, wide)


def _foot(axes: Any, level: Level, x: float, bottom: float, wide: float) -> None:
    """The plank below what is ready, dots below what is unknown."""
    from matplotlib.patches import Rectangle

    if level is Level.READY:
        axes.add_patch(Rectangle((x, bottom), wide, PLANK, color=INK, linewidth=0, zorder=5))
    elif level is Level.UNKNOWN:
        y = bottom + PLANK / 2
        axes.plot([x + 0.04, x + wide], [y, y], color=INK, linewidth=1.6, linestyle=(0, (1, 2)), zorder=5)


def _wedge(axes: Any, x: float, top: float) -> None:
    from matplotlib.patches import Polygon

    corners = [(x - 0.07, top + 0.13), (x + 0.07, top + 0.13), (x, top + 0.01)]
    axes.add_patch(Polygon(corners, color=INK, linewidth=0, zorder=7))


def _legend(axes: Any, strip: Strip, top: float) -> None:
    """A sample of each level that is on the page, the bottleneck's mark, and what the figures are."""
    on_page = {one.level for part in strip.parts for cell in part.cells for one in cell.stretches}
    x, middle = MARGIN + NAME_WIDTH, top - SAMPLE_HEIGHT / 2
    for level, words in strip.levels.items():
        if level not in on_page:
            continue
        _sample(axes, level, x, top)
        x = _said(axes, words, x + SAMPLE_WIDTH + 0.08, middle)
    if strip.bottleneck:
        _wedge(axes, x + 0.07, top - 0.18)
        _said(axes, strip.bottleneck, x + 0.2, middle)
    if on_page - {None}:
        _said(axes, strip.figures, MARGIN + NAME_WIDTH, middle - 0.3)


def _said(axes: Any, words: str, x: float, y: float) -> float:
    """Words of the legend; returns where the next ones may begin."""
    drawn = axes.text(x, y, words, fontsize=FIGURE_POINTS, va="center")
    return float(x + drawn.get_window_extent().width / axes.figure.dpi + 0.3)


def _sample(axes: Any, level: Level, x: float, top: float) -> None:
    from matplotlib.patches import Rectangle

    corner = (x, top - SAMPLE_HEIGHT)
    axes.add_patch(
        Rectangle(corner, SAMPLE_WIDTH, SAMPLE_HEIGHT, facecolor=FILLS[level], edgecolor=FAINT, linewidth=0.8)
    )
    _foot(axes, level, x, top - SAMPLE_HEIGHT, SAMPLE_WIDTH)
