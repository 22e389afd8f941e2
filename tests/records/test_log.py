from __future__ import annotations

import sqlite3
import sys
import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.records.log import FILE_NAME, Log, default_folder
from pedaltrainer.records.rows import SessionRow, TakeRow, new_id, utc_text
from pedaltrainer.records.schema import APPLICATION_ID
from tests.records.samples import EVENING, a_session, a_take, json_objects, sessions, takes

LATER = "2026-03-01T18:06:00.000Z"


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path) as log:
        yield log


@pytest.fixture
def session(log: Log) -> SessionRow:
    session = a_session()
    log.begin_session(session)
    return session


def after(minutes: float) -> str:
    return utc_text(EVENING + timedelta(minutes=minutes))


def test_every_field_of_a_take_comes_back(log: Log, session: SessionRow) -> None:
    take = a_take(session)
    log.append_take(take)
    assert log.takes() == [take]


def test_every_field_of_a_session_comes_back(log: Log, session: SessionRow) -> None:
    assert log.sessions() == [session]


@given(data=st.data())
def test_any_session_take_and_input_comes_back_as_it_went_in(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("log")
    session = data.draw(sessions)
    taken = data.draw(st.lists(takes(session.id), max_size=4))
    inputs = data.draw(st.lists(json_objects, max_size=4))
    with Log.open(folder) as log:
        log.begin_session(session)
        for take in taken:
            log.append_take(take)
        log.append_inputs(session.id, inputs)
    with Log.open(folder, read_only=True) as log:
        assert log.sessions() == [session]
        assert sorted(log.takes(), key=lambda take: take.id) == taken
        assert log.inputs(session.id) == inputs


def test_takes_come_newest_first_and_the_other_way_round_when_asked(log: Log, session: SessionRow) -> None:
    taken = [a_take(session, started_utc=after(minutes)) for minutes in (2, 0, 1)]
    for take in taken:
        log.append_take(take)
    oldest_first = [taken[1], taken[2], taken[0]]
    assert log.takes() == oldest_first[::-1]
    assert log.takes(newest_first=False) == oldest_first
    assert log.takes(limit=2) == oldest_first[:0:-1]
    assert log.takes(limit=0) == []


def test_takes_begun_in_the_same_millisecond_keep_the_order_they_were_made_in(
    log: Log, session: SessionRow
) -> None:
    taken = [a_take(session) for _ in range(20)]
    for take in taken:
        log.append_take(take)
    assert log.takes(newest_first=False) == taken


def test_takes_can_be_asked_for_by_player_drill_and_session(log: Log, session: SessionRow) -> None:
    other = a_session(player="Kim", started_utc=after(5))
    log.begin_session(other)
    mine, landed, theirs = a_take(session), a_take(session, drill="re-land F", chords=("F",)), a_take(other)
    for take in (mine, landed, theirs):
        log.append_take(take)
    assert set(log.takes(player="Robin")) == {mine, landed}
    assert log.takes(player="Robin", drill="re-land F") == [landed]
    assert log.takes(session_id=other.id) == [theirs]
    assert log.takes(player="nobody") == []
    assert log.sessions(player="Kim") == [other]
    assert log.players() == ["Kim", "Robin"]


def test_an_undone_take_leaves_the_list_but_not_the_log(log: Log, session: SessionRow) -> None:
    kept, undone = a_take(session), a_take(session)
    log.append_take(kept)
    log.append_take(undone)
    assert log.cancel_take(undone.id, LATER, "undo") is True
    assert log.takes() == [kept]
    marked = {take.id: take.cancelled for take in log.takes(include_cancelled=True)}
    assert marked == {kept.id: False, undone.id: True}


def test_undoing_a_take_twice_appends_one_row(log: Log, session: SessionRow) -> None:
    take = a_take(session)
    log.append_take(take)
    assert log.cancel_take(take.id, LATER, "undo") is True
    assert log.cancel_take(take.id, LATER, "undo") is False
    assert _rows(log.path, "SELECT take_id, at_utc, reason FROM cancellation") == [(take.id, LATER, "undo")]


def test_undoing_a_take_that_was_never_made_is_refused(log: Log, session: SessionRow) -> None:
    with pytest.raises(ValueError, match="refused"):
        log.cancel_take(new_id(), LATER, "undo")


def test_a_row_is_taken_once_and_only_for_a_session_that_is_there(log: Log, session: SessionRow) -> None:
    take = a_take(session)
    log.append_take(take)
    with pytest.raises(ValueError, match="already holds"):
        log.append_take(take)
    with pytest.raises(ValueError, match="already holds"):
        log.begin_session(session)
    with pytest.raises(ValueError, match="FOREIGN KEY"):
        log.append_take(a_take(a_session()))
    with pytest.raises(ValueError, match="FOREIGN KEY"):
        log.append_inputs(new_id(), [{"control": "pass"}])
    with pytest.raises(ValueError, match="cancel_take"):
        log.append_take(a_take(session, cancelled=True))
    assert log.takes(include_cancelled=True) == [take]


def test_inputs_are_numbered_on_from_those_already_kept(log: Log, session: SessionRow) -> None:
    log.append_inputs(session.id, [{"t_s": 0.1}, {"t_s": 0.2}])
    log.append_inputs(session.id, [])
    log.append_inputs(session.id, [{"t_s": 0.15, "control": "pass"}])
    assert log.inputs(session.id) == [{"t_s": 0.1}, {"t_s": 0.2}, {"t_s": 0.15, "control": "pass"}]
    assert _rows(log.path, "SELECT seq FROM input ORDER BY seq") == [(1,), (2,), (3,)]


def test_inputs_that_json_would_change_are_refused_and_none_of_them_kept(
    log: Log, session: SessionRow
) -> None:
    with pytest.raises(ValueError, match="an input"):
        log.append_inputs(session.id, [{"t_s": 0.1}, {"chords": ("Am", "E")}])
    assert log.inputs(session.id) == []


@pytest.mark.parametrize("table", ["take", "session", "input", "cancellation"])
@pytest.mark.parametrize("statement", ["UPDATE {0} SET {1} = {1}", "DELETE FROM {0}", "REPLACE INTO {0} {2}"])
def test_the_file_itself_refuses_to_change_or_lose_a_row(
    log: Log, session: SessionRow, table: str, statement: str
) -> None:
    take = a_take(session)
    log.append_take(take)
    log.cancel_take(take.id, LATER, "undo")
    log.append_inputs(session.id, [{"t_s": 0.1}])
    before = _rows(log.path, f"SELECT * FROM {table}")
    column = "session_id" if table == "input" else "id"
    # A plain connection, without any of the settings the program makes on its own.
    with pytest.raises(sqlite3.IntegrityError, match=r"append-only|already holds"):
        _rows(log.path, statement.format(table, column, f"SELECT * FROM {table}"))
    assert len(before) == 1
    assert _rows(log.path, f"SELECT * FROM {table}") == before


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("outcome", "maybe"),
        ("tempo_bpm", "fast"),
        ("landings", 0),
        ("first_miss", 9),
        ("misses", 3),
        ("misses", 0),
        ("started_utc", "yesterday"),
        ("chords", "Am E"),
        ("player", None),
    ],
)
def test_the_file_itself_refuses_a_take_that_cannot_be_true(
    log: Log, session: SessionRow, column: str, value: Any
) -> None:
    log.append_take(a_take(session))
    columns = [name for (name,) in _rows(log.path, "SELECT name FROM pragma_table_info('take')")]
    chosen = ", ".join({"id": "'another'", column: "?"}.get(name, name) for name in columns)
    with pytest.raises(sqlite3.IntegrityError, match=r"CHECK|cannot store|NOT NULL"):
        _rows(log.path, f"INSERT INTO take SELECT {chosen} FROM take", value)


def test_the_log_is_kept_so_that_a_take_outlives_a_power_cut(log: Log) -> None:
    # SQLite documentation, "PRAGMA synchronous": in WAL mode FULL (2) syncs after each commit.
    pragmas = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "application_id": APPLICATION_ID}
    found = {name: log._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in pragmas}
    assert found == pragmas


def test_two_programs_append_to_one_log_by_turns(tmp_path: Path) -> None:
    with Log.open(tmp_path) as one, Log.open(tmp_path) as two:
        session = a_session()
        one.begin_session(session)
        taken = [a_take(session) for _ in range(10)]
        for log, take in zip([one, two] * 5, taken, strict=True):
            log.append_take(take)
        assert one.takes(newest_first=False) == two.takes(newest_first=False) == taken


def test_several_threads_append_through_one_log(log: Log, session: SessionRow) -> None:
    def append() -> None:
        for _ in range(10):
            log.append_take(a_take(session))
            log.append_inputs(session.id, [{"n": 1}])

    threads = [threading.Thread(target=append) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(log.takes()) == len(log.inputs(session.id)) == 40


def test_two_logs_join_by_union_because_no_id_is_ever_made_twice(tmp_path: Path) -> None:
    kept: list[TakeRow] = []
    for name in ("stage", "kitchen"):
        with Log.open(tmp_path / name) as log:
            session = a_session()
            log.begin_session(session)
            for _ in range(50):
                log.append_take(a_take(session))
            kept += log.takes()
    assert len({take.id for take in kept}) == 100
    assert len({take.session_id for take in kept}) == 2
    both = sqlite3.connect(tmp_path / "stage" / FILE_NAME)
    both.execute("ATTACH ? AS other", (str(tmp_path / "kitchen" / FILE_NAME),))
    with both:
        both.execute("INSERT INTO main.session SELECT * FROM other.session")
        both.execute("INSERT INTO main.take SELECT * FROM other.take")
    both.close()
    with Log.open(tmp_path / "stage", read_only=True) as log:
        assert {take.id for take in log.takes()} == {take.id for take in kept}


def test_a_log_opened_to_read_cannot_be_written(tmp_path: Path) -> None:
    session = a_session()
    with Log.open(tmp_path) as log:
        log.begin_session(session)
    with Log.open(tmp_path, read_only=True) as log:
        with pytest.raises(InputError, match="read-only"):
            log.append_take(a_take(session))
        assert log.sessions() == [session]


def test_a_reader_sees_takes_while_a_session_is_being_played(log: Log, session: SessionRow) -> None:
    with Log.open(log.path.parent, read_only=True) as reader:
        take = a_take(session)
        log.append_take(take)
        assert reader.takes() == [take]


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="XDG is the rule of other systems")
def test_the_log_lives_where_the_desktop_says_a_users_data_goes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # XDG Base Directory Specification 0.8: $XDG_DATA_HOME, and $HOME/.local/share without it.
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "pedaltrainer"
    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert default_folder() == tmp_path / ".local" / "share" / "pedaltrainer"
    assert list(tmp_path.iterdir()) == []


def test_closing_twice_does_no_harm(tmp_path: Path) -> None:
    log = Log.open(tmp_path)
    log.close()
    log.close()
    assert sorted(path.name for path in tmp_path.iterdir()) == [FILE_NAME]


def _rows(path: Path, statement: str, *values: Any) -> list[tuple[Any, ...]]:
    connection = sqlite3.connect(path)
    try:
        with connection:
            return connection.execute(statement, values).fetchall()
    finally:
        connection.close()
