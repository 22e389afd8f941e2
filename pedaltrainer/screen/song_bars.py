"""A song drawn as its bars: a board for each, filled as far as its hardest change is ready.

What is ready is light, what is further away darker, and the board is filled less: it is not told by colour
alone. A bar in which nothing is landed is a line. The hardest one is framed and has a flag.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pygame

from pedaltrainer.screen.fit import Sizes
from pedaltrainer.screen.ink import write_chord
from pedaltrainer.screen.palette import CREAM, LAMP, SHADE, STONE, Colour
from pedaltrainer.screen.typeset import set_chord
from pedaltrainer.screen.view import BarsView, SongBar

BARS_A_ROW = (4, 8, 12, 16)
MOST_ROWS = 12
"""Rows that are drawn, whatever the song's length."""
SUFFIX = 0.7
_NEAR = 0.75
"""From this share on a board is of the middle shade."""


def rows_of_bars(bars: Sequence[SongBar], most: int) -> Iterator[tuple[SongBar, ...]]:
    """The bars in rows of so many; a part of the song begins a row."""
    row: list[SongBar] = []
    for bar in bars:
        if row and (bar.begins or len(row) == most):
            yield tuple(row)
            row = []
        row.append(bar)
    if row:
        yield tuple(row)


def paint_bars(surface: pygame.Surface, view: BarsView, sizes: Sizes) -> None:
    """The bars from left to right and down, as they are written."""
    width, height = surface.get_size()
    cap = sizes.words
    for wide in BARS_A_ROW:
        rows = list(rows_of_bars(view.bars, wide))
        if len(rows) * cap * 2.9 <= height:
            break
    rows = rows[:MOST_ROWS]
    columns = max(map(len, rows))
    cell_w, cell_h = width / max(4, columns), min(height / len(rows), cap * 4.4)
    for down, row in enumerate(rows):
        for across, bar in enumerate(row):
            _bar(surface, bar, pygame.Rect(across * cell_w, down * cell_h, cell_w, cell_h), cap)


def _bar(surface: pygame.Surface, bar: SongBar, cell: pygame.Rect, cap: int) -> None:
    gap = max(3, cap // 5)
    named = cell.h >= cap * 2.4
    top = cell.y + (round(cap * 1.5) if named else gap)
    board = pygame.Rect(cell.x + gap, top, cell.w - 2 * gap, cell.bottom - gap - top)
    line = max(2, cap // 12)
    if not bar.chord:
        pygame.draw.line(surface, STONE, board.midleft, (board.right - 1, board.centery), line)
        return
    if bar.share is not None:
        filled = pygame.Rect(board.x, board.y, round(board.w * min(1.0, bar.share)), board.h)
        pygame.draw.rect(surface, _shade(bar, bar.share), filled)
        pygame.draw.line(surface, STONE, filled.topright, (filled.right, filled.bottom - 1), line)
    frame, thick = (LAMP, line * 2) if bar.is_hardest else (STONE, line)
    pygame.draw.rect(surface, frame, board, thick)
    if bar.is_hardest:
        _flag(surface, board.move(0, -round(cap * 1.2)) if named else board, cap)
    left = board.x + (round(cap * 0.9) if bar.is_hardest else 0)
    if named and set_chord(bar.chord, SUFFIX)[1] * cap <= cell.right - left:
        write_chord(surface, bar.chord, cap, SUFFIX, CREAM, left, top - cap * 0.3)


def _flag(surface: pygame.Surface, at: pygame.Rect, cap: int) -> None:
    """A pennant over the board, or on it where there is no room for a name."""
    size = min(cap * 0.8, at.h * 0.6)
    x, y = at.x + size * 0.5, at.y + (cap * 0.1 if at.h > cap * 1.2 else (at.h - size) / 2)
    pygame.draw.polygon(surface, LAMP, [(x, y), (x + size, y + size / 2), (x, y + size)])


def _shade(bar: SongBar, share: float) -> Colour:
    if bar.is_ready:
        return CREAM
    return STONE if share >= _NEAR else SHADE
