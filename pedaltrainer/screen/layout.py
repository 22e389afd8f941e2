"""Where everything stands and how tall its letters are, from the player's own distance.

Pure. Letter heights are angles at the eye, as in ISO 9241-303 (20-22 minutes
of arc preferred for reading): the chord to land has capitals of 2 degrees or
more, its suffix 1 degree or more where it fits, everything else that matters
while playing 22 minutes or more. What cannot be given is given smaller and
named in `Layout.shortfalls`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, hypot, radians, tan
from typing import NamedTuple

from pedaltrainer.screen.typeset import Measure, set_chord
from pedaltrainer.screen.view import MenuView, PageView, Phase, PlayView, Sight, StageView

CHORD_ARC_MIN = 120.0
SUFFIX_ARC_MIN = 60.0
WORDS_ARC_MIN = 22.0

_SUFFIX_RATIOS = (0.6, 0.56, 0.53, 0.5, 0.46, 0.42, 0.38, 0.34, 0.3)
_MM_PER_INCH = 25.4


class Zone(NamedTuple):
    """A rectangle in px: left, top, width, height."""

    x: int
    y: int
    w: int
    h: int

    def overlaps(self, other: Zone) -> bool:
        return (
            self.x < other.x + other.w
            and other.x < self.x + self.w
            and self.y < other.y + other.h
            and other.y < self.y + self.h
        )


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


@dataclass(frozen=True, slots=True)
class Layout:
    """Named zones, none overlapping another, the measures, and what fell short."""

    zones: dict[str, Zone]
    sizes: Sizes
    shortfalls: tuple[str, ...] = ()


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
    one_px = cap_px / pixels_per_mm(sight, width, height)
    return one_px / (sight.distance_m * 1000) * 60 * 180 / 3.141592653589793


def fit_chord(name: str, width: float, height: float, sizes: Sizes, measure: Measure, wanted: int) -> ChordFit:
    """The cap height (<= wanted) and suffix ratio with which a name fills width x height px.

    The suffix gives way before the root falls under its 2 degrees, and the
    root gives way only when the suffix is at its smallest.
    """
    wanted = min(wanted, int(height / 1.14))
    best = ChordFit(1, _SUFFIX_RATIOS[-1])
    for ratio in _SUFFIX_RATIOS:
        cap = min(wanted, int(width / set_chord(name, ratio, measure)[1]))
        if cap >= min(wanted, sizes.chord_needed):
            return ChordFit(cap, ratio)
        if cap > best.cap:
            best = ChordFit(cap, ratio)
    return best


def fit_words(text: str, width: float, wanted: int, measure: Measure, bold: bool = False) -> int:
    """The largest cap height <= wanted at which one line is no wider than `width` px."""
    unit = measure(text, bold)
    return max(6, min(wanted, int(width / (unit * 1.01)))) if unit else wanted


def wrap(text: str, width: float, cap: int, measure: Measure, bold: bool = False) -> tuple[str, ...]:
    """Break words into lines no wider than `width` px; a longer single word keeps its line."""
    lines: list[str] = []
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and measure(joined, bold) * cap <= width:
            lines[-1] = joined
        else:
            lines.append(word)
    return tuple(lines)


def measures(width: int, height: int, sight: Sight) -> Sizes:
    """Base sizes for a screen: as tall as the eye needs, never so tall that little else fits."""
    needed = cap_height_px(WORDS_ARC_MIN, sight, width, height)
    # An eye that is near still gets generous letters; a far one gets what fits.
    room = min(height * 0.070, width * 0.045)
    comfortable = min(height * 0.048, width * 0.028)
    return Sizes(
        words=int(min(max(needed, comfortable), room)),
        words_needed=needed,
        chord_needed=cap_height_px(CHORD_ARC_MIN, sight, width, height),
        suffix_needed=cap_height_px(SUFFIX_ARC_MIN, sight, width, height),
        margin=max(8, round(width * 0.018)),
        gap=max(4, round(height * 0.013)),
    )


def hint_columns(view: StageView, measure: Measure) -> float:
    """Width of the hints bar's content in units of cap height, without the gaps between hints."""
    return sum(measure(hint.words, True) + 2.4 for hint in view.hints)


def arrange(view: StageView, width: int, height: int, sight: Sight, measure: Measure) -> Layout:
    """Zones for a view on a screen of width x height px.

    Zones depend only on the kind of view, its phase, its unordered pair of
    chords and its hints: a take can run from end to end without one moving.
    """
    sizes = measures(width, height, sight)
    zones: dict[str, Zone] = {}
    left, right = sizes.margin, width - sizes.margin
    top, gap, words = sizes.gap, sizes.gap, sizes.words
    upright = height > width
    strip = round(words * 1.7)

    rows = len(view.hints) if upright else 1
    hint_h = round(words * 1.9)
    hints_top = height - gap - hint_h * max(1, rows)
    asking = isinstance(view, PlayView) and view.phase is Phase.ASKING
    if not asking:
        zones["hints"] = Zone(left, hints_top, right - left, height - gap - hints_top)

    if isinstance(view, PlayView):
        span = right - left
        side = round(words * 5.3)
        if upright:
            zones["tempo"] = Zone(left, top, span // 2 - gap, strip)
            zones["target"] = Zone(left + span // 2, top, span - span // 2, strip)
            zones["headline"] = Zone(left, top + strip + gap, span, strip)
            top += 2 * (strip + gap)
        else:
            zones["tempo"] = Zone(left, top, round(words * 6.4), strip)
            zones["target"] = Zone(right - round(words * 6.4), top, round(words * 6.4), strip)
            middle = left + round(words * 6.4) + gap
            zones["headline"] = Zone(middle, top, right - round(words * 6.4) - gap - middle, strip)
            top += strip + gap
        bottom = (hints_top if not asking else height - gap) - gap
        _PLAY[view.phase](view, zones, Zone(left, top, span, bottom - top), side, sizes, measure, upright)
    else:
        half = (right - left - gap) // 2
        answered = view.ack is not None
        title_w = half if answered and not upright else right - left
        zones["title"] = Zone(left, top, title_w, strip)
        if answered and not upright:
            zones["headline"] = Zone(left + half + gap, top, right - left - half - gap, strip)
        top += strip + gap
        if view.notices or (answered and upright):
            zones["notice"] = Zone(left, top, right - left, strip)
            top += strip + gap
        zones["body"] = Zone(left, top, right - left, hints_top - gap - top)
    return Layout(zones, sizes, tuple(_shortfalls(view, zones, sizes, sight, width, height, measure)))


def _split_chords(view: PlayView, room: Zone, sizes: Sizes, measure: Measure) -> tuple[int, int]:
    """Widths of the chord to land and of the next one, the same for A-B as for B-A."""
    pair = {view.now_chord, view.next_chord} - {""} or {"A"}
    unit = max(set_chord(name, 0.5, measure)[1] for name in pair)
    tall = min(max(sizes.chord_needed, room.h * 0.8), room.h / 1.16)
    least_next = sizes.words * 1.35 * max(2.2, *(set_chord(name, 0.6, measure)[1] + 0.9 for name in pair))
    now_w = min(max(unit * tall * 1.04, room.w * 0.56), room.w - least_next)
    return int(now_w), int(room.w - now_w)


def _playing(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, measure: Measure, upright: bool
) -> None:
    gap, words = sizes.gap, sizes.words
    dots_h = round(words * 0.9)
    if upright:
        chord_h = int(min(sizes.chord_needed * 1.22, room.h * 0.30))
        next_h = round(words * 3.2)
        zones["now"] = Zone(room.x, room.y, room.w, chord_h)
        zones["next"] = Zone(room.x, room.y + chord_h + gap, room.w - side - gap, next_h)
        y = room.y + chord_h + gap
        rest = room.y + room.h - y
        plank_h = round(rest * 0.34)
        zones["ladder"] = Zone(room.x + room.w - side, y, side, rest - plank_h - gap)
        beat_h = zones["ladder"].h - next_h - gap
        zones["beat"] = Zone(room.x, y + next_h + gap, room.w - side - gap, beat_h)
        zones["track"] = Zone(room.x, room.y + room.h - plank_h, room.w, plank_h - dots_h - gap)
        zones["dots"] = Zone(room.x, room.y + room.h - dots_h, room.w, dots_h)
        return
    main_w = room.w - side - gap * 2
    chord_h = int(min(max(sizes.chord_needed * 1.19, room.h * 0.5), room.h * 0.62))
    now_w, next_w = _split_chords(view, Zone(room.x, room.y, main_w, chord_h), sizes, measure)
    zones["now"] = Zone(room.x, room.y, now_w, chord_h)
    zones["next"] = Zone(room.x + now_w, room.y, next_w, chord_h)
    zones["ladder"] = Zone(room.x + room.w - side, room.y, side, room.h)
    beat_w = round(words * 2.9)
    track_y = room.y + chord_h + gap
    track_h = room.y + room.h - track_y - dots_h - gap
    zones["beat"] = Zone(room.x, track_y, beat_w, track_h + gap + dots_h)
    zones["track"] = Zone(room.x + beat_w + gap, track_y, main_w - beat_w - gap, track_h)
    zones["dots"] = Zone(room.x + beat_w + gap, track_y + track_h + gap, main_w - beat_w - gap, dots_h)


def _ready(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, measure: Measure, upright: bool
) -> None:
    caption = round(sizes.words * 1.5)
    zones["caption"] = Zone(room.x, room.y, room.w, caption)
    y, h = room.y + caption + sizes.gap, room.h - caption - sizes.gap
    if view.now_chord == view.next_chord or not view.next_chord:
        zones["now study"] = Zone(room.x, y, room.w, h)
    elif upright:
        zones["now study"] = Zone(room.x, y, room.w, (h - sizes.gap) // 2)
        zones["next study"] = Zone(room.x, y + (h + sizes.gap) // 2, room.w, (h - sizes.gap) // 2)
    else:
        half = (room.w - sizes.gap) // 2
        zones["now study"] = Zone(room.x, y, half, h)
        zones["next study"] = Zone(room.x + half + sizes.gap, y, room.w - half - sizes.gap, h)


def _asking(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, measure: Measure, upright: bool
) -> None:
    caption = round(sizes.words * 1.5)
    main_w = room.w - side - sizes.gap * 2
    question = int(min(sizes.words * 2.6, room.h * 0.24))
    zones["caption"] = Zone(room.x, room.y, main_w, caption)
    y = room.y + caption + sizes.gap
    zones["question"] = Zone(room.x, y, main_w, question)
    y += question + sizes.gap
    zones["hints"] = Zone(room.x, y, main_w, room.y + room.h - y)
    zones["ladder"] = Zone(room.x + room.w - side, room.y, side, room.h)


def _breath(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, measure: Measure, upright: bool
) -> None:
    caption = round(sizes.words * 1.5)
    main_w = room.w - side - sizes.gap * 2
    zones["caption"] = Zone(room.x, room.y, main_w, caption)
    y = room.y + caption + sizes.gap
    h = room.y + room.h - y
    zones["verdict"] = Zone(room.x, y, main_w, round(h * 0.52))
    zones["coming"] = Zone(room.x, y + round(h * 0.52) + sizes.gap, main_w, h - round(h * 0.52) - sizes.gap)
    zones["ladder"] = Zone(room.x + room.w - side, room.y, side, room.h)


_PLAY = {
    Phase.READY: _ready,
    Phase.COUNT_IN: _playing,
    Phase.TAKE: _playing,
    Phase.ASKING: _asking,
    Phase.BREATH: _breath,
}


def _shortfalls(
    view: StageView, zones: dict[str, Zone], sizes: Sizes, sight: Sight, width: int, height: int, measure: Measure
) -> list[str]:
    found: list[str] = []

    def check(what: str, cap: float, needed: int) -> None:
        if cap < needed:
            got, want = (arc_minutes_of(px, sight, width, height) for px in (cap, needed))
            found.append(f"{what}: {got:.0f} of {want:.0f} minutes of arc")

    check("words", sizes.words, sizes.words_needed)
    if view.hints and not (isinstance(view, PlayView) and view.phase is Phase.ASKING):
        check("hints", hint_cap(view, zones["hints"], sizes, measure, height > width), sizes.words_needed)
    if isinstance(view, PlayView):
        check("headline", fit_words(view.headline, zones["headline"].w, sizes.words, measure, True), sizes.words_needed)
        check("target", fit_words(view.target, zones["target"].w, sizes.words, measure), sizes.words_needed)
        if "now" in zones and view.now_chord:
            now = zones["now"]
            fit = fit_chord(view.now_chord, now.w, now.h, sizes, measure, sizes.chord_needed * 2)
            check(f"chord {view.now_chord}", fit.cap, sizes.chord_needed)
            check(f"suffix of {view.now_chord}", fit.cap * fit.suffix_ratio, sizes.suffix_needed)
    elif isinstance(view, MenuView):
        check("choices", menu_cap(view.choices, zones["body"], sizes, measure), sizes.words_needed)
    elif isinstance(view, PageView):
        check("lines", page_cap(view, zones["body"], sizes, measure), sizes.words_needed)
    return found


def hint_cap(view: StageView, zone: Zone, sizes: Sizes, measure: Measure, upright: bool) -> int:
    """Cap height of the hints: one row on a wide screen, one row each on an upright one."""
    if upright:
        return min(fit_words(hint.words, zone.w - 3 * sizes.words, sizes.words, measure, True) for hint in view.hints)
    spaces = (len(view.hints) - 1) * 1.2
    return max(6, min(sizes.words, int(zone.w / (hint_columns(view, measure) + spaces))))


def menu_cap(choices: tuple[str, ...], body: Zone, sizes: Sizes, measure: Measure) -> int:
    """Cap height of a menu's choices: the same for all, up to 1.5 times the words' height."""
    wanted = int(min(sizes.words * 1.5, max(sizes.words, body.h / (2.1 * max(1, len(choices))))))
    return min([wanted, *(fit_words(choice, body.w - 3 * wanted, wanted, measure, True) for choice in choices)])


def page_cap(view: PageView, body: Zone, sizes: Sizes, measure: Measure) -> int:
    """Cap height of a page's lines: shrunk until all of them, wrapped, fit beside the figure."""
    width, height = page_text_room(view, body, measure)
    for cap in range(sizes.words, 6, -1):
        rows = sum(len(wrap(line, width - 1.2 * cap, cap, measure)) for line in view.lines)
        extra = sum(len(wrap(line, width, small_cap(cap), measure)) for line in view.small_print)
        widest = max((measure(word, False) * cap for line in view.lines for word in line.split()), default=0)
        used = rows * 1.62 * cap + len(view.lines) * 0.45 * cap + extra * 1.7 * small_cap(cap)
        if used <= height and widest <= width - 1.2 * cap:
            return cap
    return 6


def small_cap(cap: int) -> int:
    return max(6, round(cap * 0.72))


def page_text_room(view: PageView, body: Zone, measure: Measure) -> tuple[float, float]:
    """Width and height in px left for a page's lines: the figure stands at the left, or on top if upright."""
    if not view.figure:
        return body.w, body.h
    if body.h > body.w:
        return body.w, body.h * 0.62
    return body.w * 0.56, body.h
