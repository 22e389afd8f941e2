"""How much was played, by day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from pedaltrainer.history.named import take_of
from pedaltrainer.history.played import played_by_day
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import AnswerStyle, minutes_of
from tests.records.test_queries import EVENING, Book, book, log, void

__all__ = ["book", "log"]


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
        book.take((when - EVENING) / timedelta(days=1), outcome="pass", first_miss=None, tempo_bpm=80.0)
    found = played_by_day(book.log, "Robin", ZoneInfo(zone))
    assert {day: played.takes for day, played in found.items()} == days
    # Two beats of count-in and eight landings at 80 BPM: 7.5 s.
    assert sum(played.minutes for played in found.values()) == pytest.approx(3 * 7.5 / 60)


def test_the_quarter_of_an_hour_that_begins_a_day_belongs_to_it(book: Book) -> None:
    midnight_in_nepal = datetime(2026, 3, 28, 18, 15, tzinfo=UTC)
    for seconds in (-0.001, 0.0):
        book.take((midnight_in_nepal - EVENING + timedelta(seconds=seconds)) / timedelta(days=1))
    assert list(played_by_day(book.log, "Robin", ZoneInfo("Asia/Kathmandu"))) == [
        date(2026, 3, 28),
        date(2026, 3, 29),
    ]


def test_what_counts_is_what_stands_and_nobody_elses(book: Book) -> None:
    book.take(0)
    book.take(0, **void())
    undone = book.take(0)
    book.log.cancel_take(undone.id, undone.ended_utc, "undo")
    book.take(0, player="Kim")
    assert {day: played.takes for day, played in played_by_day(book.log, "Robin", UTC).items()} == {
        EVENING.date(): 1
    }
    assert played_by_day(book.log, "nobody") == {}


@pytest.mark.parametrize(
    "words", ["Am E", "Am E x4", "pressure F", "passage Am:2 G F:3 E7:5/2", "level A Bm muted"]
)
@pytest.mark.parametrize("answer_style", AnswerStyle)
@pytest.mark.parametrize("first_miss", [None, 1, 5, 8])
def test_a_day_lasts_as_long_as_its_takes_do(
    book: Book, words: str, first_miss: int | None, answer_style: AnswerStyle
) -> None:
    """However a question of the log adds them up: held to `minutes_of` take by take."""
    drill = parse_drill(words)
    more = {"outcome": "fail" if first_miss else "pass", "first_miss": first_miss}
    more |= {"chords": drill.chords, "answer_style": str(answer_style)}
    rows = [book.take(0.001 * n, drill=drill.key, tempo_bpm=61.0 + 7 * n, **more) for n in range(3)]
    (day,) = played_by_day(book.log, "Robin", UTC).values()
    assert day.minutes == pytest.approx(sum(minutes_of(take_of(row, drill)) for row in rows))
