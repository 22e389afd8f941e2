"""Questions asked of a long log: the right answers, found without going over every row."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from pedaltrainer.records import queries
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow, utc_text
from tests.records.samples import EVENING, a_session, a_take

QUESTIONS = {
    name: text for name, text in vars(queries).items() if name.isupper() and isinstance(text, str)
}  # fmt: skip
ASKED_OF_TAKES = sorted(
    name
    for name, text in QUESTIONS.items()
    if name not in {"COUNT"} and name[0] != "_" and text.lstrip().startswith(("SELECT", "WITH"))
)
VALUES = {
    "player": "Robin",
    "drill": "change Am E",
    "most": 40,
    "since": "2026",
    "event": "Noted",
    "setting": "",
    "before": "2027",
    "days": 90,
    "ids": "[]",
}


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path) as log:
        yield log


class Book:
    """Takes written down by when they began, one session a player."""

    def __init__(self, log: Log) -> None:
        self.log = log
        self.sessions = {}

    def take(self, days: float, player: str = "Robin", drill: str = "change Am E", **more: object) -> TakeRow:
        if player not in self.sessions:
            self.sessions[player] = a_session(player=player)
            self.log.begin_session(self.sessions[player])
        start = utc_text(EVENING + timedelta(days=days))
        row = a_take(self.sessions[player], drill=drill, started_utc=start, ended_utc=start, **more)
        self.log.append_take(row)
        return row


@pytest.fixture
def book(log: Log) -> Book:
    return Book(log)


def void() -> dict[str, object]:
    return {"outcome": "void", "first_miss": None}


# --- plans -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ASKED_OF_TAKES)
def test_no_question_goes_over_every_row(log: Log, name: str) -> None:
    # SQLite, "EXPLAIN QUERY PLAN", section 1.1: a SCAN visits all rows, a SEARCH only those of a range.
    steps = plan(log.path, QUESTIONS[name])
    scanned = [
        step
        for step in steps
        if step.startswith("SCAN") and step.split()[1] not in {"day", "met", "json_each"}
    ]
    assert scanned == []
    assert any("SEARCH" in step for step in steps)


@pytest.mark.parametrize("name", ["LAST_ANSWERS", "ANSWERS_OF_DRILL_SINCE"])
def test_a_drills_last_takes_come_in_order_without_sorting_all_of_them(log: Log, name: str) -> None:
    steps = plan(log.path, QUESTIONS[name])
    assert steps[0].startswith("SEARCH take USING INDEX take_by_player_drill_start (player=? AND drill=?")
    assert not any("TEMP B-TREE" in step for step in steps)


def plan(path: Path, query: str) -> list[str]:
    with closing(sqlite3.connect(path)) as file:
        return [step for *_, step in file.execute(f"EXPLAIN QUERY PLAN {query}", VALUES)]


def test_there_are_questions_to_be_asked_about() -> None:
    assert len(ASKED_OF_TAKES) == 12


def test_the_plan_of_a_question_without_an_index_would_be_told(log: Log) -> None:
    assert plan(log.path, "SELECT * FROM take WHERE judge = 'foot'") == ["SCAN take"]


# --- answers -----------------------------------------------------------------------


def test_drills_come_with_the_one_practised_last_first_and_each_player_has_their_own(book: Book) -> None:
    book.take(0, drill="re-land F")
    book.take(1, drill="change Am E")
    book.take(2, drill="re-land F")
    book.take(3, player="Kim", drill="change C G")
    assert book.log.drills("Robin") == ["re-land F", "change Am E"]
    assert book.log.drills("Kim") == ["change C G"]
    assert sorted(book.log.drills()) == ["change Am E", "change C G", "re-land F"]
    assert book.log.drills("nobody") == []


def test_the_last_answers_of_a_drill_leave_out_void_and_undone_takes(book: Book) -> None:
    rows = [book.take(day, tempo_bpm=60.0 + day) for day in range(8)]
    book.take(9, **void())
    book.take(9, drill="re-land F")
    book.log.cancel_take(rows[6].id, rows[6].ended_utc, "undo")
    assert [answer.tempo_bpm for answer in book.log.last_answers("Robin", "change Am E", 3)] == [67, 65, 64]
    (newest,) = book.log.last_answers("Robin", "change Am E", 1)
    assert (newest.chords, newest.first_miss, newest.reaction_ms) == (("Am", "E"), 5, 250.0)


def test_the_last_answers_can_be_asked_for_as_of_a_moment(book: Book) -> None:
    rows = [book.take(day, tempo_bpm=60.0 + day) for day in range(4)]
    found = book.log.last_answers("Robin", "change Am E", 2, rows[3].started_utc)
    assert [answer.tempo_bpm for answer in found] == [62, 61]


def test_the_settings_of_sessions_come_by_their_ids(log: Log) -> None:
    sessions = [a_session(settings={"number": number}) for number in range(3)]
    for session in sessions:
        log.begin_session(session)
    ids = [sessions[2].id, sessions[0].id, "nobody's"]
    assert log.settings_of(ids) == {sessions[2].id: {"number": 2}, sessions[0].id: {"number": 0}}


def test_days_are_counted_back_by_days_with_takes(book: Book) -> None:
    for day in (0, 100, 101, 200):
        for hours in (-0.5, 0, 0.5):
            book.take(day + hours / 24)
    assert book.log.before_the_last_days("Robin", 4) is None
    assert book.log.before_the_last_days("Robin", 2) == utc_text(EVENING + timedelta(days=100, hours=0.5))
    since = book.log.before_the_last_days("Robin", 1)
    assert len(book.log.answers_since("Robin", since)) == 3
    assert len(book.log.answers_since("Robin")) == 12
    assert book.log.before_the_last_days("nobody", 1) is None


def test_a_morning_and_an_evening_are_one_day_and_a_sitting_past_midnight_is_not_cut(book: Book) -> None:
    for day in range(3):
        for hours in (-9, 0, 5.7, 6.1):  # midnight is six hours after EVENING
            book.take(day + hours / 24)
    since = book.log.before_the_last_days("Robin", 2)
    assert len(book.log.answers_since("Robin", since)) == 8


def test_the_days_of_one_drill_are_its_own(book: Book) -> None:
    for day in range(10):
        book.take(day, drill="re-land F")
    book.take(0)
    book.take(1)
    assert book.log.before_the_last_days("Robin", 2, "change Am E") is None
    assert book.log.before_the_last_days("Robin", 1, "change Am E") == utc_text(EVENING)
    assert [each.drill for each in book.log.answers_since("Robin", "", "change Am E")] == ["change Am E"] * 2


def test_sessions_can_be_limited(book: Book) -> None:
    for number in range(3):
        book.log.begin_session(a_session(started_utc=utc_text(EVENING + timedelta(days=number))))
    assert book.log.sessions("Robin", limit=1) == book.log.sessions("Robin")[:1] == book.log.sessions()[:1]


def test_takes_are_counted_without_those_taken_back(book: Book) -> None:
    assert book.log.count_takes() == 0
    undone, _, _ = book.take(0), book.take(1), book.take(2, **void())
    book.log.cancel_take(undone.id, undone.ended_utc, "undo")
    assert book.log.count_takes() == 2
