from __future__ import annotations

import csv
import io
import json
from dataclasses import fields
from datetime import timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.records.rows import TakeRow
from pedaltrainer.records.table import as_csv, as_json, as_table, formula_undone, outcome_words
from tests.records.samples import a_session, a_take, takes

SESSION = a_session()
TWO_HOURS_EAST = timezone(timedelta(hours=2))


def a_row(**changes: Any) -> TakeRow:
    return a_take(SESSION, **changes)


def test_the_table_reads_newest_first_in_plain_words_and_local_time() -> None:
    rows = [
        a_row(),
        a_row(started_utc="2026-03-01T23:30:00.000Z", tempo_bpm=92.5, outcome="pass", first_miss=None),
    ]
    # 23:30 UTC on the first of March is 01:30 on the second, two hours east of Greenwich.
    assert as_table(rows, zone=TWO_HOURS_EAST).splitlines() == [
        "date        time      drill        tempo     outcome                   judge",
        "----------  --------  -----------  --------  ------------------------  -------",
        "2026-03-02  01:30:00  change Am E  92.5 BPM  clean                     foot",
        "2026-03-01  20:05:09  change Am E  84 BPM    missed at landing 5 of 8  foot",
    ]


@pytest.mark.parametrize(
    ("outcome", "first_miss", "words"),
    [
        ("pass", None, "clean"),
        ("fail", None, "missed"),
        ("fail", 1, "missed at landing 1 of 8"),
        ("void", None, "interrupted, not counted"),
    ],
)
def test_an_outcome_is_said_in_words(outcome: str, first_miss: int | None, words: str) -> None:
    assert outcome_words(a_row(outcome=outcome, first_miss=first_miss)) == words


def test_players_and_undone_takes_are_told_apart_when_there_are_any() -> None:
    rows = [a_row(player="Robin"), a_row(player="Kim", cancelled=True)]
    header, _, newest, oldest = as_table(rows).splitlines()
    assert "player" in header
    assert header.endswith("undone")
    assert "Kim" in newest
    assert newest.endswith("undone")
    assert "Robin" in oldest
    assert not oldest.endswith("undone")


def test_no_takes_are_a_sentence() -> None:
    assert as_table([]) == "No takes yet."


def test_a_name_cannot_steer_the_terminal_or_break_the_table() -> None:
    table = as_table([a_row(drill="re-land \x1b[2J\nF")])
    assert "\x1b" not in table
    assert len(table.splitlines()) == 3


def test_csv_is_what_rfc_4180_asks_for() -> None:
    # RFC 4180 section 2: CRLF after every record, commas, a header line; a field with a comma,
    # quote or line break stands in double quotes, a quote inside it is doubled.
    text = as_csv([a_row(id="one", session_id="s", player='Ann "Nan", the\nyounger', heard_press_s=None)])
    assert text == (
        "id,session_id,player,drill,chords,beats_per_chord,metre,tempo_bpm,landings,outcome,first_miss,judge,"
        "answer_style,ladder,started_utc,ended_utc,pressed_s,heard_press_s,reaction_ms,duration_s,misses,cancelled\r\n"
        'one,s,"Ann ""Nan"", the\nyounger",change Am E,Am E,1,4,84.0,8,fail,5,foot,'
        "speak-up,steps,2026-03-01T18:05:09.250Z,2026-03-01T18:05:17.821Z,1203.0625,,250.0,8.571,,false\r\n"
    )


def test_csv_of_no_takes_is_its_header() -> None:
    assert as_csv([]).count("\r\n") == 1


@given(st.lists(takes("session"), max_size=4))
def test_csv_gives_every_field_back(rows: list[TakeRow]) -> None:
    # Read by the standard library's own reader; a number's text is exact, by Python's shortest repr.
    read = list(csv.DictReader(io.StringIO(as_csv(rows), newline="")))
    assert len(read) == len(rows)
    for found, row in zip(read, rows, strict=True):
        assert formula_undone(found["player"]) == row.player
        assert formula_undone(found["chords"]) == " ".join(row.chords)
        assert float(found["tempo_bpm"]) == row.tempo_bpm
        assert found["first_miss"] == ("" if row.first_miss is None else str(row.first_miss))
        assert (float(found["pressed_s"]) if found["pressed_s"] else None) == row.pressed_s


@pytest.mark.parametrize(
    "name", ["=1+1", "+cmd|' /C calc'!A0", "-Kim", "@sum(A1)", "\t=1", "\r=1", "＝1", "'=1"]
)
def test_no_name_is_a_formula_in_a_spreadsheet(name: str) -> None:
    # OWASP, "CSV Injection": cells that begin with = + - @, tab, carriage return or line feed, or with their
    # full-width forms, get a single quote before them.
    text = as_csv([a_row(player=name, chords=("-", "E"))])
    (_, cells) = csv.reader(io.StringIO(text, newline=""))
    assert cells[2] == f"'{name}"
    assert cells[4] == "'- E"
    assert formula_undone(cells[2]) == name


@pytest.mark.parametrize("name", ["-5", "+1.5e3", "Robin", "'Robin", "a=b", "'"])
def test_a_name_that_is_no_formula_is_written_as_it_is(name: str) -> None:
    (_, cells) = csv.reader(io.StringIO(as_csv([a_row(player=name, pressed_s=-1.5)]), newline=""))
    assert cells[2] == formula_undone(cells[2]) == name
    assert "-1.5" in cells


@given(st.lists(takes("session"), max_size=4))
def test_json_gives_every_field_back(rows: list[TakeRow]) -> None:
    found = json.loads(as_json(rows))
    assert [TakeRow(**(each | {"chords": tuple(each["chords"])})) for each in found] == rows
    assert all(list(each) == [field.name for field in fields(TakeRow)] for each in found)
