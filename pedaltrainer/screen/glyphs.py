"""Signs drawn by hand: accidentals, gestures, bow strokes, check and cross.

Each sign is a small drawing in a unit square's coordinates (y downwards,
height 1, width its aspect). `glyph` draws it several times too large, scales
it down once and keeps it, so that a frame only ever copies a picture.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import pairwise
from math import cos, hypot, pi, sin

import pygame

from pedaltrainer.screen.letters import SIGN_ASPECT
from pedaltrainer.screen.palette import Colour

Point = tuple[float, float]


class Pen:
    """Draws unit-square shapes, `scale` pixels to the unit; `clear` rubs out instead."""

    def __init__(self, surface: pygame.Surface, scale: float, colour: Colour) -> None:
        self._surface, self._scale = surface, scale
        self._ink, self._none = (*colour, 255), (*colour, 0)

    def fill(self, points: list[Point], clear: bool = False) -> None:
        scaled = [(x * self._scale, y * self._scale) for x, y in points]
        pygame.draw.polygon(self._surface, self._none if clear else self._ink, scaled)

    def disc(self, centre: Point, radius: float, clear: bool = False) -> None:
        middle = (centre[0] * self._scale, centre[1] * self._scale)
        pygame.draw.circle(self._surface, self._none if clear else self._ink, middle, radius * self._scale)

    def stroke(self, points: list[Point], width: float) -> None:
        """A line with round ends and joints."""
        for (x0, y0), (x1, y1) in pairwise(points):
            length = hypot(x1 - x0, y1 - y0) or 1.0
            nx, ny = (y0 - y1) / length * width / 2, (x1 - x0) / length * width / 2
            self.fill([(x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny)])
        for point in points:
            self.disc(point, width / 2)

    def bar(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self.fill([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _curve(start: Point, first: Point, second: Point, end: Point, steps: int = 24) -> list[Point]:
    points = []
    for step in range(steps + 1):
        t = step / steps
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        points.append(
            (
                a * start[0] + b * first[0] + c * second[0] + d * end[0],
                a * start[1] + b * first[1] + c * second[1] + d * end[1],
            )
        )
    return points


def _flat(pen: Pen) -> None:
    outer = _curve((0.02, 0.62), (0.14, 0.42), (0.47, 0.42), (0.43, 0.65))
    outer += _curve((0.43, 0.65), (0.40, 0.80), (0.20, 0.90), (0.02, 1.0))
    inner = _curve((0.115, 0.67), (0.17, 0.55), (0.30, 0.52), (0.275, 0.66))
    inner += _curve((0.275, 0.66), (0.25, 0.74), (0.18, 0.81), (0.115, 0.87))
    pen.fill(outer)
    pen.fill(inner, clear=True)
    pen.bar(0.02, 0.0, 0.115, 0.995)


def _sharp(pen: Pen) -> None:
    pen.bar(0.12, 0.06, 0.21, 1.0)
    pen.bar(0.345, 0.0, 0.435, 0.94)
    for y in (0.30, 0.60):
        pen.fill([(0.0, y + 0.07), (0.56, y - 0.03), (0.56, y + 0.11), (0.0, y + 0.21)])


def _check(pen: Pen) -> None:
    pen.stroke([(0.10, 0.56), (0.38, 0.86), (0.92, 0.16)], 0.17)


def _cross(pen: Pen) -> None:
    pen.stroke([(0.14, 0.14), (0.86, 0.86)], 0.17)
    pen.stroke([(0.86, 0.14), (0.14, 0.86)], 0.17)


def _floor(pen: Pen, width: float) -> None:
    pen.stroke([(0.06, 0.90), (width - 0.06, 0.90)], 0.10)


def _tap(pen: Pen) -> None:
    pen.disc((0.5, 0.45), 0.30)
    _floor(pen, 1.0)


def _double_tap(pen: Pen) -> None:
    pen.disc((0.42, 0.45), 0.30)
    pen.disc((1.16, 0.45), 0.30)
    _floor(pen, 1.58)


def _hold(pen: Pen) -> None:
    pen.stroke([(0.40, 0.45), (1.50, 0.45)], 0.60)
    _floor(pen, 1.9)


def _down_bow(pen: Pen) -> None:
    pen.bar(0.06, 0.04, 0.94, 0.38)
    pen.bar(0.06, 0.04, 0.18, 0.98)
    pen.bar(0.82, 0.04, 0.94, 0.98)


def _up_bow(pen: Pen) -> None:
    pen.fill(
        [(0.02, 0.03), (0.19, 0.03), (0.425, 0.72), (0.66, 0.03), (0.83, 0.03), (0.485, 0.98), (0.365, 0.98)]
    )


def _peg(pen: Pen) -> None:
    pen.fill([(0.0, 0.08), (0.42, 0.08), (0.80, 0.5), (0.42, 0.92), (0.0, 0.92)])


def _pennant(pen: Pen) -> None:
    pen.bar(0.02, 0.0, 0.13, 1.0)
    pen.fill([(0.13, 0.04), (0.80, 0.29), (0.13, 0.56)])


def _flag(pen: Pen) -> None:
    pen.bar(0.02, 0.0, 0.13, 1.0)
    pen.fill([(0.13, 0.04), (0.86, 0.04), (0.64, 0.30), (0.86, 0.56), (0.13, 0.56)])


def _arrow_up(pen: Pen) -> None:
    pen.stroke([(0.36, 0.92), (0.36, 0.12)], 0.13)
    pen.stroke([(0.08, 0.40), (0.36, 0.10), (0.64, 0.40)], 0.13)


def _arrow_down(pen: Pen) -> None:
    pen.stroke([(0.36, 0.08), (0.36, 0.88)], 0.13)
    pen.stroke([(0.08, 0.60), (0.36, 0.90), (0.64, 0.60)], 0.13)


def _arrow_on(pen: Pen) -> None:
    pen.stroke([(0.08, 0.5), (1.06, 0.5)], 0.13)
    pen.stroke([(0.76, 0.18), (1.10, 0.5), (0.76, 0.82)], 0.13)


def _trouble(pen: Pen) -> None:
    pen.fill([(0.5, 0.02), (1.0, 0.96), (0.0, 0.96)])
    pen.fill([(0.44, 0.34), (0.56, 0.34), (0.54, 0.66), (0.46, 0.66)], clear=True)
    pen.disc((0.5, 0.79), 0.065, clear=True)


def _press(pen: Pen) -> None:
    pen.disc((0.5, 0.5), 0.42)


def _ring(pen: Pen) -> None:
    pen.disc((0.5, 0.5), 0.5)
    pen.disc((0.5, 0.5), 0.425, clear=True)


def _open_string(pen: Pen) -> None:
    pen.disc((0.5, 0.5), 0.44)
    pen.disc((0.5, 0.5), 0.32, clear=True)


def _disc(pen: Pen) -> None:
    pen.disc((0.5, 0.5), 0.5)


SIGNS: dict[str, tuple[float, Callable[[Pen], None]]] = {
    "flat": (SIGN_ASPECT["flat"], _flat),
    "sharp": (SIGN_ASPECT["sharp"], _sharp),
    "check": (1.0, _check),
    "cross": (1.0, _cross),
    "tap": (1.0, _tap),
    "double tap": (1.58, _double_tap),
    "hold": (1.9, _hold),
    "down bow": (1.0, _down_bow),
    "up bow": (0.85, _up_bow),
    "peg": (0.8, _peg),
    "pennant": (0.8, _pennant),
    "flag": (0.86, _flag),
    "arrow up": (0.72, _arrow_up),
    "arrow down": (0.72, _arrow_down),
    "arrow on": (1.2, _arrow_on),
    "trouble": (1.0, _trouble),
    "press": (1.0, _press),
    "ring": (1.0, _ring),
    "open string": (1.0, _open_string),
    "disc": (1.0, _disc),
}
"""Sign name -> (width / height, the drawing)."""


def glyph_width(name: str, height_px: float) -> int:
    return round(SIGNS[name][0] * height_px)


@lru_cache(maxsize=512)
def glyph(name: str, height_px: int, colour: Colour) -> pygame.Surface:
    """The sign as a picture with transparency, `height_px` tall, edges smooth."""
    aspect, drawing = SIGNS[name]
    height_px = max(2, height_px)
    width_px = max(2, round(aspect * height_px))
    over = 4 if height_px <= 420 else 3
    large = pygame.Surface((width_px * over, height_px * over), pygame.SRCALPHA, 32)
    large.fill((*colour, 0))
    drawing(Pen(large, height_px * over, colour))
    return pygame.transform.smoothscale(large, (width_px, height_px))


@lru_cache(maxsize=64)
def dashed_ring(width_px: int, height_px: int, thick_px: int, colour: Colour) -> pygame.Surface:
    """A dashed ring, long enough to hold a numeral: half circles joined by straight sides."""
    over = 3
    picture = pygame.Surface((width_px * over, height_px * over), pygame.SRCALPHA, 32)
    picture.fill((*colour, 0))
    pen = Pen(picture, over, colour)
    radius = (height_px - thick_px) / 2
    middle_y, straight = height_px / 2, max(0.0, width_px - height_px)
    around = 2 * straight + 2 * pi * radius

    def point(along: float) -> Point:
        along %= around
        left, right = height_px / 2, height_px / 2 + straight
        if along < straight:
            return left + along, middle_y - radius
        along -= straight
        if along < pi * radius:
            angle = along / radius - pi / 2
            return right + radius * cos(angle), middle_y + radius * sin(angle)
        along -= pi * radius
        if along < straight:
            return right - along, middle_y + radius
        angle = (along - straight) / radius + pi / 2
        return left + radius * cos(angle), middle_y + radius * sin(angle)

    dashes = max(8, round(around / (thick_px * 5.5)))
    for dash in range(dashes):
        start = around * dash / dashes
        steps = [start + around / dashes * 0.55 * step / 8 for step in range(9)]
        pen.stroke([point(along) for along in steps], thick_px)
    return pygame.transform.smoothscale(picture, (width_px, height_px))
