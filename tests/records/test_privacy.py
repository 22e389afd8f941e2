"""What is kept is for its player alone: made so, and what an earlier program left open is closed once."""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import pytest

from pedaltrainer.records import preferences
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.upkeep import merging, privacy
from tests.records.samples import EVENING, a_session, a_take

pytestmark = pytest.mark.skipif(os.name != "posix", reason="permissions are those of POSIX")


def mode(path: Path) -> int:
    return path.stat().st_mode & 0o777


def a_log(folder: Path) -> None:
    with Log.open(folder) as log:
        log.begin_session(session := a_session())
        log.append_take(a_take(session))


def as_of_old(folder: Path) -> dict[str, Path]:
    """A folder as programs made it that thought of nobody else."""
    a_log(folder)
    (folder / "songs" / "removed").mkdir(parents=True)
    files = {
        "log": folder / FILE_NAME,
        "settings": folder / "settings.toml",
        "song": folder / "songs" / "one.chart",
        "old song": folder / "songs" / "removed" / "two.chart",
    }
    for name in ("settings", "song", "old song"):
        files[name].write_text("", encoding="utf-8")
    for path in files.values():
        path.chmod(0o644)
    for path in (folder, folder / "songs", folder / "songs" / "removed"):
        path.chmod(0o755)
    return files | {"folder": folder, "songs": folder / "songs"}


def test_folder_log_and_all_beside_it_are_made_for_their_player_alone(tmp_path: Path) -> None:
    before = os.umask(0o000)
    try:
        folder = tmp_path / "data"
        with Log.open(folder) as log:
            log.begin_session(a_session())
            made = {path.name: mode(path) for path in folder.iterdir()}
        a_log(tmp_path / "other")
        merging.merge(folder, [tmp_path / "other"], EVENING)
        preferences.save(folder, preferences.Preferences(volume=0.5))
    finally:
        os.umask(before)
    assert mode(folder) == 0o700
    assert made == dict.fromkeys((FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"), 0o600)
    assert {mode(path) for path in folder.iterdir()} == {0o600}
    assert len(list(folder.iterdir())) == 3


def test_what_an_earlier_program_left_open_is_closed_once_and_then_left_to_the_player(tmp_path: Path) -> None:
    there = as_of_old(tmp_path / "data")
    privacy.tighten_once(tmp_path / "data", EVENING)
    assert {name: mode(path) for name, path in there.items()} == {
        name: 0o700 if path.is_dir() else 0o600 for name, path in there.items()
    }
    assert preferences.load(tmp_path / "data").made_private_utc == "2026-03-01T18:05:09.250Z"
    there["log"].chmod(0o640)
    privacy.tighten_once(tmp_path / "data", EVENING + timedelta(days=1))
    assert mode(there["log"]) == 0o640


def test_what_is_not_ours_in_the_folder_stays_as_it_is(tmp_path: Path) -> None:
    there = as_of_old(tmp_path / "home")
    letter, tune = tmp_path / "home" / "letter.txt", tmp_path / "home" / "songs" / "tune.mid"
    elsewhere = tmp_path / "elsewhere.toml"
    for path in (letter, tune, elsewhere):
        path.write_text("mine", encoding="utf-8")
        path.chmod(0o644)
    (tmp_path / "home" / "shapes.toml").symlink_to(elsewhere)
    privacy.tighten_once(tmp_path / "home", EVENING)
    assert [mode(path) for path in (letter, tune, elsewhere, there["songs"], there["folder"])] == [
        *(0o644, 0o644, 0o644),
        *(0o755, 0o755),
    ]
    assert mode(there["log"]) == mode(there["song"]) == 0o600


def test_where_nothing_is_open_nothing_is_written(tmp_path: Path) -> None:
    a_log(tmp_path / "data")
    privacy.tighten_once(tmp_path / "data", EVENING)
    assert [path.name for path in (tmp_path / "data").iterdir()] == [FILE_NAME]
