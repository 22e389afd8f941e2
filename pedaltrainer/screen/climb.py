"""How a drill goes, drawn: each day a post between the ends of its interval, a peg at its clean tempo.

The heights are logarithmic, so that a step is the same share of the tempo everywhere. An end that no take has
met is open: the post goes on as an arrow. The line through the days is a plank; what songs ask for, a flag on
a dashed line.
"""

from __future__ import annotations

import math

import pygame

from pedaltrainer.screen.fit import Sizes
from pedaltrainer.screen.ink import write
from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.palette import CREAM, LAMP, SHADE, STONE
from pedaltrainer.screen.view import ClimbView

MOST_POSTS = 40
"""Days that are drawn; of more the last ones."""
_SIDE = 1.08
"""How far above and below what it shows a picture reaches, as a share of the tempo."""


def ends_of(climb: ClimbView) -> tuple[float, float]:
    """The slowest and the fastest tempo in sight: those of the pegs, with the ends of short intervals."""
    pegs = [day.bpm for day in climb.days if day.bpm is not None]
    ends = [end for day in climb.days for end in (day.low_bpm, day.high_bpm) if end is not None]
    middle = sorted(pegs or ends)[len(pegs or ends) // 2]
    # The far end of a wide interval is mostly what was believed before: it may run off the edge.
    near = [end for end in ends if middle / 1.6 <= end <= middle * 1.6]
    told = [*pegs, *near, *(bpm for _, bpm in climb.line)]
    if climb.target_bpm is not None and middle / 2 <= climb.target_bpm <= middle * 2:
        told.append(climb.target_bpm)
    return min(told) / _SIDE, max(told) * _SIDE


def paint_climb(surface: pygame.Surface, climb: ClimbView, sizes: Sizes) -> None:
    """The days from left to right, slow below and fast above."""
    width, height = surface.get_size()
    cap = sizes.words
    low, high = ends_of(climb)
    left = cap * (measure("188", True) + 0.6)
    top, bottom = cap * 1.0, height - cap * 1.7
    thick = max(3, cap // 10)

    def y_of(bpm: float) -> float:
        share = math.log(bpm / low) / math.log(high / low)
        return bottom - min(1.0, max(0.0, share)) * (bottom - top)

    def x_of(at: float) -> float:
        return left + cap * 0.8 + at * (width - left - cap * 1.6)

    pygame.draw.line(surface, SHADE, (left, top), (left, bottom), thick)
    pygame.draw.line(surface, SHADE, (left, bottom), (width, bottom), thick)
    for bpm in (low * _SIDE, high / _SIDE):
        write(surface, f"{bpm:.0f}", cap, STONE, left - cap * 0.4, y_of(bpm) + cap * 0.5, align=1.0)
    write(surface, climb.first_day, cap, STONE, left, height - cap * 0.3)
    write(surface, climb.last_day, cap, STONE, width, height - cap * 0.3, align=1.0)
    if climb.target_bpm is not None and low <= climb.target_bpm <= high:
        _flag(surface, y_of(climb.target_bpm), left, width, f"{climb.target_bpm:.0f}", sizes)
    if len(climb.line) > 1:
        points = [(x_of(at), y_of(bpm)) for at, bpm in climb.line]
        pygame.draw.lines(surface, STONE, False, points, thick)
    for day in climb.days[-MOST_POSTS:]:
        x = x_of(day.at)
        foot = bottom if day.low_bpm is None else y_of(day.low_bpm)
        head = top if day.high_bpm is None else y_of(day.high_bpm)
        pygame.draw.line(surface, CREAM, (x, foot), (x, head), thick)
        for end, y, way in ((day.low_bpm, foot, 1), (day.high_bpm, head, -1)):
            if end is None or not low <= end <= high:
                tip = [(x, y + way * cap * 0.3), (x - cap * 0.22, y), (x + cap * 0.22, y)]
                pygame.draw.polygon(surface, CREAM, tip)
        if day.bpm is not None:
            peg = pygame.Rect(0, 0, round(cap * 0.6), round(cap * 0.42))
            peg.center = (round(x), round(y_of(day.bpm)))
            pygame.draw.rect(surface, LAMP, peg, border_radius=max(2, cap // 8))


def _flag(surface: pygame.Surface, y: float, left: float, right: float, words: str, sizes: Sizes) -> None:
    """What the songs ask for: a dashed line across, and its figure on a flag at the right."""
    cap, dash = sizes.words, sizes.words * 0.4
    x = left
    while x < right:
        pygame.draw.line(surface, LAMP, (x, y), (min(x + dash, right), y), max(2, cap // 14))
        x += 2 * dash
    write(surface, words, cap, LAMP, right, y - cap * 0.3, bold=True, align=1.0)
