"""The plank: the beat as a board that lies on the floor or is up in the air.

It moves every frame, so it is drawn straight to the screen out of kept
pictures, and only the strip it has left and the strip it has come to are
touched.
"""

from __future__ import annotations

from functools import lru_cache

import pygame

from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, STONE, Colour

_GRAIN: Colour = (222, 160, 78)
_EDGE: Colour = (255, 214, 148)


def plank_thickness(height: int) -> int:
    return max(10, round(height * 0.22))


def floor_y(height: int) -> int:
    """Where the floor line's upper edge runs within a track `height` px tall."""
    return height - max(4, round(height * 0.03))


def plank_top(share: float, width: int, height: int) -> int:
    """The plank's upper edge in px for a height of 0 (on the floor) to 1 (up)."""
    low = floor_y(height) - plank_thickness(height)
    high = max(2, round(height * 0.01))
    return round(low + (high - low) * min(1.0, max(0.0, share)))


@lru_cache(maxsize=4)
def _board(width: int, height: int) -> pygame.Surface:
    """The board: an accent face with grain in it, a lit upper edge, bevelled ends."""
    board = pygame.Surface((width, height))
    board.fill(GROUND)
    bevel = max(2, height // 6)
    face = [(0, bevel), (bevel, 0), (width - bevel, 0), (width - 1, bevel)]
    face += [
        (width - 1, height - bevel),
        (width - bevel, height - 1),
        (bevel, height - 1),
        (0, height - bevel),
    ]
    pygame.draw.polygon(board, LAMP, face)
    # Grain: long shallow lines, none whole, set by a fixed rule so that pictures repeat.
    line = max(1, height // 22)
    for row in range(1, 6):
        y = round(height * row / 6)
        x = (row * 37) % 90 + height
        while x < width - height:
            run = 60 + (row * 131 + x * 7) % 340
            end = min(x + run, width - height)
            pygame.draw.line(board, _GRAIN, (x, y), (end, y + ((row + x) % 3 - 1)), line)
            x += run + 30 + (row * 53 + x) % 120
    pygame.draw.rect(board, _EDGE, (bevel, 0, width - 2 * bevel, max(2, height // 14)))
    for hole_x in (height * 0.55, width - height * 0.55):
        pygame.draw.circle(board, GROUND, (round(hole_x), height // 2), max(3, round(height * 0.1)))
    return board.convert() if pygame.display.get_surface() else board


def paint_track(surface: pygame.Surface, top: int, changing: bool) -> None:
    """The plank with its upper edge at `top`, over the floor line; `changing` opens the floor under it.

    `surface` is the whole track, filled with the ground.
    """
    width, height = surface.get_size()
    floor, thick = floor_y(height), plank_thickness(height)
    line = height - floor
    gap = round(width * 0.30)
    if changing:
        # The hand is in the air: nothing bears the middle of the floor.
        pygame.draw.rect(surface, STONE, (0, floor, gap, line))
        pygame.draw.rect(surface, STONE, (width - gap, floor, gap, line))
    else:
        pygame.draw.rect(surface, CREAM, (0, floor, width, line))
    surface.blit(_board(width, thick), (0, top))
