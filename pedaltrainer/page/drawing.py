"""Drawings as SVG inside the page.

Across, places are in per cent of the width and the letters are not stretched, so that a drawing is as wide as
the page allows and its words can be read on a telephone. Down, one unit is one CSS pixel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date

from pedaltrainer.page.content import Bars, PlotDay, TrendPlot
from pedaltrainer.page.markup import Markup, element

TREND_TOP, TREND_BOTTOM, TREND_HEIGHT = 14.0, 216.0, 240
BARS_TOP, BARS_BOTTOM, BARS_HEIGHT = 26.0, 126.0, 150
LEFT, RIGHT = 13.0, 95.0
"""Per cent; left of it stand the tempos."""
LEAST_DAYS = 7
"""Never less than a week across: the hours within a day say nothing."""
MOST_LINES = 6
LETTERS = 13.0
"""How tall the letters are."""
STEPS_BPM = (1, 2, 5, 10, 20, 50, 100)


def trend(one: TrendPlot, key: str) -> Markup:
    """A drill's days and the trend through them; key: for the names of its parts."""
    return _figure(one.title, one.description, key, TREND_HEIGHT, *_trend_parts(one))


def bars(one: Bars, key: str) -> Markup:
    """A bar a date, from none to all; its count above it."""
    return _figure(one.title, one.description, key, BARS_HEIGHT, *_bar_parts(one))


def _figure(title: str, description: str, key: str, height: int, *parts: Markup) -> Markup:
    named = (element("title", title, id=f"{key}-title"), element("desc", description, id=f"{key}-about"))
    drawn = element(
        "svg",
        *named,
        *parts,
        role="img",
        aria_labelledby=f"{key}-title {key}-about",
        width="100%",
        height=height,
    )
    return element("figure", drawn)


# --- a trend --------------------------------------------------------------------------


class _Scale:
    """From days and tempos to places."""

    def __init__(self, one: TrendPlot) -> None:
        days = [day.at.toordinal() + 0.5 for day in one.days]
        room = max((LEAST_DAYS - (max(days) - min(days))) / 2, 0.0)
        self.first, self.last = min(days) - room, max(days) + room
        self.low, self.high = math.log(one.low_bpm), math.log(one.high_bpm)

    def across(self, at_days: float) -> float:
        share = (at_days - self.first) / (self.last - self.first)
        return LEFT + min(max(share, -0.03), 1.03) * (RIGHT - LEFT)

    def down(self, bpm: float) -> float:
        share = (math.log(bpm) - self.low) / (self.high - self.low)
        return TREND_BOTTOM - min(max(share, 0.0), 1.0) * (TREND_BOTTOM - TREND_TOP)

    def holds(self, bpm: float) -> bool:
        return self.low <= math.log(bpm) <= self.high


def _trend_parts(one: TrendPlot) -> Iterator[Markup]:
    scale = _Scale(one)
    for bpm in tempo_lines(one.low_bpm, one.high_bpm):
        y = scale.down(bpm)
        yield element("line", x1="0", x2="100%", y1=y, y2=y, class_="grid")
        if one.target_bpm is None or abs(y - scale.down(one.target_bpm)) > LETTERS:
            yield element("text", f"{bpm}", x="0", y=y - 3)
    if one.line:
        yield _band(one, scale)
    for day in one.days:
        yield from _day(day, scale)
    if one.target_bpm is not None and scale.holds(one.target_bpm):
        y = scale.down(one.target_bpm)
        yield element("line", x1="0", x2="100%", y1=y, y2=y, class_="target")
        yield element("text", f"asked for: {one.target_bpm:.0f}", x="0", y=y - 4)
    yield from _dates(one.days[0].at, one.days[-1].at, scale)


def tempo_lines(low_bpm: float, high_bpm: float) -> list[int]:
    """Round tempos between two, six at most."""
    for step in STEPS_BPM:
        lines = list(range(math.ceil(low_bpm / step) * step, math.floor(high_bpm) + 1, step))
        if len(lines) <= MOST_LINES:
            return lines
    return []


def _band(one: TrendPlot, scale: _Scale) -> Markup:
    def path(*points: tuple[float, float]) -> str:
        return "M" + "L".join(f"{scale.across(at):.2f} {scale.down(bpm):.2f}" for at, bpm in points)

    above = [(point.at_days, point.high_bpm) for point in one.line]
    below = [(point.at_days, point.low_bpm) for point in reversed(one.line)]
    middle = [(point.at_days, point.bpm) for point in one.line]
    return element(
        "svg",
        element("path", d=path(*above, *below) + "Z", class_="area"),
        element("path", d=path(*middle), class_="trend"),
        width="100%",
        height=TREND_HEIGHT,
        viewBox=f"0 0 100 {TREND_HEIGHT}",
        preserveAspectRatio="none",
    )


def _day(day: PlotDay, scale: _Scale) -> Iterator[Markup]:
    """A bar with a dot; dashed and without one when no number is told, an arrow at an open end."""
    x = f"{scale.across(day.at.toordinal() + 0.5):.2f}%"
    top = TREND_TOP if day.high_bpm is None else scale.down(day.high_bpm)
    bottom = TREND_BOTTOM if day.low_bpm is None else scale.down(day.low_bpm)
    yield element("line", x1=x, x2=x, y1=top, y2=bottom, class_="rough" if day.bpm is None else "day")
    if day.bpm is not None:
        yield element("circle", cx=x, cy=scale.down(day.bpm), r=4.5, class_="dot")
        return
    if top <= TREND_TOP:
        yield _arrow(x, top, -7)
    if bottom >= TREND_BOTTOM:
        yield _arrow(x, bottom, 7)


def _arrow(x: str, y: float, long: int) -> Markup:
    head = element("path", d=f"M-5 0L0 {long}L5 0", class_="end")
    return element("svg", head, x=x, y=y, width=1, height=1, overflow="visible")


def _dates(first: date, last: date, scale: _Scale) -> Iterator[Markup]:
    y = TREND_HEIGHT - 5
    days = (last - first).days
    told = [(first, "start")] if days < 14 else [(first, "start"), (last, "end")]
    for day, anchor in told:
        at = scale.across(day.toordinal() + 0.5)
        x = 100.0 if anchor == "end" else max(at - 8, 0.0)
        yield element("text", day.isoformat(), x=f"{x:.2f}%", y=y, text_anchor=anchor)


# --- boards ---------------------------------------------------------------------------

BOARD_HEIGHT = 14


def board(share: float) -> Markup:
    """A board nailed down at both ends, as long as `share` of the longest; an empty place for none.

    It is beside its number, which says the same, and has no words of its own.
    """
    end, middle = f"{max(share * 100, 5):.1f}%", BOARD_HEIGHT / 2
    drawn = (
        element("rect", x=0, y=1, width=end, height=BOARD_HEIGHT - 2, rx=2, class_="bar"),
        element("circle", cx=5, cy=middle, r=1.6, class_="nail"),
        element("svg", element("circle", cx=-5, cy=middle, r=1.6, class_="nail"), x=end, overflow="visible"),
    )
    return element(
        "svg", *(drawn if share > 0 else ()), class_="board", height=BOARD_HEIGHT, aria_hidden="true"
    )


# --- bars -----------------------------------------------------------------------------


def _bar_parts(one: Bars) -> Iterator[Markup]:
    wide = 100 / len(one.counts)
    for place, (_, count) in enumerate(one.counts):
        x, middle = f"{place * wide + wide * 0.12:.2f}%", f"{(place + 0.5) * wide:.2f}%"
        width, tall = f"{wide * 0.76:.2f}%", (BARS_BOTTOM - BARS_TOP) * count / max(one.of, 1)
        yield element("rect", x=x, y=BARS_TOP, width=width, height=BARS_BOTTOM - BARS_TOP, class_="all")
        yield element("rect", x=x, y=BARS_BOTTOM - tall, width=width, height=tall, class_="bar")
        yield element("text", f"{count}", x=middle, y=BARS_TOP - 7, text_anchor="middle")
    first, last = one.counts[0][0], one.counts[-1][0]
    yield element("text", first.isoformat(), x="0", y=BARS_HEIGHT - 6)
    if last != first:
        yield element("text", last.isoformat(), x="100%", y=BARS_HEIGHT - 6, text_anchor="end")
