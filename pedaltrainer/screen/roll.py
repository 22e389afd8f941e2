"""The bars of a song rolling by: a row each, the one that is played lit up, the flagged ones with a flag."""

from __future__ import annotations

import pygame

from pedaltrainer.screen.fit import Sizes, fit_words
from pedaltrainer.screen.ink import write
from pedaltrainer.screen.paint import stamp
from pedaltrainer.screen.palette import CREAM, LAMP, SHADE, STONE
from pedaltrainer.screen.view import RollView

ROW = 1.85
"""Height of a row, in words' cap heights."""


def paint_roll(surface: pygame.Surface, view: RollView, sizes: Sizes) -> None:
    """Rows from the top; a section begins below a line."""
    width, height = surface.get_size()
    cap = sizes.words
    row_h = cap * ROW
    left, rule = cap * 1.5, max(2, cap // 14)
    for place, bar in enumerate(view.bars[: max(1, int(height / row_h))]):
        top = place * row_h
        if bar.is_now:
            pygame.draw.rect(surface, SHADE, (0, round(top), width, round(row_h)))
            pygame.draw.rect(surface, LAMP, (0, round(top), max(4, cap // 6), round(row_h)))
        if bar.begins:
            pygame.draw.line(surface, STONE, (0, round(top)), (width, round(top)), rule)
        fits = fit_words(bar.words, width - left - cap * 0.2, cap, bar.is_now)
        ink = CREAM if bar.is_now else STONE
        write(surface, bar.words, fits, ink, left, top + (row_h + fits) / 2, bold=bar.is_now)
        if bar.flagged:
            stamp(surface, "pennant", cap * 0.8, LAMP, cap * 0.45, top + row_h / 2 - cap * 0.4)
