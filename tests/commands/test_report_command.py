"""`pedaltrainer report` as one runs it."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta

import pytest

from pedaltrainer.cli import main
from pedaltrainer.records.log import FILE_NAME
from tests.page.made_up import FLAT, RISING, write_log, write_songs
from tests.page.reading import Reader


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """Robin's log until an hour ago, and another player's."""
    folder = tmp_path / "home"
    last = datetime.now().astimezone() - timedelta(hours=1)
    write_log(folder, last=last)
    write_log(folder, "Kim & <Co>", {"Am E": RISING}, last=last, seed=2)
    write_songs(folder)
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: folder)
    monkeypatch.setattr("pedaltrainer.commands.asking.player_name", lambda: "Robin")
    monkeypatch.chdir(tmp_path)
    return folder


def read(path) -> Reader:
    return Reader(path.read_text(encoding="utf-8"))


def test_it_writes_ones_own_report_and_says_where(tmp_path, capsys):
    assert main(["report"]) == 0
    assert capsys.readouterr().out == "Written: report.html\n"
    assert read(tmp_path / "report.html").texts("h1") == ["Practice report: Robin"]


def test_another_player_and_another_file_can_be_named(tmp_path):
    assert main(["report", "--player", "Kim & <Co>", "--out", "kim.html", "--days", "30"]) == 0
    assert read(tmp_path / "kim.html").texts("h1") == ["Practice report: Kim & <Co>"]


def test_players_makes_one_page_of_everybody(tmp_path):
    assert main(["report", "--players"]) == 0
    page = read(tmp_path / "players.html")
    assert page.texts("h1") == ["Practice report: 2 pupils"]
    assert set(page.texts("h3")) == {"Robin", "Kim & <Co>"}


def test_logs_that_pupils_sent_are_read_as_files_under_any_name_and_left_alone(tmp_path, home):
    write_log(tmp_path / "ada", "Ada", {"Am E": FLAT}, last=datetime.now().astimezone())
    sent = tmp_path / "ada-in-march.sqlite3"
    shutil.copy(tmp_path / "ada" / FILE_NAME, sent)
    before = sent.read_bytes()
    assert main(["report", "--players", str(home), str(sent), "--out", "class.html"]) == 0
    assert set(read(tmp_path / "class.html").texts("h3")) == {
        "Robin (home)",
        "Kim & <Co> (home)",
        "Ada (ada-in-march.sqlite3)",
    }
    assert sent.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--player", "Nobody"], "The log has no takes of Nobody; name a player with --player: "),
        (["--out", "report.pdf"], "report.pdf is no page; name a file that ends in .html."),
        (["--data", "nowhere"], "nowhere"),
        (["--players", "no-such.sqlite3"], "no-such.sqlite3"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(words, said, capsys):
    assert main(["report", *words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.startswith("pedaltrainer: ")
    assert error.count("\n") == 1


def test_a_file_that_is_no_log_is_refused_and_left_alone(tmp_path, capsys):
    (tmp_path / "notes.sqlite3").write_text("not a log", encoding="utf-8")
    assert main(["report", "--players", "notes.sqlite3"]) == 2
    assert "notes.sqlite3" in capsys.readouterr().err
    assert (tmp_path / "notes.sqlite3").read_text(encoding="utf-8") == "not a log"
