"""Chord boxes on paper: strings upright, the nut or the position on top, words below each string.

Lengths are in string gaps: the distance from one string to the next is 1.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from pedaltrainer.neck.box import ChordBox, finger_sign
from pedaltrainer.paper.page import ACCENT, FAINT, GROUND, INK, check_kind, our_look, save

GAP_INCHES = 0.27
"""One string gap: a box of six strings is as wide as three fingers, to be read from a music stand."""
FRET_HEIGHT = 1.14
DOT, RING = 0.36, 0.465
"""Radii. Two rings on neighbouring strings do not touch."""
LEFT, RIGHT = 1.45, 0.95
"""Room beside the outer strings: a position number on the left, air on the right."""
TITLE, MARKS, LINE = 1.5, 0.95, 0.72
"""Heights of the title, of the row of open and muted strings, of a line of words."""
POINTS_A_GAP = GAP_INCHES * 72
_FLAT = re.compile(r"(?<=[A-G])b{1,2}|b+(?=\d)")
"""A flat after a note's letter or before a degree; not the b of a word."""


class BoxPlace(NamedTuple):
    """Where a box stands on the page: the point on its nut, midway between the outer strings."""

    middle: float
    nut: float


def save_boxes(
    path: Path,
    boxes: Sequence[ChordBox],
    heading: str = "",
    legend: Sequence[str] = (),
    left_handed: bool = False,
    columns: int = 4,
) -> None:
    """Draw boxes in rows of `columns` into a .png, .svg or .pdf file, a heading above, a legend below.

    Raises InputError for another kind of file or one that cannot be written.
    """
    check_kind(path)
    with our_look(salt=heading):
        save(_page(boxes, heading, legend, left_handed, columns), path, heading)


def _page(
    boxes: Sequence[ChordBox], heading: str, legend: Sequence[str], left_handed: bool, columns: int
) -> Any:
    rows = [boxes[at : at + columns] for at in range(0, len(boxes), columns)]
    widest = max(box_width(box) for box in boxes)
    heights = [max(box_height(box) for box in row) for row in rows]
    above = 1.7 if heading else 0.3
    below = LINE * len(legend) + (0.5 if legend else 0.2)
    width = max(widest * max(len(row) for row in rows), _words_width([heading], 13), _words_width(legend, 9))
    figure, axes = _sheet(width + 0.6, above + sum(heights) + below)
    if heading:
        axes.text(0.55, -0.95, signs(heading), fontsize=13, fontweight="bold", va="center")
    top = -above
    for row, height in zip(rows, heights, strict=True):
        for column, box in enumerate(row):
            middle = 0.3 + widest * column + LEFT + (len(box.frets) - 1) / 2
            draw_box(axes, box, BoxPlace(middle, top - TITLE - MARKS), left_handed)
        top -= height
    for number, line in enumerate(legend):
        axes.text(0.55, top - 0.4 - LINE * number, line, fontsize=9, va="center")
    return figure


def _sheet(width: float, height: float) -> tuple[Any, Any]:
    """A figure of width x height string gaps and one axes over all of it; (0, 0) is its upper left."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width * GAP_INCHES, height * GAP_INCHES), dpi=160, facecolor=GROUND)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(-height, 0)
    axes.axis("off")
    return figure, axes


def _words_width(lines: Sequence[str], points: float) -> float:
    # Our typeface's letters are about half as wide as its size.
    return max((len(line) for line in lines), default=0) * points * 0.55 / POINTS_A_GAP + 0.6


def box_width(box: ChordBox) -> float:
    """Width of a box with its margins, in string gaps."""
    return max(len(box.frets) - 1 + LEFT + RIGHT, _words_width(box.caption, 8.5))


def box_height(box: ChordBox) -> float:
    """Height of a box with its title and its words, in string gaps."""
    lines = len(box.below) + len(box.caption)
    return TITLE + MARKS + box.rows * FRET_HEIGHT + 0.35 + LINE * lines + 0.7


def draw_box(axes: Any, box: ChordBox, place: BoxPlace, left_handed: bool = False) -> None:
    """Draw one box on axes whose unit is a string gap, y upwards. left_handed: mirrored."""
    strings = len(box.frets)
    left = place.middle - (strings - 1) / 2
    xs = [left + (strings - 1 - string if left_handed else string) for string in range(strings)]
    _title(axes, box, place)
    _board(axes, box, xs, place)
    _marks(axes, box, xs, place)
    _dots(axes, box, xs, place)
    _words(axes, box, xs, place)


def _title(axes: Any, box: ChordBox, place: BoxPlace) -> None:
    y = place.nut + MARKS + TITLE * 0.42
    axes.text(place.middle, y, signs(box.title), fontsize=16, fontweight="bold", ha="center", va="center")


def _board(axes: Any, box: ChordBox, xs: list[float], place: BoxPlace) -> None:
    left, right, bottom = min(xs), max(xs), place.nut - box.rows * FRET_HEIGHT
    for row in range(box.rows + 1):
        y = place.nut - row * FRET_HEIGHT
        axes.plot([left, right], [y, y], color=FAINT, linewidth=1.1, solid_capstyle="projecting", zorder=1)
    for string, x in enumerate(xs):
        # Low strings are thicker, as on the neck: the picture says which way round it is.
        wire = 1.9 - 1.1 * string / max(1, len(xs) - 1)
        axes.plot([x, x], [place.nut, bottom], color=INK, linewidth=wire, solid_capstyle="butt", zorder=2)
    if box.first_fret > 1:
        y = place.nut - FRET_HEIGHT / 2
        axes.text(
            left - 0.62, y, str(box.first_fret), fontsize=11, fontweight="bold", ha="right", va="center"
        )
    else:
        nut = place.nut + 0.08
        axes.plot([left, right], [nut, nut], color=INK, linewidth=4, solid_capstyle="projecting", zorder=2)
        if box.capo:
            axes.text(left - 0.4, nut + 0.02, f"capo {box.capo}", fontsize=7, ha="right", va="center")


def _marks(axes: Any, box: ChordBox, xs: list[float], place: BoxPlace) -> None:
    from matplotlib.patches import Circle

    if all(fret is None for fret in box.frets):
        # Nothing is known of the shape: an empty box, to be filled in by hand.
        return
    y, half = place.nut + 0.58, 0.17
    for x, fret in zip(xs, box.frets, strict=True):
        if fret is None:
            for rise in (half, -half):
                axes.plot([x - half, x + half], [y - rise, y + rise], color=INK, linewidth=1.3)
        elif fret == 0:
            axes.add_patch(Circle((x, y), half + 0.03, fill=False, edgecolor=INK, linewidth=1.3))


def _dots(axes: Any, box: ChordBox, xs: list[float], place: BoxPlace) -> None:
    from matplotlib.patches import Circle, Rectangle

    def height(fret: int) -> float:
        return place.nut - (fret - box.first_fret + 0.5) * FRET_HEIGHT

    for barre in box.barres:
        ends = sorted((xs[barre.first_string], xs[barre.last_string]))
        corner = (ends[0], height(barre.fret) - DOT * 0.8)
        axes.add_patch(Rectangle(corner, ends[1] - ends[0], DOT * 1.6, color=INK, linewidth=0, zorder=3))
    for string, (fret, finger) in enumerate(zip(box.frets, box.fingers, strict=True)):
        if not fret:
            continue
        x, y = xs[string], height(fret)
        if string in box.stays or string in box.together:
            dashes = "-" if string in box.stays else (0, (2.2, 1.6))
            axes.add_patch(Circle((x, y), RING, color=GROUND, linewidth=0, zorder=4))
            axes.add_patch(
                Circle((x, y), RING, fill=False, edgecolor=ACCENT, linewidth=1.8, linestyle=dashes, zorder=5)
            )
        axes.add_patch(Circle((x, y), DOT, color=INK, linewidth=0, zorder=6))
        axes.text(
            x, y - 0.02, finger_sign(finger), fontsize=10, fontweight="bold", color=GROUND,
            ha="center", va="center_baseline", zorder=7,
        )  # fmt: skip


def _words(axes: Any, box: ChordBox, xs: list[float], place: BoxPlace) -> None:
    y = place.nut - box.rows * FRET_HEIGHT - 0.35 - LINE / 2
    for number, row in enumerate(box.below):
        for x, word in zip(xs, row, strict=True):
            # The first row is read while playing, the others are looked up.
            weight = "bold" if number == 0 else "normal"
            axes.text(x, y, signs(word), fontsize=8.5, fontweight=weight, ha="center", va="center")
        y -= LINE
    for line in box.caption:
        axes.text(place.middle, y, signs(line), fontsize=8.5, ha="center", va="center")
        y -= LINE


def signs(words: str) -> str:
    """Sharps and flats as musicians print them: `Bbm7b5` -> `B♭m7♭5`, `F#` -> `F♯`; for chords and notes."""
    return _FLAT.sub(lambda flats: "♭" * len(flats[0]), words.replace("#", "♯"))
