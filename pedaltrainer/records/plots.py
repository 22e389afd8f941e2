"""Pictures of the record: clean tempos over the days, with their intervals."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from pedaltrainer.errors import InputError

KINDS = (".png", ".svg")
INK, BAR, GROUND = "#14110f", "#8a5a12", "#ffffff"
"""Dark on white: the picture is printed and put on a music stand."""


class Point(NamedTuple):
    """One sitting: when, its clean tempo and the ends of its interval, in BPM."""

    when: datetime
    bpm: float
    low_bpm: float
    high_bpm: float


def plot_progress(
    path: Path, title: str, points: Sequence[Point], verdict: str, target_bpm: float | None = None
) -> None:
    """Draw a drill's clean tempos into a .png or .svg file.

    Raises InputError for another kind of file or one that cannot be written.
    """
    if path.suffix.lower() not in KINDS:
        raise InputError(f"{path} is no picture this program makes; name a file ending in .png or .svg.")
    # Half a second to import: only who asks for a picture waits for it.
    from matplotlib import dates
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8, 4.5), dpi=120, facecolor=GROUND, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    when = [float(dates.date2num(point.when)) for point in points]
    axes.vlines(when, [p.low_bpm for p in points], [p.high_bpm for p in points], color=BAR, linewidth=3)
    axes.plot(when, [p.bpm for p in points], color=INK, marker="o", markersize=7, linestyle="none")
    if target_bpm is not None:
        axes.axhline(target_bpm, color=INK, linewidth=1.2, linestyle="--")
        axes.annotate(
            f"{target_bpm:g} BPM", (0.01, target_bpm), xycoords=("axes fraction", "data"), va="bottom"
        )
    days = dates.AutoDateLocator(minticks=2, maxticks=8)
    axes.xaxis.set_major_locator(days)
    axes.xaxis.set_major_formatter(dates.ConciseDateFormatter(days))
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter("{x:.0f}")
    axes.yaxis.set_minor_formatter("{x:.0f}")
    axes.set_ylabel("clean tempo, BPM (bars: 90 %)")
    axes.set_title(f"{title}\n{verdict}", loc="left", fontsize=12)
    axes.spines[["top", "right"]].set_visible(False)
    try:
        figure.savefig(path)
    except OSError as trouble:
        raise InputError(f"{path} cannot be written ({trouble.strerror}); name another file.") from trouble
