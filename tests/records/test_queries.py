"""Questions asked of a long log: the right answers, found without going over every row."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from pedaltrainer.records import queries
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Played, TakeRow, utc_text
from tests.records.samples import EVENING, a_session, a_take

QUESTIONS = {
    name: text for name, text in vars(queries).items() if name.isupper() and isinstance(text, str)
}  # fmt: skip
ASKED_OF_TAKES = sorted(
    name
    for name, text in QUESTIONS.items()
    if name not in {"COUNT"} and name[0] != "_" and text.lstrip().startswith(("SELECT", "WITH"))
)
VALUES = {"player": "Robin", "drill": "change Am E", "most": 40, "since": "2026", "days": 90}


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
    scanned = [step for step in steps if step.startswith("SCAN") and step.split()[1] not in {"day", "met"}]
    assert scanned == []
    assert any("SEARCH" in step for step in steps)


@pytest.mark.parametrize("name", ["LAST_ANSWERS", "LAST_SESSION_OF_DRILL", "ANSWERS_OF_DRILL_SINCE"])
def test_a_drills_last_takes_come_in_order_without_sorting_all_of_them(log: Log, name: str) -> None:
    steps = plan(log.path, QUESTIONS[name])
    assert steps[0].startswith("SEARCH take USING INDEX take_by_player_drill_start (player=? AND drill=?")
    assert not any("TEMP B-TREE" in step for step in steps)


def plan(path: Path, query: str) -> list[str]:
    with closing(sqlite3.connect(path)) as file:
        return [step for *_, step in file.execute(f"EXPLAIN QUERY PLAN {query}", VALUES)]


def test_there_are_questions_to_be_asked_about() -> None:
    assert len(ASKED_OF_TAKES) == 11


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


def test_the_last_session_of_a_drill_is_the_last_one_with_an_answer_in_it(log: Log) -> None:
    sessions = [a_session() for _ in range(2)]
    for day, session in enumerate(sessions):
        log.begin_session(session)
        start = utc_text(EVENING + timedelta(days=day))
        log.append_take(a_take(session, started_utc=start, **(void() if day else {})))
        log.append_take(a_take(session, started_utc=start, drill="re-land F"))
    (row,) = log.last_session_takes("Robin", "change Am E")
    assert row.session_id == sessions[0].id
    assert [row.session_id for row in log.last_session_takes("Robin", "re-land F")] == [sessions[1].id]
    assert log.last_session_takes("Robin", "change C G") == []


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


# --- minutes -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "days"),
    [
        # The clocks of Europe went forward in the night to 29 March 2026 (Directive 2000/84/EC: last Sunday
        # of March, 1:00 UTC); Nepal is 5 h 45 min ahead of UTC (IANA time zone database).
        ("Europe/Berlin", {date(2026, 3, 28): 1, date(2026, 3, 29): 2}),
        ("UTC", {date(2026, 3, 28): 2, date(2026, 3, 29): 1}),
        ("Asia/Kathmandu", {date(2026, 3, 29): 3}),
    ],
)
def test_a_day_is_a_day_where_the_player_is(book: Book, zone: str, days: dict[date, int]) -> None:
    for moment in ("2026-03-28T22:59:59.000Z", "2026-03-28T23:00:00.000Z", "2026-03-29T18:14:00.000Z"):
        when = datetime.fromisoformat(moment)
        book.take((when - EVENING) / timedelta(days=1), duration_s=30.0)
    found = book.log.minutes_by_day("Robin", ZoneInfo(zone))
    assert {day: played.takes for day, played in found.items()} == days
    assert sum(played.minutes for played in found.values()) == 1.5


def test_the_quarter_of_an_hour_that_begins_a_day_belongs_to_it(book: Book) -> None:
    midnight_in_nepal = datetime(2026, 3, 28, 18, 15, tzinfo=UTC)
    for seconds in (-0.001, 0.0):
        book.take((midnight_in_nepal - EVENING + timedelta(seconds=seconds)) / timedelta(days=1))
    assert list(book.log.minutes_by_day("Robin", ZoneInfo("Asia/Kathmandu"))) == [
        date(2026, 3, 28),
        date(2026, 3, 29),
    ]


def test_minutes_count_void_takes_but_none_taken_back_and_nobody_elses(book: Book) -> None:
    book.take(0, duration_s=60.0)
    book.take(0, duration_s=30.0, **void())
    undone = book.take(0, duration_s=600.0)
    book.log.cancel_take(undone.id, undone.ended_utc, "undo")
    book.take(0, player="Kim", duration_s=600.0)
    assert book.log.minutes_by_day("Robin", UTC) == {EVENING.date(): Played(2, 1.5)}
    assert book.log.minutes_by_day("nobody") == {}
