"""The command line: what it prints, and one clear sentence for whatever is off."""

from __future__ import annotations

import csv
import io
import json
import os
import sqlite3
import subprocess
import sys
import wave

import pytest


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


def refused(done: subprocess.CompletedProcess[str]) -> str:
    """The one sentence of a refusal that was the user's to mend."""
    assert done.returncode == 2, done
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    (line,) = done.stderr.strip().splitlines()
    return line


@pytest.fixture
def played(tmp_path):
    folder = tmp_path / "log"
    done = pedaltrainer("rehearse", "--fast", "--seed", 7, "--skill", 84, "--data", folder, "Am E", "F")
    assert done.returncode == 0, done.stderr
    return folder


COMMANDS = (
    "play", "rehearse", "click", "song", "plan", "log", "progress", "shape", "moves", "route", "pedals",
    "teach", "doctor",
)  # fmt: skip
SCREENS = {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"}


# --- what it prints --------------------------------------------------------------


def test_help_tells_the_job_and_every_command():
    done = pedaltrainer("--help")
    assert done.returncode == 0
    for word in (*COMMANDS, "by\nfoot"):
        assert word in done.stdout


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command):
    done = pedaltrainer(command, "--help")
    assert done.returncode == 0
    assert done.stdout.startswith(f"usage: pedaltrainer {command}")


def test_a_rehearsal_says_what_was_found():
    done = pedaltrainer("rehearse", "--fast", "--seed", 7, "--skill", 84, "Am E", "F")
    lines = done.stdout.splitlines()
    assert lines[0].startswith("Am – E: ")
    assert lines[1].startswith("F, landed again: ")
    assert lines[2] == "The made-up player's true clean tempo was 84 BPM."


def test_the_log_is_a_table_newest_first(played):
    done = pedaltrainer("log", "--data", played)
    assert done.returncode == 0
    assert done.stdout.index("re-land F") < done.stdout.index("change Am E")


def test_the_log_as_json_has_the_documented_names(played):
    takes = json.loads(pedaltrainer("log", "--data", played, "--json").stdout)
    assert takes[0].keys() >= {
        "id", "player", "drill", "tempo_bpm", "landings", "outcome", "first_miss", "judge", "answer_style",
        "started_utc",
    }  # fmt: skip
    assert [take["started_utc"] for take in takes] == sorted((t["started_utc"] for t in takes), reverse=True)


def test_the_log_as_csv_is_what_the_csv_module_reads(played):
    rows = list(csv.DictReader(io.StringIO(pedaltrainer("log", "--data", played, "--csv").stdout)))
    takes = json.loads(pedaltrainer("log", "--data", played, "--json").stdout)
    assert [row["id"] for row in rows] == [take["id"] for take in takes]


def test_the_log_can_be_narrowed(played):
    takes = json.loads(
        pedaltrainer("log", "--data", played, "--json", "--drill", "re-land F", "--limit", 2).stdout
    )
    assert len(takes) == 2
    assert {take["drill"] for take in takes} == {"re-land F"}


def test_a_drill_is_found_in_the_log_by_a_players_words(played):
    takes = json.loads(pedaltrainer("log", "--data", played, "--json", "--drill", "E Am").stdout)
    assert {take["drill"] for take in takes} == {"change Am E"}


def test_a_drill_that_the_log_does_not_have_is_answered_with_those_it_has(played):
    sentence = refused(pedaltrainer("log", "--data", played, "--drill", "C G"))
    assert "“change Am E”, “re-land F”" in sentence


def test_the_word_play_may_be_left_out(tmp_path):
    done = pedaltrainer("Am E", "--data", tmp_path, SDL_VIDEODRIVER="none-such")
    assert "There is no screen" in refused(done)


def test_the_log_survives_a_reader_that_goes_away(played):
    done = subprocess.run(
        f"{sys.executable} -m pedaltrainer log --data {played} | head -1",
        shell=True, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""


def test_click_writes_a_practice_track(tmp_path):
    out = tmp_path / "click.wav"
    done = pedaltrainer("click", "--tempo", 97, "--bars", 3, "--out", out)
    assert done.returncode == 0, done.stderr
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
    ("words", "said"),
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
def test_bad_input_is_one_sentence_and_exit_code_2(words, said):
    assert said in refused(pedaltrainer(*words))


def test_no_display_is_one_sentence(tmp_path):
    done = pedaltrainer("play", "--data", tmp_path, SDL_VIDEODRIVER="none-such", SDL_AUDIODRIVER="dummy")
    assert "There is no screen" in refused(done)


def test_a_computer_without_any_display_is_not_drawn_into_memory(tmp_path):
    there = {name: value for name, value in os.environ.items() if name not in SCREENS}
    done = subprocess.run(
        [sys.executable, "-m", "pedaltrainer", "play", "--data", tmp_path],
        capture_output=True, text=True, timeout=60, check=False, env=there | {"SDL_AUDIODRIVER": "dummy"},
    )  # fmt: skip
    assert "There is no screen" in refused(done)


@pytest.mark.parametrize("command", [["rehearse", "--fast"], ["log"]])
def test_a_log_that_is_no_database_is_refused_and_left_as_it_was(tmp_path, command):
    path = tmp_path / "log.sqlite3"
    path.write_bytes(b"dear diary" * 100)
    assert str(path) in refused(pedaltrainer(*command, "--data", tmp_path))
    assert path.read_bytes() == b"dear diary" * 100


def test_a_log_of_a_newer_program_is_refused_and_left_as_it_was(played):
    connection = sqlite3.connect(played / "log.sqlite3")
    connection.execute("PRAGMA user_version = 9999")
    connection.close()
    before = (played / "log.sqlite3").read_bytes()
    assert "newer" in refused(pedaltrainer("rehearse", "--fast", "--data", played))
    assert (played / "log.sqlite3").read_bytes() == before


def test_a_log_in_use_by_another_program_is_refused_in_a_sentence(played):
    connection = sqlite3.connect(played / "log.sqlite3", isolation_level=None)
    connection.execute("PRAGMA locking_mode = EXCLUSIVE")
    connection.execute("BEGIN EXCLUSIVE")
    try:
        refused(pedaltrainer("rehearse", "--fast", "--data", played))
    finally:
        connection.close()


def test_settings_edited_wrongly_are_named_with_file_and_line(tmp_path):
    (tmp_path / "settings.toml").write_text("# mine\nvolume = 7\n", encoding="utf-8")
    sentence = refused(pedaltrainer("rehearse", "--fast", "--data", tmp_path))
    assert "settings.toml, line 2" in sentence
