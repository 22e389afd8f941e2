"""Run-throughs where foot, log and home meet: played, kept, looked over, and practised from."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedaltrainer.history.breaks import breaks_of
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import read_known
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS, SESSIONS, page_of
from pedaltrainer.live.home.runs import run_settings
from pedaltrainer.live.options import Options
from pedaltrainer.live.run_through import RunThrough, open_run
from pedaltrainer.paper.strip import Level
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.run_through import section_starts
from pedaltrainer.records.log import Log
from pedaltrainer.session.events import Given, Pressed
from pedaltrainer.session.home import Errand, Verb
from pedaltrainer.session.run_through import (
    Review,
    RunSettings,
    reviews_in,
    run_replay,
    run_settings_from_json,
)
from pedaltrainer.session.settings import Settings
from pedaltrainer.showing.home.run_over import run_value
from pedaltrainer.songs import shelf
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.telling.breaks import breaks_json, breaks_report, breaks_strip
from pedaltrainer.telling.text_boxes import Terminal
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.track import click_samples


@pytest.fixture
def house(tmp_path: Path) -> House:
    shelf.keep(tmp_path, demo_songs()[1])
    return House(Options(Settings(drills=(parse_drill("Am E"),)), Desk(tmp_path, "Robin")))


TITLE = demo_songs()[1].title


def played(house: House, log: Log, marks: tuple[float, ...], per_cent: int = 100) -> RunThrough:
    """Bars 1 to 8 from beginning to end, with a press at some seconds of the song."""
    song = shelf.find(house.options.desk.folder, TITLE)
    settings = run_settings(house, song, per_cent, 0, 8)
    run = open_run(log, house.options.desk, settings, SimulatedStream(), Foot(), 0.0)
    run.open(0.0)
    run._happen(Given(1.0, 1.0, 1.0, Control.PASS_, "foot"))
    begin_s = run.state.start_s + run.state.settings.one_pass.counted_in_s
    for mark in marks:
        run._happen(Pressed(begin_s + mark, begin_s + mark, "foot"))
    run.advance((run.due_s or 0.0) + 0.01)
    house.run, house.reviews = run, {}
    assert run.closed
    run.finish()
    return run


def test_what_is_heard_is_the_song_with_its_two_bars_of_count_in(house, tmp_path):
    with Log.open(tmp_path) as log:
        run = played(house, log, ())
    (clicks,) = run.stream.clicks
    start = round(run.state.start_s * 48_000)
    expected = click_samples(run.state.settings.one_pass.track)
    assert clicks == [(start + sample, sound) for sample, sound in expected]
    assert [sound for _, sound in clicks if sound is not Sound.OFFBEAT][:8] == [Sound.COUNT] * 8


def test_a_pass_is_on_disk_when_it_is_over_and_is_told_again_from_there(house, tmp_path):
    with Log.open(tmp_path) as log:
        run = played(house, log, (2.6, 9.9))
        (row,) = log.sessions("Robin")
        inputs = log.inputs(row.id)
        settings = run_settings_from_json(row.settings)
        assert settings is not None
        *_, last = run_replay(settings, inputs)
        assert last.passes == run.state.passes
        assert last.passes[0].marks == pytest.approx((2.6, 9.9))
        assert told_otherwise(row, inputs, []) is None
        assert log.runs("Robin", 10) == [row]


def test_a_run_through_that_was_not_begun_leaves_no_trace(house, tmp_path):
    song = shelf.find(tmp_path, TITLE)
    with Log.open(tmp_path) as log:
        settings = run_settings(house, song, 100, 0, None)
        run = open_run(log, house.options.desk, settings, SimulatedStream(), Foot(), 0.0)
        run.open(0.0)
        run._happen(Given(1.0, 1.0, 1.0, Control.PAUSE, "foot"))
        run.finish()
        assert run.closed
        assert log.sessions() == []


def test_afterwards_flags_are_dropped_and_the_rest_is_said_to_be_clean_and_both_are_kept(house, tmp_path):
    with Log.open(tmp_path) as log:
        run = played(house, log, (2.6, 9.9))
        leaf = page_of(house, Errand(Verb.TURN, "run over"))
        assert leaf.title == "2 bars flagged"
        marks = [row for row in leaf.rows if row.errand.to == "run mark"]
        assert DEEDS["run mark"](house, marks[0].errand.value) == "Kept"
        assert DEEDS["run rest"](house, "0") == "Kept"
        again = page_of(house, Errand(Verb.TURN, "run over"))
        assert again.title.endswith("flagged")
        assert again.title != leaf.title
        assert any(row.words == "All else was clean: yes" for row in again.rows)
        (row,) = log.sessions("Robin")
        assert reviews_in(log.inputs(row.id)) == {0: Review((0,), True)}
        assert run.book.trouble == ""


def test_what_was_flagged_becomes_a_session_of_those_changes(house, tmp_path):
    with Log.open(tmp_path) as log:
        run = played(house, log, (2.6,))
    leaf = page_of(house, Errand(Verb.TURN, "run over"))
    session = SESSIONS["drills"](house, leaf.rows[0].errand.value)
    flagged = next(
        landing.drill for landing in reversed(run.state.settings.one_pass.landings) if landing.at_s <= 2.6
    )
    assert isinstance(session, Settings)
    assert [drill.key for drill in session.drills] == [flagged.key]


def test_run_throughs_tire_a_hand_too_and_a_rest_is_offered_after_twenty_minutes(house, tmp_path):
    with Log.open(tmp_path) as log:
        run = played(house, log, ())
    assert run.played_s == pytest.approx(run.state.settings.one_pass.end_s)
    assert page_of(house, Errand(Verb.TURN, "run over")).lines == ()
    house.ran_s = house.options.settings.rest_after_s
    leaf = page_of(house, Errand(Verb.TURN, "run over"))
    assert leaf.lines
    assert DEEDS[leaf.rows[0].errand.to](house, "") == "Rested"
    assert page_of(house, Errand(Verb.TURN, "run over")).lines == ()


def test_slower_is_the_same_part_at_less_of_its_tempo(house, tmp_path):
    with Log.open(tmp_path) as log:
        played(house, log, (), per_cent=80)
    leaf = page_of(house, Errand(Verb.TURN, "run over"))
    slower = next(row for row in leaf.rows if row.words == "Slower: 75 %")
    begun = SESSIONS["run"](house, slower.errand.value)
    assert isinstance(begun, RunSettings)
    assert (begun.per_cent, begun.first, begun.end) == (75, 0, 8)
    assert slower.errand.then == "run over"


def test_where_a_song_breaks_is_told_over_its_last_passes_without_what_was_dropped(house, tmp_path):
    song = shelf.find(tmp_path, TITLE)
    with Log.open(tmp_path) as log:
        run = played(house, log, (2.6, 9.9))
        DEEDS["run mark"](house, "0 1")
        played(house, log, (2.7,))
        played(house, log, ())
    found = breaks_of(house.options.desk, song)
    assert (found.passes, found.passed_over) == (3, 0)
    flagged = {spot: broke for spot, broke in found.landings.items() if broke.flagged}
    (broke,) = flagged.values()
    assert (broke.played, broke.flagged) == (3, 2)
    assert sum(broke.played for broke in found.landings.values()) == 3 * len(
        run.state.settings.one_pass.landings
    )
    report = breaks_report(song, found, Terminal())
    assert "its last 3 run-throughs" in report
    assert "2 of 3" in report
    told = breaks_json(song, found)
    assert [one["flagged"] for one in told["landings"] if one["flagged"]] == [2]
    levels = [
        stretch.level
        for part in breaks_strip(song, found).parts
        for cell in part.cells
        for stretch in cell.stretches
    ]
    assert levels.count(Level.FAR) == 1
    other = replace(song, sections=song.sections[:2])
    again = breaks_of(house.options.desk, other)
    assert (again.passes, again.passed_over) == (0, 3)
    assert "has not been run through yet" in breaks_report(other, again, Terminal())


def test_a_songs_page_offers_to_run_it_through(house):
    leaf = page_of(house, Errand(Verb.TURN, "song", TITLE))
    row = next(row for row in leaf.rows if row.words == "Run it through")
    assert row.errand.value == run_value(TITLE, 100)
    begun = SESSIONS["run"](house, row.errand.value)
    assert isinstance(begun, RunSettings)
    assert begun.end is None


def test_the_drills_played_last_are_still_known_after_a_run_through(house, tmp_path):
    from tests.records.samples import a_session, a_take

    desk = house.options.desk
    from pedaltrainer.session.replay import settings_to_json

    with Log.open(tmp_path) as log:
        session = replace(a_session(), player="Robin", settings=settings_to_json(house.options.settings))
        log.begin_session(session)
        log.append_take(replace(a_take(session), player="Robin"))
        played(house, log, ())
    assert [drill.key for drill in read_known(desk).last_drills] == ["change Am E"]


def test_a_log_that_refuses_is_said_and_tried_again(house, tmp_path, monkeypatch):
    from pedaltrainer.errors import InputError

    def refuse(self: Log, *rows: object) -> None:
        raise InputError("The disk is full.")

    with Log.open(tmp_path) as log:
        with monkeypatch.context() as full:
            full.setattr(Log, "keep_run", refuse)
            with pytest.raises(InputError, match="The disk is full"):
                played(house, log, (2.6,))
            run = house.run
        assert run is None or run.book.trouble
        assert log.sessions() == []


def test_every_flag_is_within_reach_of_the_foot(house, tmp_path):
    with Log.open(tmp_path) as log:
        run = played(house, log, tuple(1.5 + 1.7 * number for number in range(9)))
        leaf, there = page_of(house, Errand(Verb.TURN, "run over")), set()
        while True:
            there |= {row.errand.value for row in leaf.rows if row.errand.to == "run mark"}
            more = next((row for row in leaf.rows if row.words == "More flags"), None)
            if more is None:
                break
            leaf = page_of(house, more.errand)
        (mark,) = [row for row in leaf.rows if row.errand.value == "0 8"]
        DEEDS["run mark"](house, mark.errand.value)
    assert len(run.state.passes[0].marks) == 9
    assert there == {f"0 {number}" for number in range(9)}
    assert house.reviews == {0: Review((8,))}


def test_each_pass_of_a_loop_can_be_looked_over_and_again_is_the_loop_again(house, tmp_path):
    with Log.open(tmp_path) as log:
        song = shelf.find(tmp_path, TITLE)
        settings = run_settings(house, song, 90, 0, 8, loop=True)
        run = open_run(log, house.options.desk, settings, SimulatedStream(), Foot(), 0.0)
        run.open(0.0)
        run._happen(Given(1.0, 1.0, 1.0, Control.PASS_, "foot"))
        for mark in (2.6, 9.9):
            begin_s = run.state.start_s + run.state.settings.one_pass.counted_in_s
            run._happen(Pressed(begin_s + mark, begin_s + mark, "foot"))
            run.advance((run.due_s or 0.0) + 0.01)
        at_s = run.state.start_s + run.state.settings.one_pass.counted_in_s + 12
        run._happen(Given(at_s, at_s, at_s, Control.QUIT, "foot"))
        run.finish()
        house.run, house.reviews = run, {}
        last = page_of(house, Errand(Verb.TURN, "run over"))
        assert last.title == "Pass 3: stopped, nothing flagged"
        before = page_of(house, next(row.errand for row in last.rows if row.words == "Pass 2 of 3"))
        assert before.title.startswith("Pass 2: bar ")
        (flag,) = [row for row in before.rows if row.errand.to == "run mark"]
        DEEDS["run mark"](house, flag.errand.value)
        (row,) = log.sessions("Robin")
        assert reviews_in(log.inputs(row.id)) == {1: Review((0,))}
        again = SESSIONS["run"](house, next(row.errand.value for row in last.rows if row.words == "Again"))
    assert isinstance(again, RunSettings)
    assert (again.loop, again.per_cent, again.first, again.end) == (True, 90, 0, 8)


def test_who_stopped_goes_on_from_the_section_they_were_in(house, tmp_path):
    song = shelf.find(tmp_path, TITLE)
    name, first, _ = section_starts(song)[1]
    with Log.open(tmp_path) as log:
        run = open_run(
            log, house.options.desk, run_settings(house, song, 100, 0, None), SimulatedStream(), Foot(), 0.0
        )
        run.open(0.0)
        run._happen(Given(1.0, 1.0, 1.0, Control.PASS_, "foot"))
        one = run.state.settings.one_pass
        at_s = run.state.start_s + one.counted_in_s + one.bars[first + 1].start_s + 0.1
        run._happen(Given(at_s, at_s, at_s, Control.QUIT, "foot"))
        house.run, house.reviews = run, {}
        run.finish()
    leaf = page_of(house, Errand(Verb.TURN, "run over"))
    row = next(row for row in leaf.rows if row.words == f"On from {name}")
    begun = SESSIONS["run"](house, row.errand.value)
    assert isinstance(begun, RunSettings)
    assert (begun.first, begun.end) == (first, len(song.bars))


def test_the_share_of_the_tempo_played_last_is_the_one_offered(house, tmp_path):
    with Log.open(tmp_path) as log:
        played(house, log, (), per_cent=85)
    leaf = page_of(house, Errand(Verb.TURN, "song", TITLE))
    assert "Run it through at 85 %" in [row.words for row in leaf.rows]
    part = page_of(house, next(row.errand for row in leaf.rows if row.words.startswith("A part")))
    assert part.rows[0].words == "All of it, at 85 %"
    slower = page_of(house, next(row.errand for row in part.rows if row.words == "Slower: 80 %"))
    section = next(row for row in slower.rows if row.words.startswith("Over and over: "))
    begun = SESSIONS["run"](house, section.errand.value)
    assert isinstance(begun, RunSettings)
    assert (begun.per_cent, begun.loop) == (80, True)
    assert begun.end is not None
    assert begun.end - begun.first < len(begun.song.bars)
