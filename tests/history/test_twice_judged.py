"""What foot and ear said of the same takes, from a session's log to what is told of it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pedaltrainer.cli import main
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import look_back
from pedaltrainer.history.one_player import tell
from pedaltrainer.history.twice_judged import two_judges
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.options import Options
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.agreement import Agreement
from pedaltrainer.records.log import Log
from pedaltrainer.session.events import Due, EarHeard, Given, LandingTold
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin
from pedaltrainer.telling.report import player_page
from tests.session.playing import settings

BEGAN = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)
YES, NO = Control.PASS_, Control.FAIL
LATE = (LandingTold("late", 90.0),)


class NoEar:
    """Hears nothing: the tests say what it heard."""

    backing = False

    def listen_to(self, run, stream) -> None: ...
    def stop(self) -> None: ...
    def answered(self, run, clean) -> None: ...
    def taken_back(self, serial) -> None: ...


@pytest.fixture
def desk(tmp_path) -> Desk:
    return Desk(tmp_path, "Robin")


def play(desk: Desk, *takes: tuple[str, Control | None], **more: object) -> None:
    """Takes as the ear hears them and as the foot then answers; None where the ear has."""
    chosen = settings("Am E", ear=True, ladder="seek", minutes=9, **more)
    with Log.open(desk.folder) as log:
        book = open_book(log, Options(chosen, desk, began=BEGAN))
        session = Conductor(begin(chosen), SimulatedStream(), book, ear=NoEar())
        session.open(0.0)
        now_s = 0.0

        def say(control: Control) -> None:
            nonlocal now_s
            now_s = max(now_s, session.state.now_s) + 0.2
            session._happen(Given(now_s, now_s, now_s, control, "foot"))

        say(Control.NEXT)
        say(YES)
        for heard, answer in takes:
            while session.state.phase is not Phase.ASKING:
                session._happen(Due(session.state.due_s))
            told = EarHeard(0.0, session.state.run.serial, heard, heard != "none", True, 40.0, LATE)
            session.told_by_ear(told, session.state.now_s)
            if answer is not None:
                say(answer)
        session.finish()


def told(desk: Desk):
    return two_judges(desk, look_back(desk, lambda there: there).records, UTC)


def test_how_often_they_agree_is_counted_by_drill_and_day(desk):
    play(desk, ("clean", YES), ("missed", YES), ("missed", NO), ("unsure", NO), ("clean", NO), ("clean", YES))
    both = told(desk)["change Am E"]
    assert both.whole == Agreement(takes=6, unsure=1, only_ear=1, only_foot=1)
    assert list(both.days) == [BEGAN.date()]
    assert both.flattery is None


def test_what_the_ear_could_not_hear_says_nothing_of_the_foot(desk):
    play(desk, ("none", YES), ("clean", YES))
    assert told(desk)["change Am E"].whole == Agreement(takes=1, unsure=0, only_ear=0, only_foot=0)


def test_what_is_left_where_the_ear_answers_by_itself_would_make_every_foot_look_strict(desk):
    play(desk, ("clean", YES), ("missed", None), ("clean", YES), ear_answers=True)
    assert told(desk) == {}


def test_without_the_ear_nothing_is_told(desk):
    play(desk, ("none", YES))
    assert told(desk) == {}


def test_progress_tells_it_in_words_and_as_json(desk, capsys):
    play(desk, ("clean", YES), ("missed", YES))
    asked = ["progress", "--player", "Robin", "--data", str(desk.folder)]
    assert main(asked) == 0
    assert "Foot and ear, 2 takes: alike in 1, the ear alone heard a miss in 1." in capsys.readouterr().out
    assert main([*asked, "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)
    assert one["foot_and_ear"]["ear_alone"] == 1


def test_a_spoilt_verdict_is_passed_over(desk):
    play(desk, ("clean", YES), ("missed", YES))
    record = look_back(desk, lambda there: there).records[0]
    assert two_judges(desk, [replace(record, sessions=())], UTC) == {}


def test_the_report_has_a_row_for_each_drill_that_both_have_judged(desk):
    play(desk, ("clean", YES), ("missed", YES), ("missed", NO), ("unsure", NO), ("clean", NO), ("clean", YES))
    page = player_page(tell(desk, BEGAN + timedelta(hours=1), 7, zone=UTC))
    (section,) = [one for one in page.sections if one.key == "foot-and-ear"]
    assert section.blocks[0].rows == (("Am – E", "6", "3", "1", "1", "1"),)


def test_a_report_of_days_without_the_ear_has_no_such_section(desk):
    play(desk, ("none", YES), ("none", NO))
    page = player_page(tell(desk, BEGAN + timedelta(hours=1), 7, zone=UTC))
    assert "foot-and-ear" not in [one.key for one in page.sections]
