"""Chord boxes in letters, for the terminal: side by side, as many as the width holds.

A finger stands on its string: `2`. A ring says that it stays, `(2)`; square brackets that it moves
together with others as one block, `[2]`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import astuple, dataclass
from itertools import zip_longest

from pedaltrainer.neck.box import ChordBox, finger_sign

MARGIN = 3
"""Columns left of the lowest string, where a position number stands."""
STEP = 4
"""Columns from one string to the next: a ringed finger and one of air."""
AIR = "  "
"""Between boxes."""


Edge = tuple[str, str, str, str]


@dataclass(frozen=True, slots=True)
class Letters:
    """What a box is drawn with. Nut, wire and end are (left corner, line, crossing, right corner)."""

    nut: Edge
    wire: Edge
    end: Edge
    string: str
    muted: str
    open: str
    barre: str


DRAWN = Letters(
    nut=("┍", "━", "┯", "┑"), wire=("├", "─", "┼", "┤"), end=("└", "─", "┴", "┘"),
    string="│", muted="×", open="○", barre="━",
)  # fmt: skip
TYPED = Letters(
    nut=("+", "=", "+", "+"), wire=("+", "-", "+", "+"), end=("+", "-", "+", "+"),
    string="|", muted="x", open="o", barre="=",
)  # fmt: skip
"""For terminals that have letters only."""


def letters_for(encoding: str | None) -> Letters:
    """The lines of a box where the terminal's encoding has them, else plain letters."""
    try:
        "".join("".join(part) for part in astuple(DRAWN)).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return TYPED
    return DRAWN


def boxes_in_text(
    boxes: Sequence[ChordBox],
    columns: int = 80,
    letters: Letters = DRAWN,
    left_handed: bool = False,
) -> str:
    """The boxes in rows no wider than `columns` (one a row at least). left_handed: mirrored."""
    drawn = [box_lines(box, letters, left_handed) for box in boxes]
    width = max((len(line) for lines in drawn for line in lines), default=0)
    a_row = max(1, (columns + len(AIR)) // (width + len(AIR)))
    rows = [drawn[at : at + a_row] for at in range(0, len(drawn), a_row)]
    return "\n\n".join(_side_by_side(row, width) for row in rows)


def _side_by_side(drawn: Sequence[Sequence[str]], width: int) -> str:
    lines = zip_longest(*drawn, fillvalue="")
    return "\n".join(AIR.join(part.ljust(width) for part in line).rstrip() for line in lines)


def box_lines(box: ChordBox, letters: Letters = DRAWN, left_handed: bool = False) -> list[str]:
    """One box, line by line: title, marks, the board, the words below, the caption."""
    strings = len(box.frets)
    places = [MARGIN + STEP * (strings - 1 - at if left_handed else at) for at in range(strings)]
    capo = f"  capo {box.capo}" if box.capo else ""
    lines = [" " * MARGIN + box.title + capo, _marks(box, places, letters)]
    lines.append(_edge(letters.nut if box.first_fret == 1 else letters.wire, strings))
    for row in range(box.rows):
        lines.append(_frets_row(box, box.first_fret + row, places, letters))
        lines.append(_edge(letters.end if row == box.rows - 1 else letters.wire, strings))
    lines += [_place_words(words, places) for words in box.below]
    return [line.rstrip() for line in lines] + [" " * MARGIN + line for line in box.caption]


def _edge(parts: Edge, strings: int) -> str:
    left, line, crossing, right = parts
    return " " * MARGIN + left + crossing.join([line * (STEP - 1)] * (strings - 1)) + right


def _marks(box: ChordBox, places: Sequence[int], letters: Letters) -> str:
    signs = {None: letters.muted, 0: letters.open}
    return _place_words([signs.get(fret, "") for fret in box.frets], places)


def _place_words(words: Sequence[str], places: Sequence[int]) -> str:
    canvas = [" "] * (max(places) + STEP)
    for word, place in zip(words, places, strict=True):
        # Two letters stand over the string and right of it; three are centred.
        start = place - (len(word) - 1) // 2
        canvas[start : start + len(word)] = word
    return "".join(canvas)


def _frets_row(box: ChordBox, fret: int, places: Sequence[int], letters: Letters) -> str:
    canvas = [" "] * (max(places) + 2)
    for place in places:
        canvas[place] = letters.string
    for barre in box.barres:
        if barre.fret == fret:
            first, last = sorted((places[barre.first_string], places[barre.last_string]))
            canvas[first : last + 1] = letters.barre * (last + 1 - first)
    for string, place in enumerate(places):
        if box.frets[string] == fret:
            canvas[place] = finger_sign(box.fingers[string]) or "*"
            canvas[place - 1 : place + 2] = _ringed(box, string, canvas[place - 1 : place + 2])
    if fret == box.first_fret > 1:
        # At the left edge: a ring on the lowest string needs the column beside it.
        canvas[: MARGIN - 1] = f"{fret:<{MARGIN - 1}}"
    return "".join(canvas)


def _ringed(box: ChordBox, string: int, around: list[str]) -> list[str]:
    if string in box.stays:
        return ["(", around[1], ")"]
    if string in box.together:
        return ["[", around[1], "]"]
    return around


@dataclass(frozen=True, slots=True)
class Terminal:
    """Where a report is printed: its width in letters, what it can draw with, which way round boxes are."""

    columns: int = 80
    letters: Letters = DRAWN
    left_handed: bool = False

    def boxes(self, boxes: Sequence[ChordBox]) -> str:
        return boxes_in_text(boxes, self.columns, self.letters, self.left_handed)

    def wrapped(self, line: str, indent: str = "  ") -> str:
        return textwrap.fill(
            line, self.columns, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
        )
