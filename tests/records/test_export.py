"""Takes to files and back: the same takes, once, or one sentence that says what is off."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, TakeRow
from pedaltrainer.records.table import as_json
from pedaltrainer.records.upkeep import exporting, importing
from pedaltrainer.records.upkeep.importing import Imported
from tests.records import samples
from tests.records.samples import a_session, a_take

# A chord symbol has no white space, which is what separates chords in CSV.
chord = st.text(st.characters(exclude_categories=["Cs", "Z", "Cc"]), min_size=1)


@st.composite
def some_takes(draw: st.DrawFn) -> tuple[list[TakeRow], dict[str, SessionRow]]:
    sessions = draw(st.lists(samples.sessions, min_size=1, max_size=3))
    takes = []
    for session in sessions:
        for take in draw(st.lists(samples.takes(session.id), min_size=1, max_size=3)):
            chords = tuple(draw(st.lists(chord, min_size=1, max_size=3)))
            takes.append(replace(take, chords=chords, cancelled=draw(st.booleans())))
    return takes, {session.id: session for session in sessions}


def everything(log: Log) -> tuple[list[TakeRow], list[SessionRow]]:
    return log.takes(include_cancelled=True), sorted(log.sessions(), key=lambda row: row.id)


def brought(folder: Path, path: Path) -> Imported:
    with Log.open(folder) as log:
        return importing.bring(log, importing.read_all(path))


@settings(max_examples=60)
@given(some_takes(), st.sampled_from([".csv", ".jsonl"]))
def test_what_was_exported_comes_back_the_same_and_only_once(given_rows, suffix: str) -> None:
    takes, sessions = given_rows
    with TemporaryDirectory() as scratch:
        path = Path(scratch) / f"takes{suffix}"
        exporting.write_takes(path, takes, sessions)
        first = brought(Path(scratch), path)
        with Log.open(Path(scratch), read_only=True) as log:
            once = everything(log)
        second = brought(Path(scratch), path)
        with Log.open(Path(scratch), read_only=True) as log:
            assert everything(log) == once
    assert (first.takes, first.added, second.added, second.differing) == (len(takes), len(takes), 0, 0)
    assert {row.id: row for row in once[0]} == {row.id: row for row in takes}
    if suffix == ".jsonl":
        assert {row.id: row for row in once[1]} == sessions
        assert first.sessions_made == 0
    else:
        assert {row.id for row in once[1]} == set(sessions)
        assert first.sessions_made == len(sessions)


def test_the_csv_is_what_another_reader_of_rfc_4180_reads(tmp_path: Path) -> None:
    session = a_session(player='Robin "Rob", of\nthe Hill')
    take = a_take(session)
    exporting.write_takes(tmp_path / "x.csv", [take], {session.id: session})
    (row,) = csv.DictReader(io.StringIO((tmp_path / "x.csv").read_bytes().decode(), newline=""))
    assert row["player"] == session.player
    assert row["started_utc"] == "2026-03-01T18:05:09.250Z"
    assert (row["chords"], row["cancelled"]) == ("Am E", "false")


def test_every_line_of_json_lines_is_an_object_and_a_session_stands_before_its_takes(tmp_path: Path) -> None:
    session = a_session()
    takes = [a_take(session), a_take(session)]
    exporting.write_takes(tmp_path / "x.jsonl", takes, {session.id: session})
    lines = [json.loads(line) for line in (tmp_path / "x.jsonl").read_text("utf-8").splitlines()]
    assert lines[0] == asdict(session)
    assert [line["id"] for line in lines[1:]] == [take.id for take in takes]


def test_takes_in_a_list_without_their_session_are_brought_in(tmp_path: Path) -> None:
    session = a_session()
    takes = [a_take(session), a_take(session, outcome="pass", first_miss=None)]
    kept = tmp_path / "takes.json"
    kept.write_text(as_json(takes), encoding="utf-8")
    found = brought(tmp_path, kept)
    assert brought(tmp_path, kept).added == 0
    assert (found.added, found.sessions_made) == (2, 1)
    with Log.open(tmp_path, read_only=True) as log:
        assert {take.id for take in log.takes()} == {take.id for take in takes}
        (made,) = log.sessions()
        assert (made.id, made.player, made.started_utc) == (session.id, "Robin", takes[0].started_utc)


def test_a_take_that_is_there_and_other_is_kept_and_counted(tmp_path: Path) -> None:
    session = a_session()
    take = a_take(session)
    exporting.write_takes(tmp_path / "x.jsonl", [take], {session.id: session})
    brought(tmp_path, tmp_path / "x.jsonl")
    exporting.write_takes(tmp_path / "y.jsonl", [replace(take, tempo_bpm=200.0)], {session.id: session})
    found = brought(tmp_path, tmp_path / "y.jsonl")
    assert (found.added, found.differing) == (0, 1)
    with Log.open(tmp_path, read_only=True) as log:
        assert log.takes() == [take]


def test_a_file_saved_by_a_spreadsheet_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    session = a_session()
    exporting.write_takes(tmp_path / "x.csv", [a_take(session)], {})
    text = (tmp_path / "x.csv").read_bytes()
    (tmp_path / "x.csv").write_bytes(b"\xef\xbb\xbf" + text.replace(b"\r\n", b"\n"))
    assert brought(tmp_path, tmp_path / "x.csv").added == 1


GOOD = asdict(a_take(a_session()))


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("x.txt", "", "give a file that ends in .csv, .jsonl or .json"),
        ("x.jsonl", json.dumps(GOOD) + "\n{oops}\n", "x.jsonl, line 2: this is not JSON"),
        ("x.jsonl", "[" * 100_000, "x.jsonl, line 1: this is not JSON"),
        ("x.jsonl", "7\n", "x.jsonl, line 1: this is no take"),
        ("x.jsonl", json.dumps(GOOD | {"tempo_bpm": 10**400}), "x.jsonl, line 1: "),
        (
            "x.jsonl",
            json.dumps(GOOD | {"outcome": "maybe"}),
            "line 1: outcome must be one of pass, fail, void",
        ),
        ("x.jsonl", json.dumps(GOOD | {"outcome": []}), "line 1: outcome must be one of"),
        ("x.jsonl", json.dumps(GOOD | {"cancelled": 1}), "line 1: cancelled must be true or false"),
        ("x.jsonl", json.dumps({**GOOD, "player": "\ud800"}), "line 1: player must be text"),
        ("x.json", "{}", "is no list of takes"),
        ("x.json", "[{}]", "take 1: answer_style is missing"),
        ("x.csv", "id,player\na\n", "x.csv, line 2: 1 fields, and the first line names 2"),
        ("x.csv", "id,player\na,b\n", "x.csv, line 2: answer_style is missing"),
        ("x.csv", 'id\n"a', "x.csv, line 2: this is not CSV"),
        ("x.csv", "id,landings\na,eight\n", "x.csv, line 2: landings cannot be 'eight'"),
    ],
)
def test_what_cannot_be_used_is_said_with_file_and_line(
    tmp_path: Path, name: str, text: str, said: str
) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        importing.read_all(tmp_path / name)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


@given(st.binary(max_size=300), st.sampled_from([".csv", ".jsonl", ".json"]))
@settings(max_examples=200)
def test_any_bytes_are_read_or_refused_in_a_sentence(content: bytes, suffix: str) -> None:
    with TemporaryDirectory() as scratch:
        path = Path(scratch) / f"x{suffix}"
        path.write_bytes(content)
        said = str(path)
        try:
            importing.read_all(path)
        except InputError as refused:
            said = str(refused)
        assert str(path) in said


def test_of_a_file_with_one_bad_line_nothing_is_brought(tmp_path: Path) -> None:
    lines = [json.dumps(GOOD), json.dumps(GOOD | {"id": "other", "landings": 0})]
    (tmp_path / "x.jsonl").write_text("\n".join(lines), encoding="utf-8")
    with Log.open(tmp_path / "log") as log, pytest.raises(InputError, match="line 2"):
        importing.bring(log, importing.read_all(tmp_path / "x.jsonl"))
    with Log.open(tmp_path / "log") as log:
        assert log.takes() == []


def test_an_export_never_leaves_half_a_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"should end in \.csv or \.jsonl"):
        exporting.write_takes(tmp_path / "x.doc", [], {})
    assert list(tmp_path.iterdir()) == []
