"""Songs on the terminal: the list, and a chart with its air times."""

from __future__ import annotations

import pytest

from pedaltrainer.telling.charts import Spot, changes_by_spot, chart_report, songs_table
from pedaltrainer.telling.text_boxes import Terminal
from tests.telling.made_up import TODAY, song


def shown(chart: str | None = None, columns: int = 80) -> str:
    return chart_report(song(chart) if chart else song(), TODAY, Terminal(columns))


def test_a_chart_has_its_sections_bars_and_marks():
    lines = shown().splitlines()
    assert lines[0] == "Paper Boats"
    assert "104 BPM, 4/4, strummed in 8ths, lifted between chords; 10 bars" in lines[1]
    assert "Softly in the bridge." in lines
    verse = lines.index("[Verse] x2")
    assert lines[verse + 1].replace(" ", "") == "1|Am///|F///|C/G/|Am...|"
    bridge = lines.index("[Bridge]")
    assert lines[bridge + 1].strip() == "80 BPM, 4/4"
    assert lines[bridge + 2].replace(" ", "").startswith("9|Am//G|Am.--|")


def test_the_air_time_stands_below_the_chord_it_leads_to():
    lines = shown().splitlines()
    row = lines.index("[Verse] x2") + 1
    chords, times = lines[row], lines[row + 1]
    # Half a beat at 104 BPM: 60 000 / 104 / 2 ms.
    assert times[chords.index("F") :][:3] == "288"
    assert times[chords.index("G") :][:3] == "288"
    assert times[: chords.index("F")].strip(" |") == ""


def test_a_section_played_again_shows_the_shorter_of_its_ways_in():
    two = song("title: Round\ntempo: 60\n[A] x2\n| C / / / | G - - - |\n")
    there = changes_by_spot(two)
    (again,) = there[Spot(0, 0, 0)]
    assert (again.here, again.there, again.bar) == ("G", "C", 2)
    (first, second) = there[Spot(0, 1, 0)]
    assert (first.bar, second.bar) == (1, 3)


def test_a_tempo_that_changes_on_the_way_is_told_where_it_does():
    lines = shown("title: Two speeds\ntempo: 90\n| C / / / |\ntempo: 60\n| G / / / |\n").splitlines()
    assert "     60 BPM, 4/4" in lines


@pytest.mark.parametrize("columns", [60, 80, 100, 160])
def test_nothing_is_wider_than_the_terminal(columns):
    busy = "title: Busy\nstrum: 16ths\n| Bm7b5 E7 Am7 Dm7 G7 Cmaj7 Fmaj7 F#m7b5 |\n"
    for chart in (None, busy):
        assert max(map(len, shown(chart, columns).splitlines())) <= columns


def test_chords_that_crowd_a_bar_get_a_line_to_themselves():
    lines = shown("title: Busy\n| Bm7b5 E7 Am7 Dm7 G7 Cmaj7 Fmaj7 F#m7b5 | C / / / |\n").splitlines()
    alone, usual = (line.split() for line in lines if line.strip()[:3] in {"1 |", "2 |"})
    assert alone == ["1", "|", "Bm7b5", "E7", "Am7", "Dm7", "G7", "Cmaj7", "Fmaj7", "F#m7b5", "|"]
    assert usual == ["2", "|", "C", "/", "/", "/", "|"]


def test_the_list_has_a_row_a_song():
    table = songs_table([song(), song("title: Drone\n| Am / / / |\n")], TODAY)
    head, first, second = table.splitlines()
    assert head.split() == ["song", "BPM", "length", "changes", "ready", "by"]
    assert first.split()[:4] == ["Paper", "Boats", "104", "0:24"]
    assert "12 December 2026, in 17 days" in first
    assert second.split() == ["Drone", "100", "0:02", "0"]


def test_a_change_of_metre_is_told_where_a_section_begins_with_it():
    metres = "title: Metres\ntempo: 96\nmetre: 4/4\n\n[A]\n| C | G |\n\nmetre: 6/8 in 6\n[B]\n| Am | C |\n"
    told = shown(metres).splitlines()
    assert told[told.index("[B]") + 1].strip() == "96 BPM, 6/8 in 6"
    assert "BPM" not in told[told.index("[A]") + 1]
