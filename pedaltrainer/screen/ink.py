"""Words on a surface, sized by the height of their capitals."""

from __future__ import annotations

import pygame

from pedaltrainer.screen.glyphs import glyph
from pedaltrainer.screen.letters import font, measure, word_runs
from pedaltrainer.screen.palette import Colour
from pedaltrainer.screen.typeset import set_chord


def write(
    surface: pygame.Surface,
    text: str,
    cap_px: int,
    colour: Colour,
    x: float,
    baseline: float,
    *,
    bold: bool = False,
    align: float = 0.0,
) -> float:
    """Write one line; `align` 0 puts its left edge at x, 0.5 its middle, 1 its right. Returns its width."""
    width = measure(text, bold) * cap_px
    left = x - align * width
    for run, is_sign in word_runs(text):
        if is_sign:
            sign = glyph(run, round(cap_px * 1.1), colour)
            surface.blit(sign, (round(left + 0.05 * cap_px), round(baseline - cap_px * 1.12)))
            left += sign.get_width() + 0.1 * cap_px
        elif run:
            face = font(bold, cap_px)
            surface.blit(face.render(run, True, colour), (round(left), round(baseline) - face.get_ascent()))
            left += face.size(run)[0]
    return width


def write_chord(
    surface: pygame.Surface,
    name: str,
    cap_px: int,
    suffix_ratio: float,
    colour: Colour,
    x: float,
    baseline: float,
    align: float = 0.0,
) -> float:
    """Set a chord name with its root's capital `cap_px` tall; returns its width in px."""
    pieces, width = set_chord(name, suffix_ratio)
    left = x - align * width * cap_px
    for piece in pieces:
        at, foot, cap = (
            left + piece.x * cap_px,
            baseline - piece.y * cap_px,
            max(1, round(piece.cap * cap_px)),
        )
        if piece.run.sign:
            surface.blit(glyph(piece.run.text, cap, colour), (round(at), round(foot) - cap))
        else:
            face = font(True, cap)
            surface.blit(
                face.render(piece.run.text, True, colour), (round(at), round(foot) - face.get_ascent())
            )
    return width * cap_px
