"""The record moved, merged, checked and erased from the command line."""

from __future__ import annotations

import csv
import io
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from pedaltrainer.cli import main

Said = Callable[..., str]
Ran = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two folders with a log each: Robin's and Kim's."""
    base = tmp_path_factory.mktemp("two")
    for seed, player in enumerate(("Robin", "Kim"), start=7):
        words = ["rehearse", "--fast", "--seed", str(seed), "--data", str(base / player), "--player", player]
        assert main([*words, "Am E"]) == 0
    return base


@pytest.fixture
def both(made: Path, tmp_path: Path, said: Said) -> Path:
    """A folder whose log holds both players."""
    said("log", "merge", made / "Robin", made / "Kim", "--data", tmp_path / "own")
    return tmp_path / "own"


def test_log_is_still_a_command_of_its_own_beside_merge_and_check(both: Path, said: Said) -> None:
    assert "Robin" in said("log", "--data", both)
    assert len(json.loads(said("log", "--json", "--data", both, "--limit", 3))) == 3
    by_words = json.loads(said("log", "E Am", "--json", "--data", both))
    assert by_words == json.loads(said("log", "--drill", "Am E", "--json", "--data", both))
    shown = said("log", "--help")
    assert "pedaltrainer log merge" in shown
    assert "pedaltrainer log check" in shown


def test_a_merge_says_where_the_copy_from_before_is_and_one_more_brings_nothing(
    made: Path, tmp_path: Path, said: Said
) -> None:
    shutil.copytree(made / "Robin", tmp_path / "own")
    words = said("log", "merge", made / "Kim", "--data", tmp_path / "own")
    assert str(tmp_path / "own" / "log.before-merge.sqlite3") in words
    again = said("log", "merge", made / "Kim", "--data", tmp_path / "own")
    assert "of which 0 were new" in again
    assert "as it was before" not in again


@pytest.mark.parametrize("suffix", ["csv", "jsonl"])
def test_takes_are_moved_to_another_machine_as_a_file(
    both: Path, tmp_path: Path, suffix: str, said: Said
) -> None:
    file = tmp_path / f"takes.{suffix}"
    said("export", file, "--data", both)
    assert "were new" in said("import", file, "--data", tmp_path / "new")
    assert said("import", file, "--data", tmp_path / "new").startswith("0 takes of")
    assert said("log", "--json", "--all", "--data", tmp_path / "new") == said(
        "log", "--json", "--all", "--data", both
    )


def test_clean_tempos_are_dated_per_drill_and_day(both: Path, tmp_path: Path, said: Said) -> None:
    said("export", tmp_path / "t.csv", "--what", "tempos", "--player", "Robin", "--data", both)
    (row,) = csv.DictReader(io.StringIO((tmp_path / "t.csv").read_text("utf-8")))
    (told,) = json.loads(said("progress", "Am E", "--json", "--player", "Robin", "--data", both))
    assert (row["player"], row["drill"], row["date"]) == ("Robin", "change Am E", told["days"][0]["date"])
    assert float(row["clean_tempo_bpm"]) == pytest.approx(told["days"][0]["clean_bpm"], abs=0.06)
    assert row["began_utc"].endswith("Z")


def test_only_what_is_since_a_day_is_exported(both: Path, tmp_path: Path, said: Said, refused: Said) -> None:
    assert said("export", tmp_path / "t.csv", "--since", "2999-01-01", "--data", both).startswith("0 takes")
    sentence = refused("export", tmp_path / "u.csv", "--since", "soon", "--data", both)
    assert "“soon” is no day" in sentence


def test_a_whole_log_is_checked_and_its_sessions_run_again(both: Path, said: Said) -> None:
    words = said("log", "check", "--data", both)
    assert "Everything is whole" in words
    assert "run again from inputs: 2 sessions" in words
    assert "Remark" not in words


def test_a_torn_log_is_named_saved_and_left_as_it_was(
    both: Path, tmp_path: Path, said: Said, refused: Said, ran: Ran
) -> None:
    path = both / "log.sqlite3"
    torn = path.read_bytes()[:-40_000]
    path.write_bytes(torn)
    assert "FILE --repair NEW" in refused("log", "--data", both)
    code, found, _ = ran("log", "check", "--data", both)
    assert code == 2
    assert "Fault" in found
    assert "--repair" in found
    words = said("log", "check", path, "--repair", tmp_path / "saved" / "log.sqlite3")
    assert "saved into it" in words
    assert path.read_bytes() == torn
    assert json.loads(said("log", "--json", "--data", tmp_path / "saved"))
    assert "is there already" in refused("log", "check", path, "--repair", tmp_path / "saved" / "log.sqlite3")


def test_players_are_listed_renamed_archived_and_returned(both: Path, said: Said) -> None:
    assert {each["name"] for each in json.loads(said("player", "list", "--json", "--data", both))} == {
        "Robin",
        "Kim",
    }
    assert said("player", "rename", "Robin", "Robin Vale", "--data", both) == (
        "Robin is Robin Vale now, in every take.\n"
    )
    takes = json.loads(said("log", "--player", "Robin", "--json", "--data", both))
    assert {take["player"] for take in takes} == {"Robin Vale"}
    said("player", "archive", "Robin Vale", "--data", both)
    assert "Robin" not in said("player", "list", "--data", both)
    assert "Robin Vale" in said("player", "list", "--all", "--data", both)
    said("player", "return", "Robin", "--data", both)
    assert "also Robin" in said("player", "list", "--data", both)


def test_everything_about_a_player_is_one_file_and_nothing_about_anybody_else(
    both: Path, made: Path, tmp_path: Path, said: Said
) -> None:
    said("player", "export", "Robin", tmp_path / "robin.zip", "--data", both)
    with zipfile.ZipFile(tmp_path / "robin.zip") as parcel:
        assert {"log.sqlite3", "takes.csv", "takes.jsonl", "inputs.jsonl", "tempos.csv"} <= set(
            parcel.namelist()
        )
        assert all(b"Kim" not in parcel.read(name) for name in parcel.namelist())
        (tmp_path / "log.sqlite3").write_bytes(parcel.read("log.sqlite3"))
    assert said("log", "--json", "--data", tmp_path) == said("log", "--json", "--data", made / "Robin")


@pytest.mark.parametrize("typed", ["", "Robin\n", "Robin\nKim\n", "Kim\nRobin\n"])
def test_a_player_is_not_erased_unless_the_name_is_typed_twice(
    both: Path, typed: str, said: Said, ran: Ran, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    code, _, trouble = ran("player", "erase", "Robin", "--data", both)
    assert code == 2
    assert "nothing was erased" in trouble
    assert "Robin" in said("player", "list", "--data", both)


def test_a_player_is_erased_when_the_name_is_typed_twice_or_given(
    both: Path, said: Said, refused: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("Robin\nRobin\n"))
    said("player", "erase", "Robin", "--data", both)
    assert b"Robin" not in b"".join(path.read_bytes() for path in both.rglob("*") if path.is_file())
    assert "nothing was erased" in refused("player", "erase", "Kim", "--yes-erase", "Robin", "--data", both)
    said("player", "erase", "Kim", "--yes-erase", "Kim", "--data", both)
    assert said("player", "list", "--data", both) == "Nobody has played yet.\n"


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["import", "x.csv"], "cannot be read"),
        (["export", "x.doc"], "should end in .csv or .jsonl"),
        (["log", "merge", "/none/such"], "There is no log /none/such"),
        (["log", "check", "/none/such"], "There is no log /none/such"),
        (["player", "rename", "Alex", "Sam"], "no player Alex; its players are"),
        (["player", "export", "Robin", "x.txt"], "should end in .zip"),
        (["log", "merge"], "FILE|FOLDER"),
    ],
)
def test_bad_input_is_one_sentence(both: Path, words: list[str], sentence: str, refused: Said) -> None:
    assert sentence in refused(*words, "--data", both)
