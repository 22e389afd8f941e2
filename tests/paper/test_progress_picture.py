"""The picture of progress: what is drawn, and where."""

from __future__ import annotations

import subprocess
import sys
import xml.etree.ElementTree as ET
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.paper import progress_picture as plots
from pedaltrainer.paper.progress_picture import Point, plot_progress
from pedaltrainer.screen.palette import contrast

START = datetime(2026, 3, 1, 18, tzinfo=UTC)
TOLD = [Point(START.date() + timedelta(days=n), 80 + n, 74 + n, 87 + n) for n in range(6)]
OPEN = [
    Point(START.date() + timedelta(days=7), None, 90, None),
    Point(START.date() + timedelta(days=8), None, None, 95),
]
LINE = [(START + timedelta(days=n), 80 + n, 78 + n, 82 + n) for n in range(6)]


def pixels(path):
    from matplotlib.image import imread

    return imread(path)[:, :, :3]


def share_of(colour: str, picture) -> float:
    from matplotlib.colors import to_rgb

    return float((np.abs(picture - np.array(to_rgb(colour))).max(axis=2) < 0.02).mean())


def test_a_png_shows_bars_dots_and_the_line(tmp_path):
    plot_progress(tmp_path / "p.png", "Am – E", TOLD, "Rising.", 100, LINE, UTC)
    picture = pixels(tmp_path / "p.png")
    assert picture.shape == (540, 960, 3)
    for colour in (plots.INK, plots.BAR, plots.TREND):
        assert share_of(colour, picture) > 0.0005
    assert share_of(plots.GROUND, picture) > 0.7
    plot_progress(tmp_path / "bare.png", "Am – E", TOLD, "Rising.", zone=UTC)
    assert share_of(plots.TREND, pixels(tmp_path / "bare.png")) < 0.0001


def test_a_day_stands_at_its_own_date_however_late_it_was_played():
    from matplotlib import dates

    evening = date(2026, 3, 25)
    late = datetime(2026, 3, 25, 22, 30, tzinfo=UTC)
    line = [(late - timedelta(days=20), 70.0, 66.0, 75.0), (late, 80.0, 76.0, 85.0)]
    figure = plots._figure("Am – E", [Point(evening, 80.0, 76.0, 85.0)], "", None, line, UTC)
    (axes,) = figure.axes
    (dot,) = (one for one in axes.lines if one.get_marker() == "o")
    assert dates.num2date(dot.get_xdata()[0]) == datetime(2026, 3, 25, tzinfo=UTC)
    labels = dict(
        zip(axes.get_xticks(), axes.xaxis.get_major_formatter().format_ticks(axes.get_xticks()), strict=True)
    )
    assert labels[dot.get_xdata()[0]] == "25"
    trend = max(axes.lines, key=lambda one: len(one.get_xdata()))
    assert abs(trend.get_xdata()[-1] - dot.get_xdata()[0]) < 0.5


def test_an_svg_is_well_formed_and_the_same_every_time(tmp_path):
    for name in ("p.svg", "q.SVG"):
        plot_progress(tmp_path / name, "Am – E", TOLD + OPEN, "Rising.", 100, LINE, UTC)
    assert ET.parse(tmp_path / "p.svg").getroot().tag.endswith("}svg")
    assert (tmp_path / "p.svg").read_bytes() == (tmp_path / "q.SVG").read_bytes()


@pytest.mark.parametrize("points", [[], TOLD[:1], OPEN, OPEN[:1], [Point(START.date(), 80.0, 80.0, 80.0)]])
@pytest.mark.parametrize("target_bpm", [None, 20.0, 84.0, 300.0])
def test_few_or_open_days_can_be_drawn(tmp_path, points, target_bpm):
    plot_progress(tmp_path / "p.png", "F, landed again", points, "Too early to say.", target_bpm)
    assert share_of(plots.INK, pixels(tmp_path / "p.png")) > 0.0005


def test_a_day_with_an_open_end_does_not_stretch_the_axis():
    low_bpm, high_bpm = plots._ends(TOLD + OPEN, target_bpm=300)
    assert 69 < low_bpm < 74
    assert 95 < high_bpm < 102


def test_bars_and_dots_stand_out_in_grey_print():
    """WCAG 2.2, success criterion 1.4.11: parts of graphics at least 3 : 1 against what is beside them."""

    def rgb(colour: str):
        return tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))

    assert contrast(rgb(plots.BAR), rgb(plots.GROUND)) > 4.5
    assert contrast(rgb(plots.INK), rgb(plots.BAR)) > 3
    assert contrast(rgb(plots.BAR), rgb(plots.TREND)) > 2


@pytest.mark.parametrize("name", ["p.gif", "p", "p.png.txt"])
def test_another_kind_of_file_is_refused_in_one_sentence(tmp_path, name):
    with pytest.raises(InputError, match=r"ending in \.png or \.svg"):
        plot_progress(tmp_path / name, "F", TOLD, "Flat.")
    assert not (tmp_path / name).exists()


def test_a_folder_that_is_not_there_is_said(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        plot_progress(tmp_path / "none" / "p.png", "F", TOLD, "Flat.")


def test_nobody_waits_for_the_drawing_library_who_asks_for_no_picture():
    code = (
        "import sys, pedaltrainer.telling.progress_words, pedaltrainer.paper.progress_picture; "
        "sys.exit('matplotlib' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
