"""Bringing an older file forward: every row kept, or the file as it was."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, schema
from pedaltrainer.records.log import FILE_NAME, Log
from tests.records.samples import a_session, a_take

NOW = schema.newest_version(schema.MIGRATIONS)
NEXT: dict[int, Sequence[str]] = {
    **schema.MIGRATIONS,
    NOW + 1: ("ALTER TABLE session ADD COLUMN room TEXT NOT NULL DEFAULT 'kitchen'",),
    NOW + 2: ("CREATE TABLE tag (take_id TEXT NOT NULL REFERENCES take (id), word TEXT NOT NULL) STRICT",),
}


@pytest.fixture
def older(tmp_path: Path) -> Path:
    """A folder with a log of today's version and one take."""
    with Log.open(tmp_path) as log:
        session = a_session()
        log.begin_session(session)
        log.append_take(a_take(session))
    return tmp_path


def test_an_older_log_is_brought_forward_step_by_step_with_every_row(
    older: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Log.open(older) as log:
        kept = log.takes()
    monkeypatch.setattr(schema, "MIGRATIONS", NEXT)
    with Log.open(older) as log:
        assert log.takes() == kept
        log.append_take(a_take(log.sessions()[0]))
    with closing(sqlite3.connect(older / FILE_NAME)) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (NOW + 2,)
        assert file.execute("SELECT room FROM session").fetchall() == [("kitchen",)]
        assert file.execute("SELECT count(*) FROM tag").fetchone() == (0,)
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_file_brought_forward_is_refused_by_the_program_it_came_from(
    older: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as newer_program:
        newer_program.setattr(schema, "MIGRATIONS", NEXT)
        Log.open(older).close()
    with pytest.raises(InputError, match=rf"log version {NOW + 2}, this one knows {NOW}"):
        Log.open(older)


def test_a_migration_that_fails_half_way_leaves_the_file_as_it_was(
    older: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = (older / FILE_NAME).read_bytes()
    broken = {**NEXT, NOW + 1: ("CREATE TABLE tag (word)", "CREATE TABLE take (again)")}
    monkeypatch.setattr(schema, "MIGRATIONS", broken)
    with pytest.raises(sqlite3.OperationalError, match="already exists"):
        Log.open(older)
    assert (older / FILE_NAME).read_bytes() == before
    monkeypatch.setattr(schema, "MIGRATIONS", NEXT)
    with Log.open(older) as log:
        assert len(log.takes()) == 1


def test_a_log_too_old_to_be_read_as_it_is_is_refused_unharmed(
    older: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = (older / FILE_NAME).read_bytes()
    monkeypatch.setattr(schema, "MIGRATIONS", NEXT)
    monkeypatch.setattr(schema, "OLDEST_READABLE", NOW + 1)
    with pytest.raises(InputError, match="older version"):
        Log.open(older, read_only=True)
    assert (older / FILE_NAME).read_bytes() == before


@pytest.fixture
def first_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a log as the first program wrote it, with one take."""
    with monkeypatch.context() as first_program:
        first_program.setattr(schema, "MIGRATIONS", {1: schema.MIGRATIONS[1]})
        with Log.open(tmp_path) as log:
            session = a_session()
            log.begin_session(session)
        columns, values = cells.TAKE_COLUMNS[:-1], cells.take_values(a_take(session))[:-1]
        assert cells.TAKE_COLUMNS[-1] == "misses"
        with closing(sqlite3.connect(tmp_path / FILE_NAME)) as file, file:
            file.execute(cells.inserting("take", columns), values)
    return tmp_path


def test_a_log_of_the_first_version_answers_every_question_and_is_not_changed_by_it(
    first_version: Path,
) -> None:
    before = (first_version / FILE_NAME).read_bytes()
    with Log.open(first_version, read_only=True) as log:
        (take,) = log.takes()
        assert log.players() == [take.player]
        assert log.drills(take.player) == [take.drill]
        assert log.sessions(take.player, limit=1) == log.sessions()
        assert [answer.started_utc for answer in log.answers_since(take.player)] == [take.started_utc]
        assert len(log.last_answers(take.player, take.drill, 40)) == 1
        assert log.before_the_last_days(take.player, 90) is None
        assert len(log.played_by_quarter(take.player)) == 1
    assert (first_version / FILE_NAME).read_bytes() == before


def test_a_log_of_the_first_version_is_brought_forward_at_the_first_write(first_version: Path) -> None:
    with Log.open(first_version, read_only=True) as log:
        kept = log.takes()
    with Log.open(first_version) as log:
        assert log.takes() == kept
    with closing(sqlite3.connect(first_version / FILE_NAME)) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (NOW,)
        indexes = {name for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'index'")}
        assert {"take_by_player_start", "session_by_player_start"} <= indexes
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_opening_a_log_of_today_changes_nothing(older: Path) -> None:
    before = (older / FILE_NAME).read_bytes()
    Log.open(older).close()
    assert (older / FILE_NAME).read_bytes() == before


def test_the_versions_run_from_one_without_a_gap() -> None:
    assert sorted(schema.MIGRATIONS) == list(range(1, schema.newest_version(schema.MIGRATIONS) + 1))
