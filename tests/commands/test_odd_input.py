"""Odd and hostile input by the command line: one sentence, exit code 2, and nothing harmed."""

from __future__ import annotations

import getpass
import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from pedaltrainer.cli import main
from pedaltrainer.commands.asking import player_name
from pedaltrainer.records.log import Log
from pedaltrainer.records.upkeep import exporting
from tests.records.samples import a_session, a_take

NOBODY = 65534


@pytest.fixture
def data(tmp_path: Path) -> Path:
    with Log.open(tmp_path / "data") as log:
        log.begin_session(session := a_session())
        log.append_take(a_take(session))
    return tmp_path / "data"


# --- files that are there -----------------------------------------------------------------

WRITES = {
    "export": ("export", "{out}.csv"),
    "click": ("click", "--tempo", "97", "--bars", "1", "--out", "{out}.wav"),
    "track": ("track", "Am F", "--tempo", "97", "--takes", "1", "--out", "{out}.mid"),
    "report": ("report", "--player", "Robin", "--out", "{out}.html"),
    "sheet": ("sheet", "--blank", "--out", "{out}.pdf"),
    "shape": ("shape", "C", "--picture", "{out}.svg"),
    "progress": ("progress", "Am E", "--player", "Robin", "--picture", "{out}.png"),
}


@pytest.mark.parametrize("command", WRITES)
def test_a_file_that_is_there_is_written_over_only_when_that_is_asked_for(
    data: Path, tmp_path: Path, command: str, refused: Callable[..., str], said: Callable[..., str]
) -> None:
    words = [word.format(out=tmp_path / "mine") for word in WRITES[command]]
    here = () if command == "click" else ("--data", data)
    (file,) = (Path(word) for word in words if word.startswith(str(tmp_path)))
    file.write_text("mine")
    assert "is there already; name a new file, or add --force" in refused(*words, *here)
    assert file.read_text() == "mine"
    said(*words, "--force", *here)
    assert file.read_bytes() != b"mine"


@pytest.mark.skipif(os.name != "posix", reason="pipes are those of POSIX")
def test_what_is_no_file_is_not_written_over_even_then(
    data: Path, tmp_path: Path, refused: Callable[..., str]
) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    assert "no ordinary file" in refused("export", tmp_path / "pipe.csv", "--force", "--data", data)
    assert (tmp_path / "pipe.csv").is_fifo()


# --- chords that are not those of the drill ----------------------------------------------


def test_takes_whose_chords_are_not_those_of_their_drill_are_refused_told_of_and_survived(
    tmp_path: Path, refused: Callable[..., str], said: Callable[..., str]
) -> None:
    session = a_session()
    odd = [a_take(session, chords=chords) for chords in (("Am",), ("C", "G"), ("Am", "E", "F"))]
    fine = a_take(session, chords=("E", "Am"))
    exporting.write_takes(tmp_path / "odd.jsonl", [fine, odd[0]], {session.id: session})
    data = tmp_path / "data"
    words = refused("import", tmp_path / "odd.jsonl", "--data", data)
    assert "line 3: Am are not the chords of the drill change Am E" in words
    assert not (data / "log.sqlite3").exists()
    with Log.open(data) as log:
        log.add_missing([session], [*odd, fine])
    assert "1 take, first" in (told := said("log", "check", "--data", data))
    assert told.count("are not the chords of the drill change Am E") == 3
    for words in (("report", "--out", tmp_path / "r.html"), ("progress",)):
        said(*words, "--player", "Robin", "--data", data)
    said("report", "--players", "--out", tmp_path / "p.html", "--data", data)


# --- names ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("login", "player"),
    [("robin", "robin"), ("r\udce9mi", "r\ufffdmi"), ("\x1b[2J", "\ufffd[2J"), ("  ", "player")],
)
def test_whoever_is_logged_in_can_play(monkeypatch: pytest.MonkeyPatch, login: str, player: str) -> None:
    monkeypatch.setattr(getpass, "getuser", lambda: login)
    assert player_name() == player
    a_session(player=player_name())


@pytest.mark.parametrize(
    "words",
    [
        *(("play", "Am E", "--player"), ("play",), ("log", "--player"), ("log",), ("log", "--drill")),
        *(("progress",), ("song", "show"), ("song", "by", "Salt"), ("track", "--song"), ("sheet",)),
        *(("player", "erase", "Robin", "--yes-erase"), ("pack", "drop"), ("shape",), ("moves",), ("route",)),
    ],
)
def test_words_that_are_no_text_are_refused(
    data: Path, words: tuple[str, ...], refused: Callable[..., str]
) -> None:
    assert "write it in UTF-8" in refused(*words, "r\udce9mi", "--data", data)


def test_names_from_others_steer_no_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], said: Callable[..., str]
) -> None:
    with Log.open(tmp_path) as log:
        log.begin_session(session := a_session(player="\x1b]0;mine\x07\u202eKim\x9b2J"))
        log.append_take(a_take(session, drill="change Am E \x1b[31m"))
    for words in (
        ("log",),
        ("log", "--csv"),
        ("log", "--json"),
        ("player", "list"),
        ("player", "list", "--json"),
    ):
        told = said(*words, "--data", tmp_path)
        assert not set("\x1b\x07\x9b\u202e") & set(told)
        assert "[31m" in told or "Kim" in told
    assert json.loads(said("log", "--json", "--data", tmp_path))[0]["player"] == session.player
    assert main(["report", "--player", "\x1b[2J", "--data", str(tmp_path)]) == 2
    assert "\x1b" not in capsys.readouterr().err


# --- places --------------------------------------------------------------------------------

READS = (
    ("log",),
    ("plan",),
    ("shape", "C"),
    ("song", "list"),
    ("play", "Am E"),
    ("pack", "list"),
    ("doctor",),
)


@pytest.mark.parametrize("words", READS)
def test_a_folder_that_cannot_be_used_is_named(
    tmp_path: Path, words: tuple[str, ...], refused: Callable[..., str]
) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for place in ("file", "file/deeper", "loop", "n" * 300):
        assert str(tmp_path / place) in refused(*words, "--data", tmp_path / place)


@pytest.mark.skipif(os.name != "posix", reason="users and permissions are those of POSIX")
@pytest.mark.parametrize("words", READS)
def test_a_folder_that_may_not_be_looked_into_is_named(
    tmp_path: Path, words: tuple[str, ...], refused: Callable[..., str]
) -> None:
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o000)
    tmp_path.chmod(0o755)
    for above in tmp_path.parents[:2]:
        above.chmod(0o755)
    superuser = os.geteuid() == 0
    if superuser:
        os.seteuid(NOBODY)
    try:
        assert "shut cannot be made or used (Permission denied)" in refused(*words, "--data", shut)
    finally:
        if superuser:
            os.seteuid(0)
        shut.chmod(0o700)


def test_a_song_of_any_title_has_a_file(tmp_path: Path, said: Callable[..., str]) -> None:
    # A file's name has room for 255 bytes (POSIX, NAME_MAX on the usual systems); a title for 120 letters.
    for number, title in enumerate(("字" * 120, "con", "../../up", "\U00020000" * 120, "\U0001f3b8" * 120)):
        chart = tmp_path / f"{number}.chart"
        chart.write_text(f"title: {title}\n| Am / E / |\n", encoding="utf-8")
        said("song", "add", chart, "--data", tmp_path / "data")
    assert len(list((tmp_path / "data" / "songs").iterdir())) == 5
