"""The command line: what it prints, and one clear sentence for whatever is off."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import wave
from pathlib import Path

import pytest

from pedaltrainer.cli import main


def pedaltrainer(*words: object, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pedaltrainer", *map(str, words)],
        capture_output=True,
        text=True,
        timeout=120,
        stdin=subprocess.DEVNULL,
        check=False,
        env=os.environ | environment,
    )


def sentence_of(done: subprocess.CompletedProcess[str]) -> str:
    """The one sentence of a refusal that is the user's to mend."""
    assert done.returncode == 2, done
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    (line,) = done.stderr.strip().splitlines()
    return line


@pytest.fixture(scope="module")
def rehearsed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rehearsed")
    words = ["rehearse", "--fast", "--seed", "7", "--skill", "84", "--data", str(folder), "Am E", "F"]
    assert main(words) == 0
    return folder


@pytest.fixture
def played(rehearsed, tmp_path):
    return shutil.copytree(rehearsed, tmp_path / "log")


SCREENS = {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"}


# --- what it prints --------------------------------------------------------------


def test_a_rehearsal_says_what_was_found(said):
    lines = said("rehearse", "--fast", "--seed", 7, "--skill", 84, "Am E", "F").splitlines()
    assert lines[0].startswith("Am – E: ")
    assert lines[1].startswith("F, landed again: ")
    assert lines[2] == "The made-up player's true clean tempo was 84 BPM."


def test_the_log_is_a_table_newest_first_and_is_read_in_a_process_of_its_own(played):
    done = pedaltrainer("log", "--data", played)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.index("re-land F") < done.stdout.index("change Am E")


def test_the_log_as_json_has_the_documented_names(played, found):
    takes = found("log", "--data", played)
    assert takes[0].keys() >= {
        "id", "player", "drill", "tempo_bpm", "landings", "outcome", "first_miss", "judge", "answer_style",
        "started_utc",
    }  # fmt: skip
    assert [take["started_utc"] for take in takes] == sorted((t["started_utc"] for t in takes), reverse=True)


def test_the_log_as_csv_is_what_the_csv_module_reads(played, said, found):
    rows = list(csv.DictReader(io.StringIO(said("log", "--data", played, "--csv"))))
    takes = found("log", "--data", played)
    assert [row["id"] for row in rows] == [take["id"] for take in takes]


def test_the_log_can_be_narrowed(played, found):
    takes = found("log", "--data", played, "--drill", "re-land F", "--limit", 2)
    assert len(takes) == 2
    assert {take["drill"] for take in takes} == {"re-land F"}


def test_a_drill_is_found_in_the_log_by_a_players_words(played, found):
    takes = found("log", "--data", played, "--drill", "E Am")
    assert {take["drill"] for take in takes} == {"change Am E"}


def test_a_drill_that_the_log_does_not_have_is_answered_with_those_it_has(played, refused):
    sentence = refused("log", "--data", played, "--drill", "C G")
    assert "“change Am E”, “re-land F”" in sentence


def test_the_word_play_may_be_left_out(tmp_path):
    done = pedaltrainer("Am E", "--data", tmp_path, SDL_VIDEODRIVER="none-such")
    assert "There is no screen" in sentence_of(done)


def test_the_log_survives_a_reader_that_goes_away(played):
    done = subprocess.run(
        f"{sys.executable} -m pedaltrainer log --data {played} | head -1",
        shell=True, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""


def test_click_writes_a_practice_track(tmp_path, said):
    out = tmp_path / "click.wav"
    said("click", "--tempo", 97, "--bars", 3, "--out", out)
    with wave.open(str(out)) as track:
        assert track.getframerate() == 48_000
        assert track.getsampwidth() == 2
        assert track.getnframes() / 48_000 == pytest.approx((4 + 12) * 60 / 97, abs=1.0)


def test_the_doctor_names_everything_and_measures(tmp_path):
    done = pedaltrainer(
        "doctor", "--json", "--seconds", 1, "--data", tmp_path,
        SDL_AUDIODRIVER="dummy", SDL_VIDEODRIVER="dummy",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["presses"]["presses"] >= 10
    assert found["presses"]["median_ms"] < 100
    assert found["click_callbacks"] >= 50
    assert found["libraries"]["mido"]
    assert str(tmp_path) in found["log"]


def test_the_doctor_says_what_to_do_about_each_trouble(tmp_path):
    done = pedaltrainer(
        "doctor", "--seconds", 0.5, "--data", tmp_path,
        SDL_AUDIODRIVER="none-such", SDL_VIDEODRIVER="none-such", MIDO_BACKEND="none.such",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    troubles = [line for line in done.stdout.splitlines() if line.startswith("- ")]
    assert len(troubles) >= 3


# --- bad input ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["rehearse", "--fast", "Am H"], "“H” is not a chord symbol"),
        (["rehearse", "--fast", "Am E F"], "names 3 chords"),
        (["rehearse", "--fast", ""], "names 0 chords"),
        (["play", "--start", "19"], "from 20 to 300 BPM"),
        (["play", "--start", "301"], "from 20 to 300 BPM"),
        (["play", "--start", "fast"], "“fast” will not do"),
        (["play", "--start", "nan"], "from 20 to 300 BPM"),
        (["play", "--start", "60.5"], "whole number"),
        (["play", "--step", "0"], "from 1 to 40 BPM"),
        (["play", "--landings", "1"], "from 2 to 64"),
        (["play", "--minutes", "-5"], "from 0.1 to 600"),
        (["play", "--answer", "shout"], "shout"),
        (["play", "--volume", "2"], "from 0 to 1"),
        (["play", "--metre", "4/5"], "a metre such as 4/4"),
        (["play", "--metre", "0/4"], "a metre such as 4/4"),
        (["play", "--beats", "0"], "from 1 to 16"),
        (["play", "--ladder", "rope"], "rope"),
        (["play", "--nonsense"], "--nonsense"),
        (["rehearse", "--skill", "0"], "from 20 to 300 BPM"),
        (["click", "--tempo", "500", "--out", "x.wav"], "from 20 to 300 BPM"),
        (["click", "--tempo", "97", "--out", "/none/such/x.wav"], "/none/such"),
        (["click", "--tempo", "97"], "--out"),
        (["log", "--limit", "0"], "from 1 to"),
        (["log", "--data", "/none/such"], "/none/such"),
        (["dance"], "dance"),
        (["play", "--player", " "], "give a name"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_2(refused, words, sentence):
    assert sentence in refused(*words)


def test_no_display_is_one_sentence(tmp_path):
    done = pedaltrainer("play", "--data", tmp_path, SDL_VIDEODRIVER="none-such", SDL_AUDIODRIVER="dummy")
    assert "There is no screen" in sentence_of(done)


def test_a_computer_without_any_display_is_not_drawn_into_memory(tmp_path):
    there = {name: value for name, value in os.environ.items() if name not in SCREENS}
    done = subprocess.run(
        [sys.executable, "-m", "pedaltrainer", "play", "--data", tmp_path],
        capture_output=True, text=True, timeout=60, check=False, env=there | {"SDL_AUDIODRIVER": "dummy"},
    )  # fmt: skip
    assert "There is no screen" in sentence_of(done)


@pytest.mark.parametrize("command", [["rehearse", "--fast"], ["log"]])
def test_a_log_that_is_no_database_is_refused_and_left_as_it_was(tmp_path, refused, command):
    path = tmp_path / "log.sqlite3"
    path.write_bytes(b"dear diary" * 100)
    assert str(path) in refused(*command, "--data", tmp_path)
    assert path.read_bytes() == b"dear diary" * 100


def test_a_log_of_a_newer_program_is_refused_and_left_as_it_was(played, refused):
    connection = sqlite3.connect(played / "log.sqlite3")
    connection.execute("PRAGMA user_version = 9999")
    connection.close()
    before = (played / "log.sqlite3").read_bytes()
    assert "newer" in refused("rehearse", "--fast", "--data", played)
    assert (played / "log.sqlite3").read_bytes() == before


def test_a_log_in_use_by_another_program_is_refused_in_a_sentence(played, refused):
    connection = sqlite3.connect(played / "log.sqlite3", isolation_level=None)
    connection.execute("PRAGMA locking_mode = EXCLUSIVE")
    connection.execute("BEGIN EXCLUSIVE")
    try:
        refused("rehearse", "--fast", "--data", played)
    finally:
        connection.close()


def test_settings_edited_wrongly_are_named_with_file_and_line(tmp_path, refused):
    (tmp_path / "settings.toml").write_text("# mine\nvolume = 7\n", encoding="utf-8")
    sentence = refused("rehearse", "--fast", "--data", tmp_path)
    assert "settings.toml, line 2" in sentence


def test_a_mistake_of_ours_is_one_sentence_and_its_particulars_are_kept(tmp_path, ran, monkeypatch):
    def breaks(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by a made-up zero")

    monkeypatch.setattr("pedaltrainer.commands.record.Log.open", breaks)
    code, out, trouble = ran("log", "--data", tmp_path)
    assert (code, out) == (1, "")
    (line,) = trouble.strip().splitlines()
    assert "a mistake of ours (ZeroDivisionError: by a made-up zero)" in line
    kept = Path(line.rpartition(" ")[2].removesuffix("."))
    assert "Traceback" in kept.read_text(encoding="utf-8")
    kept.unlink()
