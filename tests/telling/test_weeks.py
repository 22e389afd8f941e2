"""Four simulated weeks in words."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.four_weeks import journey
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.rehearsal.evening import Evening
from pedaltrainer.session.settings import Settings
from pedaltrainer.telling import weeks


@pytest.fixture(scope="module")
def evenings(tmp_path_factory) -> list[Evening]:
    """Nine days of six minutes with the shipped songs."""
    settings = Settings((parse_drill("F"),), ladder="seek")
    began = datetime(2026, 3, 2, 18, tzinfo=UTC)
    folder = tmp_path_factory.mktemp("weeks")
    return list(journey(Desk(folder, "rehearsal", rehearses=True), settings, 1, 6, began, 9))


def test_there_is_a_line_for_the_beginning_each_week_and_the_end(evenings):
    assert [evening.day for evening in weeks.ends_of_weeks(evenings)] == [0, 7, 9]
    report = weeks.weeks_report(evenings, 100)
    assert [line.split()[0] for line in report.splitlines()[3:7]] == ["after", "nothing", "1", "9"]


def test_the_takes_of_a_week_are_counted_once(evenings):
    report = weeks.weeks_report(evenings, 100)
    told = next(line for line in report.splitlines() if line.startswith("1 week"))
    assert str(sum(evening.takes for evening in evenings[1:8])) in told.split()


def test_every_change_of_the_songs_is_in_the_table_and_in_the_plain_data(evenings):
    report = weeks.weeks_report(evenings, 100)
    for one in evenings[-1].standings:
        assert one.need.drill.title in report
    days = weeks.plain(evenings)["days"]
    assert [day["day"] for day in days] == list(range(10))
    assert len(days[-1]["changes"]) == len(evenings[-1].standings)


def test_it_is_said_that_the_player_is_made_up(evenings):
    assert weeks.weeks_report(evenings, 100).startswith("A made-up player")
