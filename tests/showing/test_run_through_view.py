"""What the stage shows of a run-through."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.screen.view import Scene, Sight, StrokesView
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.home import Turned, Walk, step
from pedaltrainer.session.run_through import RunState
from pedaltrainer.showing.home.run_over import Flag, RunFacts, run_over
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.run_through import run_view
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.songs.writing import write_chart
from tests.session.test_run_through import CHART, Running, begun
from tests.showing.test_view_of import AROUND

SIZES = [(1366, 768), (1920, 1080)]


def shown(running: Running, song_s: float | None = None):
    if song_s is not None:
        running.at(song_s)
    return run_view(running.state, running.now_s, AROUND)


def test_before_it_begins_the_song_its_tempo_and_the_first_chords():
    view = shown(Running(per_cent=80))
    assert (view.scene, view.drill, view.tempo_bpm) == (Scene.READY, "Slack, 80 %", 96)
    assert (view.now_chord, view.next_chord) == ("C", "G")
    assert [hint.words for hint in view.hints] == ["begin", "back"]


def test_in_the_count_in_the_beat_is_counted():
    view = shown(begun(), -1.9)
    assert (view.scene, view.count, view.now_chord) == (Scene.COUNT_IN, 1, "C")


@pytest.mark.parametrize(
    ("song_s", "now", "then"),
    [(0.1, "C", "G"), (1.7, "C", "G"), (1.8, "G", "Am"), (2.0, "G", "Am"), (7.0, "F", "")],
)
def test_the_chord_changes_when_the_hand_lifts_for_it(song_s, now, then):
    view = shown(begun(), song_s)
    assert (view.now_chord, view.next_chord) == (now, then)


def test_the_bars_roll_by_with_their_flags():
    running = begun()
    running.at(2.25)
    running.tap()
    view = shown(running, 4.2)
    assert view.roll is not None
    assert [(bar.words, bar.flagged, bar.is_now) for bar in view.roll.bars] == [
        ("G", True, False), ("Am", False, True), ("F", False, False),
    ]  # fmt: skip


def test_the_next_section_is_named_before_it_comes():
    running = begun()
    running.state = RunState(running.state.settings.__class__(write_chart(demo_songs()[1])))
    running.tap()
    assert shown(running).target.startswith("then ")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("song", demo_songs(), ids=lambda song: song.title)
def test_all_of_it_can_be_read_from_two_metres(song, size):
    running = begun()
    running.state = RunState(running.state.settings.__class__(write_chart(song)))
    views = [shown(running)]
    running.tap()
    for share in (0.0, 0.2, 0.5, 0.9):
        running.at(share * running.state.settings.one_pass.end_s)
        views.append(shown(running))
    for view in views:
        assert layout_of(view, size, Sight(15.6, 2.0)).shortfalls == ()


FACTS = RunFacts(
    "Low Water",
    80,
    0,
    4,
    True,
    (Flag(0, 2, parse_drill("C G"), False), Flag(1, 4, parse_drill("Am F"), True)),
    (("C", True), ("G", False), ("Am", False), ("F", False)),
    section=("Verse", 0, 2),
)


def test_afterwards_what_was_flagged_can_be_practised_or_dropped():
    leaf = run_over(FACTS)
    assert leaf.title == "Bar 2 flagged"
    assert [row.words for row in leaf.rows] == [
        "Practise C – G",
        "Again",
        "Only Verse",
        "Slower: 75 %",
        "Faster: 85 %",
        "All else was clean: not said",
        "Bar 2, C – G: missed",
        "Bar 4, Am – F: was fine",
        "Back",
    ]
    assert leaf.bars is not None
    assert [bar.is_hardest for bar in leaf.bars.bars] == [False, True, False, False]


def test_after_twenty_minutes_of_it_a_rest_is_offered():
    leaf = run_over(replace(FACTS, tires=True))
    assert leaf.lines == ("Twenty minutes without a rest: let the hand hang for two.",)
    assert leaf.rows[0].words == "I have rested"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("tires", [False, True])
def test_its_page_can_be_read_too(size, tires):
    walk, _ = step(Walk(), Turned(0.0, run_over(replace(FACTS, tires=tires))))
    assert layout_of(walk_view(walk, 0.0, AROUND), size, Sight(15.6, 2.0)).shortfalls == ()


def test_the_chart_of_the_tests_is_a_song():
    assert CHART.startswith("title: Slack")


STRUMMED = parse_chart(
    "title: Sway\ntempo: 60\npattern: D - D U - U D x\n| C | G |\n[End]\npattern: D U\n| F |\n", "sway"
)


def test_the_strokes_of_the_bar_stand_where_the_landings_do_and_the_one_of_now_is_marked():
    running = begun()
    running.state = RunState(running.state.settings.__class__(write_chart(STRUMMED)))
    assert shown(running).strokes == StrokesView("D-DU-UDx")
    running.tap()
    seen = [shown(running, at_s).strokes for at_s in (0.1, 1.6, 4.1, 7.9, 8.1, 11.9)]
    assert seen == [
        StrokesView("D-DU-UDx", 0), StrokesView("D-DU-UDx", 3), StrokesView("D-DU-UDx", 0),
        StrokesView("D-DU-UDx", 7), StrokesView("DU", 0), StrokesView("DU", 1),
    ]  # fmt: skip
    for size in SIZES:
        assert layout_of(shown(running, 1.6), size, Sight(15.6, 2.0)).shortfalls == ()


def test_a_chart_that_tells_no_strokes_shows_how_far_the_song_has_come():
    running = begun()
    running.tap()
    assert shown(running, 1.0).strokes is None
