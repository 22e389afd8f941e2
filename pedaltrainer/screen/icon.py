"""The program's own sign: a foot's board in lamplight, a peg on it, and the rungs above. A square picture."""

from __future__ import annotations

import pygame

from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, STONE


def icon(side_px: int) -> pygame.Surface:
    """The sign as a picture of side_px by side_px, its corners clear."""
    unit = side_px / 16
    surface = pygame.Surface((side_px, side_px), pygame.SRCALPHA)

    def board(x: float, y: float, w: float, h: float, colour: tuple[int, int, int], round_: float) -> None:
        place = pygame.Rect(round(x * unit), round(y * unit), round(w * unit), max(1, round(h * unit)))
        pygame.draw.rect(surface, colour, place, border_radius=round(round_ * unit))

    board(0, 0, 16, 16, GROUND, 3)
    for x in (4.2, 10.8):
        board(x, 2, 1, 9.2, STONE, 0.4)
    for y, colour in ((3.2, STONE), (5.6, STONE), (8.0, CREAM)):
        board(4.2, y, 7.6, 0.9, colour, 0.4)
    board(6.4, 7.5, 3.2, 1.9, LAMP, 0.5)
    board(2, 12.2, 12, 1.7, LAMP, 0.5)
    return surface
