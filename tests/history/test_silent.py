"""Strings that did not ring, day by day: from takes played string by string to what is told of them."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pedaltrainer.cli import main
from pedaltrainer.history import known, one_player
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.silent import with_silent_strings
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.live.starting import of_drills
from pedaltrainer.page.content import Table
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.progress import progress_of
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Cancellation, new_id
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.settings import Settings
from pedaltrainer.showing.results import silent_list
from pedaltrainer.telling.report import player_page

RING, EASE = parse_drill("ring F"), parse_drill("ease F")
FIRST = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)


@pytest.fixture
def desk(tmp_path) -> Desk:
    return Desk(tmp_path, "Robin")


def play(desk: Desk, drill, day: int, skill_bpm: float = 45):
    """A session of a made-up player who speaks up, some days after the first; what it came to."""
    usual = Settings((drill,), AnswerStyle.SPEAK_UP, "seek", minutes=3)
    settings = of_drills(usual, desk, [drill])
    began = FIRST + timedelta(days=day)
    options = Options(settings, desk, made_up=MadeUpPlayer(skill_bpm, day), began=began)
    with Log.open(desk.folder) as log:
        return fast.rehearse(options, log).state.all_results[0]


def told(desk: Desk, drill):
    looked = known.look_back(desk, lambda there: there)
    found = [progress_of(one.drill, one.sessions, zone=UTC, before=one.before) for one in looked.records]
    (one,) = [each for each in with_silent_strings(desk, looked.records, found) if each.drill == drill]
    return one


def test_each_day_tells_its_own_strings_as_its_sessions_did(desk):
    results = [play(desk, RING, day) for day in (0, 1, 3)]
    assert all(one.silent for one in results)
    assert [day.silent for day in told(desk, RING).days] == [one.silent for one in results]


def test_the_report_tells_the_strings_of_each_day(desk):
    results = [play(desk, RING, day) for day in (0, 1)]
    page = player_page(one_player.tell(desk, FIRST + timedelta(days=2), 7, zone=UTC))
    (drill,) = next(one for one in page.sections if one.key == "drills").sections
    (table,) = [block for block in drill.blocks if isinstance(block, Table)]
    assert [row[-1] for row in reversed(table.rows)] == [silent_list(one.silent) for one in results]
    assert all(one.silent for one in results)


def test_a_take_that_was_taken_back_tells_of_no_string(desk):
    result = play(desk, RING, 0)
    with Log.open(desk.folder) as log:
        missed = next(row for row in log.takes(player="Robin") if row.outcome == "fail")
        undone = Cancellation(new_id(), missed.id, missed.started_utc, "undone by the player")
        log.add_missing(cancellations=[undone])
    (day,) = told(desk, RING).days
    assert sum(day.silent.values()) == sum(result.silent.values()) - 1


def test_a_drill_with_steps_begins_where_the_last_session_came_to(desk):
    first = play(desk, EASE, 0, skill_bpm=70)
    again = of_drills(Settings((EASE,)), desk, [EASE])
    assert 0 < first.drill.turn == again.first_step(0)
    assert told(desk, EASE).days[0].step == EASE.row.steps[first.drill.turn]
    second = play(desk, EASE, 1, skill_bpm=300)
    assert [day.step for day in told(desk, EASE).days] == [
        EASE.row.steps[first.drill.turn], EASE.row.steps[second.drill.turn],
    ]  # fmt: skip


def test_progress_tells_them_in_words_and_as_json(desk, capsys):
    result = play(desk, RING, 0)
    (name, takes), *_ = sorted(result.silent.items(), key=lambda pair: -pair[1])
    words = ["progress", "ring F", "--player", "Robin", "--data", str(desk.folder)]
    assert main(words) == 0
    assert f"did not ring: {name} {takes}" in capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)
    assert one["days"][0]["silent_strings"][0] == {"string": name, "takes": takes}


def test_slow_work_has_no_clean_tempo_of_the_last_time(desk):
    play(desk, RING, 0)
    assert play(desk, RING, 1).last_bpm is None
    assert replace(play(desk, EASE, 2), silent={}).last_bpm is None
