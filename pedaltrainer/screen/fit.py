"""How large things can be: angles at the eye, and words and chords fitted into widths.

Letter heights are angles, as in ISO 9241-303 (20-22 minutes of arc
preferred for reading). Nothing here knows where on the stage a thing stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import atan, ceil, degrees, hypot, radians, tan
from typing import NamedTuple

from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.typeset import set_chord
from pedaltrainer.screen.view import PageView, Sight, StageView

CHORD_ARC_MIN = 120.0
SUFFIX_ARC_MIN = 60.0
WORDS_ARC_MIN = 22.0

_SUFFIX_RATIOS = tuple(percent / 100 for percent in range(60, 29, -1))
CHORD_SHARE, CHORD_BASELINE = 0.80, 0.835
"""Of a chord's zone: how much a capital may take and where the base line runs ("j" hangs below it)."""
_HINTING = 1.02
"""A small size may be rendered a little wider than its measure: letters stand on whole pixels."""
_MM_PER_INCH = 25.4
_PIECES = re.compile(r"\S*\d (?:(?:BPM|min)\b|%)\S*|\S+")
"""What a line is not broken within: a word, or a number with its unit."""


class Zone(NamedTuple):
    """A rectangle in px: left, top, width, height."""

    x: int
    y: int
    w: int
    h: int


@dataclass(frozen=True, slots=True)
class Sizes:
    """The measures everything is built from, in px."""

    words: int
    """Cap height of the words that matter."""
    words_needed: int
    chord_needed: int
    suffix_needed: int
    margin: int
    gap: int


class ChordFit(NamedTuple):
    cap: int
    suffix_ratio: float


def pixels_per_mm(sight: Sight, width: int, height: int) -> float:
    """Pixel density of a screen with square pixels, from its diagonal."""
    return hypot(width, height) / (sight.screen_inches * _MM_PER_INCH)


def cap_height_px(arc_minutes: float, sight: Sight, width: int, height: int) -> int:
    """Cap height in px that fills `arc_minutes` at the player's eye, rounded up.

    Height = 2 d tan(angle / 2), as in ISO 9241-303. Two degrees on a 15.6-inch
    1920x1080 screen seen from 2 m: 388 px.
    """
    height_mm = 2 * sight.distance_m * 1000 * tan(radians(arc_minutes / 60) / 2)
    return ceil(height_mm * pixels_per_mm(sight, width, height))


def arc_minutes_of(cap_px: float, sight: Sight, width: int, height: int) -> float:
    """Minutes of arc that `cap_px` pixels fill at the player's eye."""
    height_mm = cap_px / pixels_per_mm(sight, width, height)
    return degrees(2 * atan(height_mm / (2 * sight.distance_m * 1000))) * 60


def fit_chord(name: str, width: float, height: float, sizes: Sizes, wanted: int) -> ChordFit:
    """The cap height (<= wanted) and suffix ratio with which a name fills width x height px.

    The suffix gives way before the root falls under its 2 degrees, and the
    root gives way only when the suffix is at its smallest.
    """
    wanted = min(wanted, int(height * CHORD_SHARE))
    best = ChordFit(1, _SUFFIX_RATIOS[-1])
    floor = sizes.chord_needed if wanted >= sizes.chord_needed else 0
    for ratio in _SUFFIX_RATIOS:
        cap = min(wanted, int(width / set_chord(name, ratio)[1]))
        if cap >= floor:
            return ChordFit(cap, ratio)
        if cap > best.cap:
            best = ChordFit(cap, ratio)
    return best


def fit_words(text: str, width: float, wanted: int, bold: bool = False) -> int:
    """The largest cap height <= wanted at which one line is no wider than `width` px."""
    unit = measure(text, bold)
    return max(6, min(wanted, int(width / (unit * _HINTING)))) if unit else wanted


def wrap(text: str, width: float, cap: int, bold: bool = False) -> tuple[str, ...]:
    """Break words into lines no wider than `width` px; a longer single word keeps its line.

    A number and its unit, "96 BPM", are one word.
    """
    lines: list[str] = []
    for word in _PIECES.findall(text):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and measure(joined, bold) * cap * _HINTING <= width:
            lines[-1] = joined
        else:
            lines.append(word)
    return tuple(lines)


def fit_notice(text: str, zone: Zone, wanted: int) -> tuple[tuple[str, ...], int]:
    """A trouble behind its sign, over as many lines as the zone holds: the lines and their cap height."""
    for cap in range(wanted, 6, -1):
        width = zone.w - cap * 1.8
        lines = wrap(text, width, cap)
        if len(lines) * cap * 1.65 <= zone.h and all(
            measure(line, False) * cap * _HINTING <= width for line in lines
        ):
            return lines, cap
    return (text,), 6


def base_sizes(width: int, height: int, sight: Sight) -> Sizes:
    """Base sizes for a screen: as tall as the eye needs, never so tall that little else fits."""
    needed = cap_height_px(WORDS_ARC_MIN, sight, width, height)
    # An eye that is near still gets generous letters; a far one gets what fits.
    room = min(height * 0.070, width * (0.067 if height > width else 0.045))
    comfortable = min(height * 0.048, width * 0.028)
    return Sizes(
        words=int(min(max(needed, comfortable), room)),
        words_needed=needed,
        chord_needed=cap_height_px(CHORD_ARC_MIN, sight, width, height),
        suffix_needed=cap_height_px(SUFFIX_ARC_MIN, sight, width, height),
        margin=max(8, round(width * 0.018)),
        gap=max(4, round(height * 0.013)),
    )


def hint_columns(view: StageView) -> float:
    """Width of the hints bar's content in units of cap height, without the gaps between hints."""
    return sum(measure(hint.words, True) + 2.4 for hint in view.hints)


def hint_cap(view: StageView, zone: Zone, sizes: Sizes, upright: bool) -> int:
    """Cap height of the hints: one row on a wide screen, one row each on an upright one."""
    if upright:
        return min(fit_words(hint.words, zone.w - 3 * sizes.words, sizes.words, True) for hint in view.hints)
    spaces = (len(view.hints) - 1) * 1.2
    return max(6, min(sizes.words, int(zone.w / (hint_columns(view) + spaces))))


def title_cap(sizes: Sizes) -> int:
    """Cap height of a title that has room."""
    return round(sizes.words * 1.15)


def fit_title(text: str, width: float, sizes: Sizes) -> tuple[tuple[str, ...], int]:
    """A title's lines and their cap height: two lines before its letters are much smaller than the words."""
    cap = fit_words(text, width, title_cap(sizes), True)
    if cap >= sizes.words * 0.9:
        return (text,), cap
    lines: tuple[str, ...] = (text,)
    for cap in range(title_cap(sizes), 6, -1):
        lines = wrap(text, width, cap, True)
        if len(lines) <= 2 and all(measure(line, True) * cap * _HINTING <= width for line in lines):
            break
    return lines, cap


def menu_cap(choices: tuple[str, ...], body: Zone, sizes: Sizes) -> int:
    """Cap height of a menu's choices: the same for all, up to 1.5 times the words' height."""
    wanted = int(min(sizes.words * 1.5, max(sizes.words, body.h / (2.1 * max(1, len(choices))))))
    return min([wanted, *(fit_words(choice, body.w - 3 * wanted, wanted, True) for choice in choices)])


def page_cap(view: PageView, body: Zone, sizes: Sizes) -> int:
    """Cap height of a page's lines: shrunk until all of them, wrapped, fit beside the figure."""
    width, height = page_text_room(view, body, sizes)
    for cap in range(round(sizes.words * 1.2), 6, -1):
        rows = sum(len(wrap(line, width - 1.2 * cap, cap)) for line in view.lines)
        extra = sum(len(wrap(line, width, small_cap(cap))) for line in view.small_print)
        words = (word for line in view.lines for word in _PIECES.findall(line))
        widest = max((measure(word, False) * cap for word in words), default=0)
        used = rows * 1.62 * cap + len(view.lines) * 0.4 * cap + extra * 1.7 * small_cap(cap)
        if used <= height and widest <= width - 1.2 * cap:
            return cap
    return 6


def small_cap(cap: int) -> int:
    return max(6, round(cap * 0.72))


def page_text_room(view: PageView, body: Zone, sizes: Sizes) -> tuple[float, float]:
    """Width and height in px left for a page's lines: the figure stands at the left, or on top if upright."""
    if not view.figure:
        return body.w, body.h
    if body.h > body.w:
        return body.w, body.h * 0.62
    return body.w * 0.56 - sizes.gap, body.h
