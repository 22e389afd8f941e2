"""How large things can be: angles at the eye, and words and chords fitted into widths.

Letter heights are angles, as in ISO 9241-303 (20-22 minutes of arc
preferred for reading). Nothing here knows where on the stage a thing stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import atan, ceil, degrees, hypot, radians, tan
from typing import NamedTuple

from pedaltrainer.screen.glyphs import SIGNS
from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.typeset import set_chord
from pedaltrainer.screen.view import HintView, PageView, Sight, StageView

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
    return sum(measure(hint.words, True) + gesture_width(hint.gesture, 1.0) + 0.5 for hint in view.hints)


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


MENU_PITCH = (1.5, 2.6)
"""From one row of a menu to the next, in cap heights: at the least, and with room to spare."""
_MENU_LEAD = 1.6
"""Room for the marker before a row, in cap heights."""


class MenuRows(NamedTuple):
    """How a menu's rows are set: the cap height of all, from one to the next in px, and how many are seen."""

    cap: int
    pitch: float
    seen: int


def menu_width(choices: tuple[str, ...], sizes: Sizes) -> float:
    """Width in px that a menu's rows need at the words' height."""
    widest = max((measure(choice, True) for choice in choices), default=0.0)
    return sizes.words * (widest * _HINTING + _MENU_LEAD + 1.0)


def menu_rows(choices: tuple[str, ...], body: Zone, sizes: Sizes) -> MenuRows:
    """Rows of letters up to 1.5 times the words' height; set closer, and then rolled, rather than smaller."""
    count, (close, wide) = max(1, len(choices)), MENU_PITCH
    wanted = int(min(sizes.words * 1.5, max(sizes.words, body.h / (2.1 * count))))
    cap = min([wanted, *(fit_words(choice, body.w - 3 * wanted, wanted, True) for choice in choices)])
    if cap < sizes.words <= wanted:
        # The margin at the right gives way before the letters.
        wanted = sizes.words
        room = body.w - (_MENU_LEAD + 0.2) * wanted
        cap = min(fit_words(choice, room, wanted, True) for choice in choices)
    if count * cap * close <= body.h:
        return MenuRows(cap, min(body.h / count, cap * wide), count)
    # A row's room says which way the list goes on.
    seen = max(1, int((body.h - cap * close) / (cap * close)))
    return MenuRows(cap, (body.h - cap * close) / seen, seen)


def rows_in_sight(rows: MenuRows, count: int, marked: int, height: float) -> tuple[int, float]:
    """The first row that is seen, and where the rows begin in their zone, in px."""
    first = max(0, min(marked - rows.seen // 2, count - rows.seen))
    return first, (height - rows.pitch * rows.seen) / 2 if rows.seen == count else 0.0


def menu_lines(lines: tuple[str, ...], width: float, sizes: Sizes) -> tuple[str, ...]:
    """The words above a menu, broken into lines at the words' height."""
    return tuple(part for line in lines for part in wrap(line, width, sizes.words))


LINE_PITCH = 1.62
"""From one line of words to the next, in cap heights."""


def hint_places(hints: tuple[HintView, ...], cap: int, width: float) -> tuple[int, list[tuple[float, float]]]:
    """Hints side by side in a bar: their cap height, and where each begins and how wide it is, in px."""
    widths = [
        gesture_width(hint.gesture, cap) + cap * 0.5 + measure(hint.words, True) * cap for hint in hints
    ]
    if sum(widths) > width:
        cap = max(6, int(cap * width / sum(widths)))
        widths = [w * width / sum(widths) for w in widths]
    space = 0.0 if len(hints) == 1 else min((width - sum(widths)) / (len(hints) - 1), width * 0.2)
    x = (width - sum(widths) - space * (len(hints) - 1)) / 2
    places = []
    for whole in widths:
        places.append((x, whole))
        x += whole + space
    return cap, places


def gesture_width(gesture: str, cap: float) -> float:
    """Width in px of a gesture's sign, or of its name on a key cap."""
    if gesture in SIGNS:
        return SIGNS[gesture][0] * 1.25 * cap
    return measure(gesture, True) * cap * 0.74 + cap * 0.7


def answers_width(hints: tuple[HintView, ...], sizes: Sizes) -> float:
    """Width in px that the answers need, sign and words side by side."""
    signs = max((gesture_width(hint.gesture, sizes.words * 1.7) for hint in hints), default=0.0)
    return signs + sizes.words * (
        0.9 + max((measure(hint.words, True) for hint in hints), default=0.0) * 1.05
    )


def answers_cap(hints: tuple[HintView, ...], width: float, height: float, sizes: Sizes) -> int:
    """Cap height of the answers' words, one a row."""
    row_h = height / max(1, len(hints))
    sign_cap = min(sizes.words * 1.7, row_h * 0.55)
    x = max((gesture_width(hint.gesture, sign_cap) for hint in hints), default=0.0) + sizes.words * 0.9
    wanted = round(min(sizes.words * 1.7, max(row_h * 0.42, min(sizes.words, row_h * 0.6))))
    return min((fit_words(hint.words, width - x, wanted, True) for hint in hints), default=wanted)


WORD_SHARE, WORD_BASELINE = 0.62, 0.74
"""A word's cap height and base line in its panel: room above for an l, below for a g."""


def is_word(name: str) -> bool:
    """Is what stands in a chord's place a word, such as a stage of a pressure drill, or a string's number?"""
    return not name[:1].isupper()


def word_cap(name: str, width: float, height: float, sizes: Sizes) -> int:
    """Cap height of a word in a chord's place."""
    return fit_words(name, width - sizes.gap, int(height * WORD_SHARE), True)


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
