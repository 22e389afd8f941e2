"""What a player's report says, from a made-up log."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.history import one_player
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.told import MOST_WEEKS, Span, ends_of_weeks, rests_of, span_of
from pedaltrainer.page import content as c
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take, minutes_of
from pedaltrainer.showing.pages import CAUTIONS, SEE_SOMEBODY
from pedaltrainer.showing.results import CLEAN_TEMPO
from pedaltrainer.telling import report
from tests.page.made_up import DRILLS, NOW, write_log, write_songs


@pytest.fixture(scope="module")
def desk(tmp_path_factory) -> Desk:
    folder = tmp_path_factory.mktemp("log")
    write_log(folder)
    write_songs(folder)
    return Desk(folder, "Robin")


@pytest.fixture(scope="module")
def told(desk):
    return one_player.tell(desk, NOW, 90, zone=UTC)


def lines_of(blocks) -> list[str]:
    return [str(line) for block in blocks if isinstance(block, c.Lines) for line in block.lines]


def section(page: c.Page, key: str) -> c.PageSection:
    return next(one for one in page.sections if one.key == key)


def test_the_summary_says_first_what_falls_and_what_is_flat_and_what_rises(told):
    said = lines_of(report.player_page(told).lead)
    assert said[0] == "2025-12-03 to 2026-03-02: the last 90 days."
    assert said[1:4] == ["Falling: Am – C.", "Flat: C – G.", "Rising: F, landed again, Am – F."]
    assert said[4].startswith("The bottleneck is C – G")


def test_the_totals_are_those_of_the_log(told):
    facts = next(block for block in report.player_page(told).lead if isinstance(block, c.Facts))
    assert dict(facts.pairs) | {"minutes played": "", "longest without a rest": ""} == {
        "minutes played": "",
        "takes": "1,500",
        "days with practice": "30 of 90",
        "rests taken": f"{30 * (len(DRILLS) - 1)}",
        "longest without a rest": "",
    }


def test_a_drill_shows_its_days_its_trend_and_what_the_songs_ask_for(told):
    parts = section(report.player_page(told), "drills").sections
    assert [part.heading for part in parts] == [
        "Am – C",
        "C – G",
        "F, landed again",
        "Am – F",
        "F, in four stages, 4 beats each",
    ]
    plot = next(block for block in parts[3].blocks if isinstance(block, c.TrendPlot))
    assert len(plot.days) == 30
    assert plot.target_bpm == pytest.approx(92)
    assert plot.line[0].bpm < plot.line[-1].bpm
    assert all(plot.low_bpm <= point.bpm <= plot.high_bpm for point in plot.line)


def test_the_table_under_a_plot_holds_the_same_days(told):
    for part in section(report.player_page(told), "drills").sections[:4]:
        plot = next(block for block in part.blocks if isinstance(block, c.TrendPlot))
        table = next(block for block in part.blocks if isinstance(block, c.Table))
        assert [row[0] for row in table.rows] == [day.at.isoformat() for day in reversed(plot.days)]


def test_readiness_is_told_as_it_was_known_then(told):
    (low_water, _) = section(report.player_page(told), "songs").sections
    bars = next(block for block in low_water.blocks if isinstance(block, c.Bars))
    assert bars.counts[0] == (date(2026, 1, 4), 0)
    assert bars.counts[-1] == (NOW.date(), 1)
    assert bars.of == 4


def test_readiness_today_is_what_song_ready_says(desk, told):
    from pedaltrainer.history.known import evidence
    from pedaltrainer.practice.coach.limits import ratio_of
    from pedaltrainer.practice.coach.readiness import needs_of, standings_of

    known, needs = evidence(desk, NOW), needs_of(desk.songs)
    assert told.standings == standings_of(needs, known, ratio_of([need.drill for need in needs], known))


def test_changes_of_no_song_have_their_limits_too(told):
    other = section(report.player_page(told), "limits").blocks[-1]
    assert isinstance(other, c.Table)
    assert [row[0] for row in other.rows] == ["Am – C"]


def test_the_cautions_are_on_the_page(told):
    said = lines_of(section(report.player_page(told), "care").blocks)
    assert [one for one in (*CAUTIONS, SEE_SOMEBODY) if one not in said] == []


def test_a_long_stretch_without_a_rest_is_named(told):
    rests = replace(told.rests, longest_minutes=34.0, longest_on=date(2026, 2, 1))
    said = lines_of(section(report.player_page(replace(told, rests=rests)), "care").blocks)
    assert said[0].startswith("The longest stretch without a rest was 34 minutes, on 2026-02-01")


def test_a_span_without_takes_says_so_and_still_makes_a_page(desk):
    years_later = NOW + timedelta(days=800)
    page = report.player_page(one_player.tell(desk, years_later, 90, zone=UTC))
    assert report.NOTHING in lines_of(page.lead)
    assert "drills" not in [one.key for one in page.sections]


def test_weeks_run_from_the_first_with_practice_to_today(told):
    (weeks, _) = section(report.player_page(told), "minutes").blocks
    assert isinstance(weeks, c.Weeks)
    assert [one.monday.isoformat() for one in weeks.weeks][:: len(weeks.weeks) - 1] == [
        "2025-12-29",
        "2026-03-02",
    ]
    assert all(one.monday.weekday() == 0 for one in weeks.weeks)
    in_span = [one for day, one in told.played.items() if told.span.first <= day <= told.span.last]
    assert sum(one.days for one in weeks.weeks) == len(in_span)
    assert sum(one.minutes for one in weeks.weeks) == pytest.approx(sum(one.minutes for one in in_span))


def test_weeks_without_practice_stand_between_those_with_it(told):
    (first, *_, last) = sorted(told.played)
    played = {first: told.played[first], last: told.played[last]}
    weeks = report.weeks_of(replace(told, played=played))
    assert [one.days for one in weeks] == [1, *[0] * (len(weeks) - 2), 1]
    assert all(one.minutes == 0 for one in weeks[1:-1])


@pytest.fixture(scope="module")
def first_day(tmp_path_factory) -> c.Page:
    folder = tmp_path_factory.mktemp("first")
    write_log(folder, drills={"Am F": 0.0, "pressure F": 0.0}, days=2)
    write_songs(folder)
    return report.player_page(one_player.tell(Desk(folder, "Robin"), NOW, 90, zone=UTC))


def test_of_a_first_day_each_drill_says_one_sentence_and_nothing_is_drawn(first_day):
    drills = section(first_day, "drills").sections
    assert [len(part.blocks) for part in drills] == [1, 1]
    said = dict(
        zip([part.heading for part in drills], [lines_of(part.blocks)[0] for part in drills], strict=True)
    )
    assert said["Am – F"].startswith("One day so far, 2026-03-02: clean tempo ")
    assert said["Am – F"].endswith(" BPM, 10 takes, 1 min; asked for: 92 BPM.")
    assert said["F, in four stages, 4 beats each"].startswith("One day so far, 2026-03-02: 10 takes, ")
    every = [block for one in first_day.sections for part in (one, *one.sections) for block in part.blocks]
    assert not any(isinstance(block, c.TrendPlot | c.Bars | c.Weeks) for block in every)


def test_of_a_first_day_the_lead_names_what_it_is_too_early_to_tell_of(first_day):
    assert "Too few days yet to say how it goes: Am – F." in lines_of(first_day.lead)


def test_the_clean_tempo_is_said_with_its_meaning_once(told, first_day):
    for page in (report.player_page(told), first_day):
        said = [line for one in page.sections for line in lines_of(one.blocks)]
        assert said.count(CLEAN_TEMPO) == 1


def test_the_same_log_and_moment_make_the_same_page(desk, told):
    again = one_player.tell(desk, NOW, 90, zone=UTC)
    assert report.player_page(again) == report.player_page(told)


# --- spans, weeks, rests -------------------------------------------------------------


def test_the_last_seven_days_end_today():
    assert span_of(NOW, 7, UTC) == Span(date(2026, 2, 24), date(2026, 3, 2), UTC)


@given(st.integers(7, 4000))
def test_weeks_end_on_sundays_and_today_and_are_never_too_many(days):
    ends = ends_of_weeks(span_of(NOW, days, UTC), NOW)
    assert 1 <= len(ends) <= MOST_WEEKS
    assert ends[-1] == (NOW.date(), NOW)
    assert all(day.weekday() == 6 for day, _ in ends[:-1])
    assert all(moment > datetime(day.year, day.month, day.day, 23, tzinfo=UTC) for day, moment in ends[:-1])
    assert [moment for _, moment in ends] == sorted(moment for _, moment in ends)


TAKE = Take(parse_drill("Am E"), 60.0, 8, Outcome.PASS_)
"""Two beats of count-in and eight landings: 10 s."""


def played(*starts_minutes: float):
    return [(NOW + timedelta(minutes=at), TAKE) for at in starts_minutes]


def test_a_pause_of_two_minutes_is_a_rest_and_a_shorter_one_is_none():
    assert minutes_of(TAKE) == pytest.approx(1 / 6)
    assert rests_of(played(0, 1 / 6 + 2)).count == 1
    assert rests_of(played(0, 1 / 6 + 1.9)).count == 0


def test_a_night_is_no_rest():
    assert rests_of(played(0, 12 * 60)).count == 0


def test_the_longest_stretch_runs_from_its_first_take_to_the_end_of_its_last():
    found = rests_of(played(0, 1, 2, 10, 11), UTC)
    assert found.longest_minutes == pytest.approx(2 + 1 / 6)
    assert found.longest_on == NOW.date()


def test_without_takes_there_are_no_rests():
    assert rests_of(()).longest_on is None
