"""Pictures of the record: clean tempos over the days, with their intervals."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, tzinfo
from pathlib import Path
from typing import Any, NamedTuple

from pedaltrainer.paper.page import ACCENT, FAINT, GROUND, INK, check_kind, our_look, save

KINDS = (".png", ".svg")
BAR, TREND = ACCENT, FAINT
ROOM = 1.06
"""How far the axis goes beyond the slowest and the fastest tempo told."""


TARGET_IN_SIGHT = 1.5


class Point(NamedTuple):
    """A local date, its clean tempo and the ends of its interval, in BPM; None where that is not told."""

    day: date
    bpm: float | None
    low_bpm: float | None
    high_bpm: float | None


def plot_progress(
    path: Path,
    title: str,
    points: Sequence[Point],
    verdict: str,
    target_bpm: float | None = None,
    line: Sequence[tuple[datetime, float, float, float]] = (),
    zone: tzinfo | None = None,
) -> None:
    """Draw a drill's clean tempos into a .png or .svg file.

    line: the trend as (moment, middle, low, high), in BPM, its days in `zone` (None: this machine's).
    Raises InputError for another kind of file or one that cannot be written.
    """
    check_kind(path, KINDS)
    with our_look(salt=title):
        save(_figure(title, points, verdict, target_bpm, line, zone), path)


def _figure(
    title: str,
    points: Sequence[Point],
    verdict: str,
    target_bpm: float | None,
    line: Sequence[tuple[datetime, float, float, float]],
    zone: tzinfo | None,
) -> Any:
    from matplotlib import dates
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.ticker import MaxNLocator, NullLocator

    def at(moment: datetime) -> float:
        # matplotlib's days are UTC; a player's are local. Noon stands at the day's own tick.
        return float(dates.date2num(moment.astimezone(zone).replace(tzinfo=None))) - 0.5

    figure = Figure(figsize=(8, 4.5), dpi=120, facecolor=GROUND, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.set_yscale("log")
    low_bpm, high_bpm = _ends(points, target_bpm)
    axes.set_ylim(low_bpm, high_bpm)
    if line:
        when = [at(moment) for moment, *_ in line]
        _, middle, low, high = zip(*line, strict=True)
        axes.fill_between(when, low, high, color=TREND, alpha=0.35, linewidth=0)
        axes.plot(when, middle, color=TREND, linewidth=2.5)
    for point in points:
        _draw(axes, float(dates.date2num(point.day)), point, low_bpm, high_bpm)
    if target_bpm is not None and low_bpm < target_bpm < high_bpm:
        axes.axhline(target_bpm, color=INK, linewidth=1.2, linestyle="--")
        axes.annotate(
            f"target {target_bpm:g}", (0.01, target_bpm), xycoords=("axes fraction", "data"), va="bottom"
        )
    there = [float(dates.date2num(point.day)) for point in points]
    if there:
        # Never less than a week: the hours within a day say nothing.
        room = max((7 - (max(there) - min(there))) / 2, 0.5)
        axes.set_xlim(min(there) - room, max(there) + room)
    days = dates.AutoDateLocator(minticks=3, maxticks=8)
    axes.xaxis.set_major_locator(days)
    axes.xaxis.set_major_formatter(dates.ConciseDateFormatter(days))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=8, steps=[1, 2, 5, 10], integer=True))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter("{x:.0f}")
    axes.set_ylabel("clean tempo, BPM (8 landings, 4 times in 5; bars: 90 %)")
    axes.set_title(f"{title}\n{verdict}", loc="left", fontsize=11, pad=14)
    axes.spines[["top", "right"]].set_visible(False)
    return figure


def with_target(low: float, high: float, target_bpm: float | None) -> tuple[float, float]:
    """The ends of a scale of tempos that shows a target too, unless it is so far off that it would squash
    the rest."""
    if target_bpm is None or not low / TARGET_IN_SIGHT < target_bpm < high * TARGET_IN_SIGHT:
        return low, high
    return min(low, target_bpm), max(high, target_bpm)


def _ends(points: Sequence[Point], target_bpm: float | None) -> tuple[float, float]:
    # The far end of a wide interval is mostly the prior's: it may run off the edge.
    drawn = [one for one in points if one.bpm is not None or None in (one.low_bpm, one.high_bpm)] or points
    ends = [bpm for point in drawn for bpm in (point.low_bpm, point.high_bpm) if bpm is not None]
    told = ends or [target_bpm or 80.0]
    low, high = with_target(min(told), max(told), target_bpm)
    return low / ROOM, high * ROOM


def _draw(axes: Any, x: float, point: Point, bottom_bpm: float, top_bpm: float) -> None:
    """A day: a bar with a dot; dashed and without one when no number is told, an arrow at an open end."""
    low = max(point.low_bpm or bottom_bpm, bottom_bpm)
    high = min(point.high_bpm or top_bpm, top_bpm)
    if point.bpm is not None:
        axes.vlines(x, low, high, color=BAR, linewidth=3)
        axes.plot(x, point.bpm, color=INK, marker="o", markersize=7, linestyle="none")
        return
    axes.vlines(x, low, high, color=BAR, linewidth=1.5, linestyle=(0, (3, 2)))
    for open_end, end, marker in ((low == bottom_bpm, low, "v"), (high == top_bpm, high, "^")):
        mark = marker if open_end else "_"
        axes.plot(x, end, color=BAR, marker=mark, markersize=8, linestyle="none", clip_on=False)
