"""Run-throughs as evidence: what they tell of single changes, beside what was drilled."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pedaltrainer.history import one_player
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, look_back, read_known
from pedaltrainer.history.today import plan_for
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.limits import ratio_of
from pedaltrainer.practice.coach.readiness import needs_of, standings_of
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.run_through import pass_of
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.run_through import Review, run_settings_from_json, run_settings_to_json
from pedaltrainer.session.settings import Settings
from pedaltrainer.songs.chart import parse_chart
from tests.history.desks import desk_with
from tests.history.running import run_through

SONG = parse_chart("title: Low Water\ntempo: 80\n[All] x4\n| C | G | Am | F |\n", "low water")
BEGAN = datetime(2026, 3, 2, 18, tzinfo=UTC)
FLAGGED, CLEAN = parse_drill("C G").key, parse_drill("Am F").key
MARKS = tuple(landing.at_s + 0.25 for landing in pass_of(SONG, 100).landings if landing.drill.key == FLAGGED)
"""Every C to G goes wrong."""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return desk_with(tmp_path, "tess", (SONG,))


def drilled(desk: Desk, words: str, when: datetime, skill_bpm: float = 90.0) -> datetime:
    """A session on one drill; the end of it."""
    drill = parse_drill(words)
    history = read_known(desk).history(drill, when)
    chosen = Settings((drill,), AnswerStyle.ASK, "seek", minutes=3, histories=(history,))
    with Log.open(desk.log_place) as log:
        options = Options(chosen, desk, made_up=MadeUpPlayer(skill_bpm, 1), began=when)
        state = fast.rehearse(options, log).state
    return when + timedelta(seconds=state.now_s)


def test_what_is_flagged_in_a_song_is_believed_slower_than_it_and_comes_first_in_the_plan(desk):
    for number in range(4):
        run_through(desk, SONG, BEGAN + timedelta(minutes=5 * number), MARKS)
    now = BEGAN + timedelta(hours=1)
    known = evidence(desk, now)
    assert known[FLAGGED].estimate.high_bpm < 80 < known[CLEAN].estimate.bpm
    assert known[FLAGGED].takes == 4
    plan = plan_for(desk, 20, now)
    assert plan.next_up is not None
    assert plan.next_up.drill.key == FLAGGED


def test_run_throughs_of_a_sitting_are_added_up_and_a_clean_one_speaks_for_a_change(desk):
    widths, means = [], []
    for number in range(4):
        run_through(desk, SONG, BEGAN + timedelta(minutes=5 * number), review=Review((), True))
        found = evidence(desk, BEGAN + timedelta(hours=1))[CLEAN].estimate
        widths.append(found.half_width)
        means.append(found.low_bpm)
    assert means == sorted(means)
    assert widths[-1] < widths[0]


def test_a_flag_that_was_dropped_counts_no_more(desk):
    run_through(desk, SONG, BEGAN, MARKS)
    flagged = evidence(desk, BEGAN)[FLAGGED].estimate
    other = desk_with(desk.folder / "other", "tess", (SONG,))
    run_through(other, SONG, BEGAN, MARKS, review=Review(tuple(range(len(MARKS)))))
    dropped = evidence(other, BEGAN)[FLAGGED].estimate
    never = desk_with(desk.folder / "never", "tess", (SONG,))
    run_through(never, SONG, BEGAN)
    assert dropped == evidence(never, BEGAN)[FLAGGED].estimate
    assert dropped.bpm > flagged.bpm


def test_a_false_start_tells_nothing(desk):
    run_through(desk, SONG, BEGAN, stopped_s=6.0)
    assert evidence(desk, BEGAN) == {}
    run_through(desk, SONG, BEGAN, stopped_s=14.0)
    assert parse_drill("F C").key in evidence(desk, BEGAN)


def test_a_part_that_was_not_come_to_tells_nothing(desk):
    run_through(desk, SONG, BEGAN, stopped_s=10.5)
    assert set(evidence(desk, BEGAN)) == {parse_drill(words).key for words in ("C G", "G Am", "Am F")}


def test_what_was_measured_by_drills_is_moved_by_run_throughs_not_forgotten(desk):
    end = drilled(desk, "C G", BEGAN)
    measured = evidence(desk, end)[FLAGGED].estimate
    run_through(desk, SONG, end + timedelta(minutes=5), MARKS, 50)
    moved = evidence(desk, end + timedelta(minutes=10))[FLAGGED].estimate
    assert moved.bpm < measured.bpm
    assert moved.bpm > 0.8 * measured.bpm
    run_through(desk, SONG, end + timedelta(minutes=15), MARKS, 50)
    run_through(desk, SONG, end + timedelta(days=1), MARKS, 50)
    assert evidence(desk, end + timedelta(days=1))[FLAGGED].estimate.bpm < moved.bpm
    # And a drill after it begins with all that.
    (past,) = read_known(desk).history(parse_drill("C G"), end + timedelta(days=1))
    assert past.bpm == evidence(desk, end + timedelta(days=1))[FLAGGED].estimate.bpm


def test_a_passage_is_evidence_for_the_changes_in_it_day_after_day_and_forgets_no_drill(desk):
    end = drilled(desk, "C G", BEGAN)
    measured = evidence(desk, end)[FLAGGED].estimate
    for day in (1, 2):
        drilled(desk, "passage C G Am F", end + timedelta(days=day), skill_bpm=200)
    now = end + timedelta(days=2, hours=1)
    known = evidence(desk, now)
    assert known[CLEAN].takes > 4, "never drilled, but played in the passage"
    assert known[FLAGGED].estimate.bpm > measured.bpm
    assert known[FLAGGED].estimate.half_width < 0.2
    looked = look_back(desk, lambda there: progress.chosen(there, FLAGGED)).records[0]
    (*_, last) = progress.days_of(looked.drill, looked.sessions, UTC, looked.before)
    assert last.bpm == pytest.approx(known[FLAGGED].estimate.bpm)


def test_a_change_heard_in_passages_has_a_row_on_each_of_their_days_each_resting_on_the_one_before(desk):
    end = drilled(desk, "C G", BEGAN)
    for day in (1, 2):
        drilled(desk, "passage C G Am F", end + timedelta(days=day), skill_bpm=200)
    looked = look_back(desk, lambda there: progress.chosen(there, FLAGGED)).records[0]
    days = progress.days_of(looked.drill, looked.sessions, UTC, looked.before)
    assert [(day.date - BEGAN.date()).days for day in days] == [0, 1, 2]
    bpms = [day.bpm or 0.0 for day in days]
    assert bpms == sorted(bpms)
    lately = looked.since(end + timedelta(days=1, hours=12))
    assert progress.days_of(lately.drill, lately.sessions, UTC, lately.before) == days[2:]


def test_every_surface_tells_the_same_after_run_throughs(desk):
    end = drilled(desk, "C G", BEGAN)
    end = drilled(desk, "Am F", end + timedelta(days=1))
    for number in range(3):
        run_through(desk, SONG, end + timedelta(days=number + 1), MARKS)
    now = end + timedelta(days=3, hours=1)
    looked = look_back(desk, lambda there: there)
    told = {
        one.drill.key: progress.progress_of(one.drill, one.sessions, zone=UTC, before=one.before)
        for one in looked.records
    }
    assert set(told) == {FLAGGED, CLEAN}, "what was never drilled has no record of its own"
    assert [day.takes for day in told[FLAGGED].days][1:] == [0, 0, 0]
    known, needs = evidence(desk, now), needs_of(desk.songs)
    assert set(known) == {need.drill.key for need in needs}
    for key, one in told.items():
        assert one.found is not None
        assert one.found.estimate == known[key].estimate
        alone = look_back(desk, lambda there, key=key: progress.chosen(there, key)).records[0]
        assert progress.days_of(alone.drill, alone.sessions, UTC, alone.before)[-1:] == one.days[-1:]
    report = one_player.tell(desk, now, 90, zone=UTC)
    assert {one.drill.key: one.days for one in report.found} == {key: one.days for key, one in told.items()}
    assert report.standings == standings_of(needs, known, ratio_of([need.drill for need in needs], known))
    planned = {line.drill.key: line.now_bpm for line in plan_for(desk, 30, now).plan.lines}
    for key, bpm in planned.items():
        if key in known:
            assert bpm == pytest.approx(known[key].estimate.bpm)


def test_a_run_through_keeps_what_was_known_before_it_and_a_broken_record_of_that_is_passed_over(desk):
    end = drilled(desk, "C G", BEGAN)
    measured = evidence(desk, end)[FLAGGED].estimate
    state = run_through(desk, SONG, end + timedelta(hours=1), MARKS)
    assert dict(state.settings.histories)[FLAGGED].bpm == measured.bpm
    record = run_settings_to_json(state.settings)
    assert run_settings_from_json(record) == state.settings
    record["run_through"]["histories"][0][1]["low_bpm"] = -3
    again = run_settings_from_json(record)
    assert again == replace(state.settings, histories=())
