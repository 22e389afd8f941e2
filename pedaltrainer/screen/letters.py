"""Letters: the font, and how wide a line of words is whose accidentals are drawn by hand.

B612 (see fonts/) has no musical accidentals: a line is cut at each of them, and `glyphs` draws it.
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import ceil
from pathlib import Path

import pygame

from pedaltrainer.system.terminal import harmless

SIGN_ASPECT = {"flat": 0.44, "sharp": 0.56}
"""Width of an accidental divided by its height."""

ACCIDENTALS = {"b": "flat", "♭": "flat", "#": "sharp", "♯": "sharp"}

_SIGN_IN_WORDS = re.compile(
    r"(?<![A-Za-z])([A-G])([#b♯♭])(?=$|[^a-z#]|mm?(?![a-z])|m?maj|sus|dim|add|aug)"
    r"|(?<=\d)([b#♭♯])(?=\d)"
)
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


def word_runs(text: str) -> tuple[tuple[str, bool], ...]:
    """Words with chord names in them, cut at each accidental: (text or sign name, is a sign)."""
    # A path or a title may hold what is no letter at all, and no font draws half a character.
    text = harmless(text)
    runs: list[tuple[str, bool]] = []
    end = 0
    for match in _SIGN_IN_WORDS.finditer(text):
        sign = 2 if match.group(2) else 3
        runs.append((text[end : match.start(sign)], False))
        runs.append((ACCIDENTALS[match.group(sign)], True))
        end = match.end()
    if end < len(text) or not runs:
        runs.append((text[end:], False))
    return tuple(runs)
