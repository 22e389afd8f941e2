"""The practice sheet: for each drill its chord boxes, its target and dated boxes for the clean tempo.

What is known stands in the boxes, the rest is left for a pencil. Lengths on the page are in mm, measured
from its upper left corner.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.paper.boxes import (
    GAP_INCHES,
    LEFT,
    MARKS,
    TITLE,
    BoxPlace,
    box_height,
    box_width,
    draw_box,
    signs,
)
from pedaltrainer.paper.page import FAINT, GROUND, INK, check_kind, our_look, save_pages
from pedaltrainer.system.amounts import counted


class Size(NamedTuple):
    """Width and height of a sheet of paper, in mm."""

    width: float
    height: float


PAPERS = {"a4": Size(210, 297), "letter": Size(215.9, 279.4)}
"""ISO 216 A4; ANSI/ASME Y14.1 A, 8.5 x 11 in."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A dated box that is filled: the day, a number, small words below it, and the takes it rests on."""

    day: str
    figure: str
    below: str = ""
    takes: int = 0


@dataclass(frozen=True, slots=True)
class Exercise:
    """A drill on the sheet. target: "" for a line to write it on. unit: of target and entries.

    reason: where the target comes from. entries: oldest first; boxes to fill in by hand follow them.
    """

    title: str
    boxes: tuple[ChordBox, ...]
    target: str = ""
    reason: str = ""
    unit: str = "BPM"
    entries: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that is on the pages. player: "" for a line to write it on. introduction, small_print: lines at
    the top of the first page and at the foot of every one."""

    title: str
    player: str
    exercises: tuple[Exercise, ...]
    introduction: tuple[str, ...] = ()
    small_print: tuple[str, ...] = ()


MARGIN = 13.0
MM_INCH, POINT = 25.4, 25.4 / 72
SCALE = 0.64
"""Of a chord box, against one that is a picture of its own: it is read from the lap, not from a stand."""
GAP = GAP_INCHES * MM_INCH * SCALE
LETTER_WIDTH = 0.56
"""Of our typeface, as a share of its size."""

HEAD, LATER_HEAD, INTRODUCTION_LINE = 21.0, 13.0, 4.6
FOOT_LINE, FOOT_SPACE = 3.6, 5.0
NAME, WORDS, SMALL, LEAST = 13.0, 9.0, 7.5, 6.5
"""Sizes of type, in points: a drill's name; words; small print; what stands in a box beside a number."""
FIGURE = 13.0

TITLE_ROW = 8.5
BOXES_WIDTH = 66.0
"""Room beside the dated boxes for two chord boxes of six strings; more of them have a row of their own."""
CELL, CELL_DAY, CELL_FIGURE, CELL_ROWS, CELL_GAP = 14.0, 5.4, 12.4, 2, 1.6
"""A dated box: wide enough for three digits in pencil; day above, number below, takes under it."""
CAPTION = 4.2
WRITING_LINE, WRITING_LINES = 8.0, 2
"""From one line for handwriting to the next (school rulings are 7 to 9 mm: common practice, no published
source)."""
BELOW_EXERCISE = 3.5
LEAST_NOTES = 26.0
"""Room at the end of the sheet worth giving to notes."""
HAIR, LINE = 0.5, 0.8


def entries_shown(width: float = PAPERS["a4"].width) -> int:
    """How many dated boxes a row has: so many days at most are filled in, as many boxes are left empty."""
    return int((width - 2 * MARGIN - BOXES_WIDTH) // CELL)


def save_sheet(path: Path, sheet: Sheet, paper: str = "a4", left_handed: bool = False) -> int:
    """Draw a sheet into a .pdf file; returns its number of pages. The same sheet gives the same bytes.

    Raises InputError for another kind of file, one that cannot be written, or a paper that is not in PAPERS.
    """
    check_kind(path, (".pdf",))
    if paper not in PAPERS:
        raise InputError(f"“{paper}” is no paper this program prints on; say {' or '.join(PAPERS)}.")
    title = f"{sheet.title}, {sheet.player}" if sheet.player else sheet.title
    # Our typeface has cubic outlines. matplotlib's other way to embed it (pdf.fonttype 42) labels them as
    # TrueType's, which readers and printers may refuse; Type 3 is valid and its words can be searched.
    with our_look(salt=title):
        save_pages(drawn_pages(sheet, PAPERS[paper], left_handed), path, title)
    return len(paginated(sheet, PAPERS[paper]))


def drawn_pages(sheet: Sheet, size: Size, left_handed: bool = False) -> Iterator[Any]:
    """The pages as matplotlib figures, one at a time; to be drawn and saved within `our_look`."""
    pages = paginated(sheet, size)
    for number in range(len(pages)):
        yield _page(sheet, size, pages, number, left_handed)


# --- what goes on which page ------------------------------------------------------------


def paginated(sheet: Sheet, size: Size) -> list[list[Exercise]]:
    """The exercises page by page; none is split."""
    pages: list[list[Exercise]] = [[]]
    left = _room(sheet, size, first=True)
    for exercise in sheet.exercises:
        height = exercise_height(exercise, size)
        if pages[-1] and height > left:
            pages.append([])
            left = _room(sheet, size, first=False)
        pages[-1].append(exercise)
        left -= height + BELOW_EXERCISE
    return pages


def _room(sheet: Sheet, size: Size, first: bool) -> float:
    return size.height - MARGIN - _head_height(sheet, first) - _foot_height(sheet)


def _head_height(sheet: Sheet, first: bool) -> float:
    if not first:
        return MARGIN + LATER_HEAD
    return MARGIN + HEAD + (INTRODUCTION_LINE * len(sheet.introduction) + 2 if sheet.introduction else 0)


def _foot_height(sheet: Sheet) -> float:
    return FOOT_SPACE + FOOT_LINE * (len(sheet.small_print) + 1)


def exercise_height(exercise: Exercise, size: Size) -> float:
    """Height of an exercise on the page, in mm."""
    boxes, cells = _boxes_height(exercise, size), _cells_height()
    body = boxes + cells if _boxes_above(exercise) else max(boxes, cells)
    return TITLE_ROW + body + WRITING_LINES * WRITING_LINE


def _boxes_above(exercise: Exercise) -> bool:
    return sum(box_width(box) * GAP for box in exercise.boxes) > BOXES_WIDTH


def _boxes_height(exercise: Exercise, size: Size) -> float:
    return sum(max(box_height(box) for box in row) * GAP for row in _box_rows(exercise.boxes, size))


def _box_rows(boxes: Sequence[ChordBox], size: Size) -> list[Sequence[ChordBox]]:
    if not boxes:
        return []
    a_row = int((size.width - 2 * MARGIN) // (max(map(box_width, boxes)) * GAP))
    return [boxes[at : at + a_row] for at in range(0, len(boxes), a_row)]


def _cells_height() -> float:
    return CELL_ROWS * (CELL_DAY + CELL_FIGURE) + (CELL_ROWS - 1) * CELL_GAP + CAPTION


# --- drawing ------------------------------------------------------------------------------


class _Pen:
    """Draws on a page of paper in mm, y downwards."""

    def __init__(self, size: Size) -> None:
        from matplotlib.backends.backend_pdf import FigureCanvasPdf
        from matplotlib.figure import Figure

        self.size = size
        self.right = size.width - MARGIN
        self.figure = Figure(figsize=(size.width / MM_INCH, size.height / MM_INCH), facecolor=GROUND)
        FigureCanvasPdf(self.figure)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_xlim(0, size.width)
        self.axes.set_ylim(size.height, 0)
        self.axes.axis("off")

    def words(
        self, x: float, y: float, text: str, points: float, bold: bool = False, at: str = "left"
    ) -> None:
        """Words on the base line y."""
        weight = "bold" if bold else "normal"
        self.axes.text(x, y, text, fontsize=points, fontweight=weight, ha=at, va="baseline")

    def line(self, x: float, y: float, to_x: float, to_y: float, width: float = HAIR, ink: str = INK) -> None:
        self.axes.plot([x, to_x], [y, to_y], color=ink, linewidth=width, solid_capstyle="butt")

    def labelled_line(self, x: float, y: float, label: str, to_x: float, points: float = WORDS) -> None:
        """A label and a line behind it to write on."""
        self.words(x, y, label, points)
        self.line(x + words_width(label, points) + 1.5, y + 0.6, to_x, y + 0.6)

    def frame(self, x: float, y: float, width: float, height: float) -> None:
        from matplotlib.patches import Rectangle

        self.axes.add_patch(Rectangle((x, y), width, height, fill=False, edgecolor=INK, linewidth=HAIR))

    def chord_box(self, box: ChordBox, x: float, y: float, left_handed: bool) -> None:
        """A chord box whose upper left corner is at (x, y)."""
        wide, high = box_width(box), box_height(box)
        size = self.size
        corner = (x / size.width, 1 - (y + high * GAP) / size.height)
        axes = self.figure.add_axes((*corner, wide * GAP / size.width, high * GAP / size.height))
        axes.set_xlim(0, wide)
        axes.set_ylim(-high, 0)
        axes.axis("off")
        draw_box(axes, box, BoxPlace(LEFT + (len(box.frets) - 1) / 2, -TITLE - MARKS), left_handed)
        texts: list[Any] = list(axes.texts)
        for text in texts:
            text.set_fontsize(text.get_fontsize() * SCALE)
        strokes: list[Any] = [*axes.lines, *axes.patches]
        for stroke in strokes:
            stroke.set_linewidth(stroke.get_linewidth() * SCALE)


def words_width(text: str, points: float) -> float:
    """About how wide words are, in mm."""
    return len(text) * points * LETTER_WIDTH * POINT


def _page(sheet: Sheet, size: Size, pages: list[list[Exercise]], number: int, left_handed: bool) -> Any:
    pen = _Pen(size)
    _head(pen, sheet, first=number == 0)
    y = _head_height(sheet, first=number == 0)
    for exercise in pages[number]:
        _exercise(pen, exercise, y, left_handed)
        y += exercise_height(exercise, size) + BELOW_EXERCISE
    if number == len(pages) - 1:
        _notes(pen, y, size.height - MARGIN - _foot_height(sheet))
    _foot(pen, sheet, f"page {number + 1} of {len(pages)}")
    return pen.figure


def _head(pen: _Pen, sheet: Sheet, first: bool) -> None:
    if not first:
        title = f"{sheet.title}, {sheet.player}" if sheet.player else sheet.title
        pen.words(MARGIN, MARGIN + 4, title, WORDS)
        pen.line(MARGIN, MARGIN + 7, pen.right, MARGIN + 7, LINE)
        return
    pen.words(MARGIN, MARGIN + 6.5, sheet.title, 20, bold=True)
    half = pen.size.width / 2
    y = MARGIN + 15
    if sheet.player:
        pen.words(MARGIN, y, _short(f"Player: {sheet.player}", half - MARGIN, WORDS), WORDS)
    else:
        pen.labelled_line(MARGIN, y, "Player:", half - 5)
    pen.labelled_line(half, y, "Teacher:", pen.right)
    pen.line(MARGIN, MARGIN + HEAD - 3.5, pen.right, MARGIN + HEAD - 3.5, 1.6)
    for row, words in enumerate(sheet.introduction):
        pen.words(MARGIN, MARGIN + HEAD + 1.5 + INTRODUCTION_LINE * row, words, WORDS)


def _foot(pen: _Pen, sheet: Sheet, page: str) -> None:
    y = pen.size.height - MARGIN
    for row, words in enumerate((*sheet.small_print, "pedaltrainer")):
        pen.words(MARGIN, y - FOOT_LINE * (len(sheet.small_print) - row), words, SMALL)
    pen.words(pen.right, y, page, SMALL, at="right")
    top = y - FOOT_LINE * (len(sheet.small_print) + 1)
    pen.line(MARGIN, top, pen.right, top)


def _exercise(pen: _Pen, exercise: Exercise, y: float, left_handed: bool) -> None:
    _title_row(pen, exercise, y + 5)
    y += TITLE_ROW
    boxes = _boxes_height(exercise, pen.size)
    top = y
    for row in _box_rows(exercise.boxes, pen.size):
        x = MARGIN - 2
        for box in row:
            pen.chord_box(box, x, top, left_handed)
            x += box_width(box) * GAP
        top += max(box_height(box) for box in row) * GAP
    if _boxes_above(exercise):
        _cells(pen, exercise, y + boxes)
        y += boxes + _cells_height()
    else:
        _cells(pen, exercise, y)
        y += max(boxes, _cells_height())
    for number in range(WRITING_LINES):
        base = y + WRITING_LINE * (number + 1) - 2.5
        if number == 0:
            pen.labelled_line(MARGIN, base, "How it felt, what to watch:", pen.right, SMALL)
        else:
            pen.line(MARGIN, base + 0.6, pen.right, base + 0.6)


def _title_row(pen: _Pen, exercise: Exercise, y: float) -> None:
    target_x = pen.right - 72
    if exercise.title:
        room = target_x - MARGIN - 3
        points = min(NAME, NAME * room / max(room, words_width(exercise.title, NAME)))
        pen.words(MARGIN, y, signs(exercise.title), points, bold=True)
    else:
        pen.labelled_line(MARGIN, y, "Drill:", target_x - 8)
    if not exercise.target:
        pen.labelled_line(target_x, y, "Target:", pen.right - 9)
        pen.words(pen.right, y, exercise.unit, WORDS, at="right")
        return
    pen.words(pen.right, y, f"Target: {exercise.target} {exercise.unit}", WORDS + 1, bold=True, at="right")
    if exercise.reason:
        pen.words(pen.right, y + 3.6, _short(exercise.reason, 100, SMALL), SMALL, at="right")


def _short(words: str, room: float, points: float) -> str:
    """The words, or as many of them as there is room for."""
    return textwrap.shorten(words, int(room / words_width("n", points)), placeholder=" …")


def _cells(pen: _Pen, exercise: Exercise, y: float) -> None:
    a_row = entries_shown(pen.size.width)
    left = pen.right - a_row * CELL
    what = {"BPM": "Date above, clean tempo below (BPM)"}.get(
        exercise.unit, f"Date above, {exercise.unit} played below"
    )
    pen.words(left, y + 2.6, what, LEAST)
    for number, entry in enumerate(_filled(exercise.entries, a_row)):
        row, column = divmod(number, a_row)
        x, top = left + column * CELL, y + CAPTION + row * (CELL_DAY + CELL_FIGURE + CELL_GAP)
        pen.frame(x, top, CELL, CELL_DAY + CELL_FIGURE)
        pen.line(x, top + CELL_DAY, x + CELL, top + CELL_DAY, HAIR, FAINT)
        if entry is None:
            # Where the number goes, so that nobody fills the box with the date.
            pen.line(x + 2, top + CELL_DAY + 7.8, x + CELL - 2, top + CELL_DAY + 7.8, HAIR, FAINT)
            pen.words(x + CELL - 1, top + CELL_DAY + 11.6, "takes", LEAST, at="right")
            continue
        middle = x + CELL / 2
        pen.words(middle, top + 4.1, entry.day, SMALL, at="center")
        pen.words(middle, top + CELL_DAY + 5.2, entry.figure, FIGURE, bold=True, at="center")
        pen.words(middle, top + CELL_DAY + 8.7, entry.below, LEAST, at="center")
        if entry.takes:
            pen.words(middle, top + CELL_DAY + 11.6, counted(entry.takes, "take"), LEAST, at="center")


def _filled(entries: Sequence[Entry], a_row: int) -> Iterator[Entry | None]:
    """The last entries, a row of them at most, then None for each box that is left empty."""
    kept = entries[-a_row:]
    yield from kept
    yield from (None for _ in range(CELL_ROWS * a_row - len(kept)))


def _notes(pen: _Pen, y: float, bottom: float) -> None:
    """Lines for notes in what is left of the last page."""
    if bottom - y < LEAST_NOTES:
        return
    pen.labelled_line(MARGIN, y + WRITING_LINE - 2.5, "Notes:", pen.right, SMALL)
    y += 2 * WRITING_LINE - 2.5
    while y < bottom:
        pen.line(MARGIN, y + 0.6, pen.right, y + 0.6)
        y += WRITING_LINE
