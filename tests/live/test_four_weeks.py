"""From songs to today's session, and a made-up player's weeks of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.today import plan_for
from pedaltrainer.live import fast
from pedaltrainer.live.four_weeks import journey
from pedaltrainer.live.options import Options
from pedaltrainer.live.starting import of_plan
from pedaltrainer.practice.coach.limits import Ratio
from pedaltrainer.practice.coach.plan_lines import Mode
from pedaltrainer.practice.drill import Kind, parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import parse_utc
from pedaltrainer.rehearsal.evening import Evening
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.settings import Settings
from pedaltrainer.songs.chart import parse_chart
from tests.history.desks import desk_with
from tests.practice.knowing import evidence

BEGAN = datetime(2026, 3, 2, 18, tzinfo=UTC)
SETTINGS = Settings((parse_drill("F"),), ladder="seek")
SONGS = (
    parse_chart("title: Low Water\ntempo: 84\n\n| Am / / / | F / C / | G / / / | Am / / / |\n", "low water"),
)


def weeks(folder: Path, days: int, seed: int = 1, minutes: float = 20) -> list[Evening]:
    return list(journey(desk_with(folder, "rehearsal", SONGS), SETTINGS, seed, minutes, BEGAN, days))


@pytest.fixture(scope="module")
def nine_days(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Evening]]:
    """Where they were played, and what each evening came to."""
    folder = tmp_path_factory.mktemp("weeks")
    return folder, weeks(folder, 9)


def test_a_session_of_today_runs_the_lines_of_the_plan(tmp_path):
    planned = plan_for(desk_with(tmp_path, songs=SONGS), 20, BEGAN)
    session = of_plan(SETTINGS, planned)
    assert session.drills == tuple(line.drill for line in planned.plan.lines)
    assert sum(session.minutes_each) == pytest.approx(20)
    assert session.modes[0] == Mode.SLOW, "a warm-up comes first"
    assert all(session.reasons)
    assert session.ladder == SETTINGS.ladder


def test_a_change_never_played_begins_by_what_the_players_own_changes_come_to_of_their_shapes(tmp_path):
    planned = plan_for(desk_with(tmp_path, songs=SONGS), 20, BEGAN)
    played = {one.drill.key: one for one in (evidence("F", 60), evidence("C", 120))}
    index = [line.drill.words for line in planned.plan.lines].index("F C")
    starts = [
        of_plan(SETTINGS, replace(planned, known=played, ratio=Ratio(value))).histories[index][0].bpm
        for value in (0.9, 0.75)
    ]
    assert starts == pytest.approx([54, 45])


def test_a_song_without_a_change_has_nothing_to_plan(tmp_path):
    drone = parse_chart("title: Drone\ntempo: 60\n\n| C / / / |\n", "drone")
    with pytest.raises(InputError, match="no song yet to plan for"):
        plan_for(desk_with(tmp_path, songs=(drone,)), 20, BEGAN)


def test_weeks_of_practice_make_the_changes_of_the_song_ready(nine_days):
    _, evenings = nine_days
    first, last = evenings[0], evenings[-1]
    assert first.takes == 0
    assert all(one.takes == 0 for one in first.standings)
    assert all(one.takes for one in evenings[1:])
    # A session of which one change is left ends when that one is ready.
    for before, evening in pairwise(evenings):
        if sum(not one.is_ready for one in before.standings) != 1:
            assert evening.takes > 20
    assert last.truly_ready > first.truly_ready
    assert sum(last.true_bpm.values()) > 1.1 * sum(first.true_bpm.values())


def test_what_is_measured_is_what_these_hands_can_do(nine_days):
    last = nine_days[1][6]
    played = [one for one in last.standings if one.takes]
    assert len(played) >= 3
    for one in played:
        assert one.clean is not None
        assert one.clean.bpm == pytest.approx(last.true_bpm[one.need.drill.key], rel=0.3)


def test_every_day_of_the_journey_stands_in_the_log_under_its_date(nine_days):
    folder, _ = nine_days
    with Log.open(folder, read_only=True) as log:
        dates = {parse_utc(row.started_utc).date() for row in log.takes(player="rehearsal")}
    assert dates == {(BEGAN + timedelta(days=day)).date() for day in range(9)}


def test_the_same_seed_makes_the_same_weeks_and_another_seed_others(tmp_path, nine_days):
    one = nine_days[1][2]
    same, other = (weeks(tmp_path / str(seed), 2, seed)[-1] for seed in (1, 2))
    assert one.true_bpm == same.true_bpm
    assert one.takes == same.takes
    assert one.true_bpm != other.true_bpm


def test_for_what_has_been_flat_for_weeks_another_way_is_proposed(tmp_path):
    """The made-up hands do not learn: thirty days at the same clean tempo."""
    drills = tuple(parse_drill(words) for words in ("Am F", "F", "Am"))
    for day in range(30):
        flat = Options(
            replace(SETTINGS, drills=drills, minutes=6, seed=day + 40),
            Desk(tmp_path, "tess"),
            made_up=MadeUpPlayer(70, day + 40),
            began=BEGAN + timedelta(days=day),
        )
        with Log.open(tmp_path) as log:
            fast.rehearse(flat, log)
    song = parse_chart("title: Fast Water\ntempo: 120\n\n| F | Am | F | Am |\n", "fast water")
    planned = plan_for(desk_with(tmp_path, songs=(song,)), 20, BEGAN + timedelta(days=30))
    ((_, piece),) = planned.proposals.values()
    assert piece is not None
    assert piece.kind is not Kind.CHANGE
