"""Words on a surface, sized by the height of their capitals.

B612 (see fonts/) has no musical accidentals: they are drawn by `glyphs`.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil
from pathlib import Path

import pygame

from pedaltrainer.screen.glyphs import glyph
from pedaltrainer.screen.palette import Colour
from pedaltrainer.screen.typeset import SIGN_ASPECT, set_chord, word_runs

_FONTS = Path(__file__).parent / "fonts"
_FILES = {False: _FONTS / "B612-Regular.otf", True: _FONTS / "B612-Bold.otf"}
_PROBE_PX = 400


@lru_cache(maxsize=2)
def _cap_ratio(bold: bool) -> float:
    """Cap height divided by font size, measured on a rendered E, the lowest of the flat-topped capitals."""
    pygame.font.init()
    probe = pygame.font.Font(_FILES[bold], _PROBE_PX)
    return probe.render("E", True, (255, 255, 255)).get_bounding_rect(min_alpha=128).height / _PROBE_PX


@lru_cache(maxsize=96)
def font(bold: bool, cap_px: int) -> pygame.font.Font:
    """The font whose capitals are `cap_px` tall."""
    ratio = _cap_ratio(bold)
    return pygame.font.Font(_FILES[bold], max(4, ceil(cap_px / ratio)))


@lru_cache(maxsize=4096)
def measure(text: str, bold: bool) -> float:
    """Width of a line of words in units of its cap height (accidentals included)."""
    cap = round(_PROBE_PX * _cap_ratio(bold))
    width = 0.0
    for run, is_sign in word_runs(text):
        width += SIGN_ASPECT[run] * 1.1 + 0.1 if is_sign else font(bold, cap).size(run)[0] / cap
    return width


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
    pieces, width = set_chord(name, suffix_ratio, measure)
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
