"""A log that anybody may have made is believed nothing: looked at, refused in one sentence, left as it is."""

from __future__ import annotations

import os
import signal
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.records import connecting
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.upkeep import checking, merging, repairing
from tests.records.samples import EVENING, a_session, a_take

ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS id FROM n"


@pytest.fixture
def foreign(tmp_path: Path) -> Path:
    """A log with a take, of which the tests make what anybody could."""
    with Log.open(tmp_path / "in") as log:
        log.begin_session(session := a_session())
        log.append_take(a_take(session))
    return tmp_path / "in" / FILE_NAME


def changed(*statements: str) -> Callable[[Path], None]:
    """What somebody with another program could do to the file."""

    def change(path: Path) -> None:
        with closing(sqlite3.connect(path, isolation_level=None)) as file:
            for statement in statements:
                file.execute(statement)

    return change


def without_guards(*statements: str) -> Callable[[Path], None]:
    """The same to rows, with the guards and rules as they were afterwards."""

    def change(path: Path) -> None:
        with closing(sqlite3.connect(path, isolation_level=None)) as file:
            triggers = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
            for name, _ in triggers:
                file.execute(f"DROP TRIGGER {name}")
            file.execute("PRAGMA ignore_check_constraints = ON")
            for statement in statements:
                file.execute(statement)
            for _, sql in triggers:
                file.execute(sql)

    return change


STRANGE = {
    "an endless view in the place of a table": changed("DROP TABLE take", f"CREATE VIEW take AS {ENDLESS}"),
    "an endless view besides": changed(f"CREATE VIEW takes AS {ENDLESS}"),
    "a column more": changed("ALTER TABLE take ADD COLUMN more TEXT"),
    "a column less": changed("DROP TABLE cancellation", "CREATE TABLE cancellation (id, take_id)"),
    "a table less": changed("DROP TABLE cancellation"),
    "a table that is called as SQL is": changed('CREATE TABLE "take; DROP TABLE take; --" (x)'),
    "a trigger that writes": changed(
        "CREATE TRIGGER more AFTER INSERT ON take BEGIN "
        "INSERT INTO session VALUES ('x', 'x', 'x', 'x', 1, 'x'); END"
    ),
    "a trigger less": changed("DROP TRIGGER take_keeps_its_rows"),
    "an index on what a function says": changed("CREATE INDEX more ON take (hex(zeroblob(1000000)))"),
    "a negative version": changed("PRAGMA user_version = -1"),
    "a version of tables it has not": changed("PRAGMA user_version = 2"),
}


@pytest.mark.parametrize("strange", STRANGE)
def test_a_log_whose_tables_are_not_ours_is_refused_and_nothing_of_it_is_run(
    foreign: Path, tmp_path: Path, strange: str
) -> None:
    STRANGE[strange](foreign)
    before = foreign.read_bytes()
    with pytest.raises(InputError, match=r"log"):
        merging.merge(tmp_path / "own", [foreign], EVENING)
    with pytest.raises(InputError, match=r"log"):
        Desk(tmp_path, "Robin", log_at=foreign).log()
    found = checking.check(foreign, datetime.now(UTC), lambda *_: None)
    assert found.faults or "is there besides" in found.remarks[0]
    assert foreign.read_bytes() == before
    assert not (tmp_path / "own").exists()


def test_what_a_player_keeps_beside_the_tables_of_the_own_log_is_no_hindrance(foreign: Path) -> None:
    changed("CREATE VIEW mine AS SELECT * FROM take", "CREATE TABLE notes (x)", "ANALYZE")(foreign)
    with Log.open(foreign.parent) as log:
        log.append_take(a_take(log.sessions()[0]))
        assert log.count_takes() == 2
    found = checking.check(foreign, datetime.now(UTC), lambda *_: None)
    assert found.faults == ()
    assert "besides" in found.remarks[0]


def test_a_trigger_in_the_own_log_that_is_not_ours_is_refused(foreign: Path) -> None:
    changed("CREATE TRIGGER more AFTER INSERT ON take BEGIN SELECT 1; END")(foreign)
    with pytest.raises(InputError, match=r"trigger more .*--repair"):
        Log.open(foreign.parent)


ROWS = {
    "a day that there is not": "UPDATE take SET started_utc = '2026-02-31T10:00:00.000Z'",
    "a month that there is not": "UPDATE session SET started_utc = '2026-19-01T10:00:00.000Z'",
    "a day that has none before it": "UPDATE take SET started_utc = '0001-01-01T00:00:00.000Z'",
    "a day that has none after it": "UPDATE session SET started_utc = '9999-12-31T23:59:59.999Z'",
    "a take that would never end": "UPDATE take SET tempo_bpm = 5e-324",
    "landings without an end": "UPDATE take SET landings = 4611686018427387904",
    "an infinite tempo": "UPDATE take SET tempo_bpm = 9e999",
    "chords that are numbers": "UPDATE take SET chords = '[1, 2]'",
    "no chords": "UPDATE take SET chords = '[]'",
    "chords that are no JSON": "UPDATE take SET chords = '[\"Am'",
    "text that is not UTF-8": "UPDATE take SET drill = CAST(x'6368616e676520c3' AS TEXT)",
    "a take without a session": "DELETE FROM session",
    "a first miss beyond the last landing": "UPDATE take SET first_miss = 99",
}


@pytest.mark.parametrize("row", ROWS)
def test_a_row_that_breaks_the_rules_is_not_brought_in_and_its_log_is_named(
    foreign: Path, tmp_path: Path, row: str
) -> None:
    without_guards(ROWS[row])(foreign)
    with Log.open(tmp_path / "own") as own:
        own.begin_session(a_session(player="Kim"))
    before = (tmp_path / "own" / FILE_NAME).read_bytes()
    with pytest.raises(InputError, match=r"in/log\.sqlite3 .*--repair"):
        merging.merge(tmp_path / "own", [foreign], EVENING)
    assert (tmp_path / "own" / FILE_NAME).read_bytes() == before
    assert checking.check(foreign, datetime.now(UTC), lambda *_: None).faults
    assert repairing.repair(foreign, tmp_path / "new.sqlite3").path.exists() or row


@pytest.mark.parametrize(
    "row", ["a day that there is not", "chords that are no JSON", "text that is not UTF-8"]
)
def test_bytes_changed_in_the_own_log_are_told_with_their_mend(foreign: Path, row: str) -> None:
    without_guards(ROWS[row])(foreign)
    for ask in (
        lambda log: log.takes(),
        lambda log: log.last_answers("Robin", "change Am E", 9) or log.drills(),
        lambda log: log.answers_since("Robin"),
    ):
        with (
            pytest.raises(InputError, match=r"damaged.*log check FILE --repair NEW"),
            Log.open(foreign.parent, read_only=True) as log,
        ):
            ask(log)


def test_a_search_without_an_end_is_broken_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connecting, "ALLOWED_S", 0.05)
    (tmp_path / "x").touch()
    with closing(connecting.connect(tmp_path / "x")) as log, pytest.raises(sqlite3.OperationalError):
        log.execute(f"SELECT count(*) FROM ({ENDLESS})").fetchone()
    assert connecting.ran_out


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has it")
@pytest.mark.usefixtures("as_at_a_terminal")
def test_a_long_search_can_be_interrupted(foreign: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connecting, "ALLOWED_S", 60)
    with Log.open(foreign.parent, read_only=True) as log:
        timer = threading.Timer(0.2, os.kill, (os.getpid(), signal.SIGINT))
        timer.start()
        with pytest.raises(KeyboardInterrupt):
            log._asked(f"SELECT count(*) FROM ({ENDLESS})")
        timer.join()
        assert len(log.takes()) == 1, "the log can be asked again"


def test_pages_that_lead_to_one_another_are_found_out(foreign: Path, tmp_path: Path) -> None:
    # A tree of which every branch is the same page again: from the root down there is no end of rows
    # (SQLite, "Database File Format", section 1.6: an interior page of a table begins with 5).
    with Log.open(foreign.parent) as log:
        session = log.sessions()[0]
        log.add_missing([session], [a_take(session) for _ in range(2000)])
    with closing(sqlite3.connect(foreign)) as file:
        (root,) = file.execute("SELECT rootpage FROM sqlite_master WHERE name = 'take'").fetchone()
        (size,) = file.execute("PRAGMA page_size").fetchone()
    content = bytearray(foreign.read_bytes())
    top = content[(root - 1) * size : root * size]
    assert top[0] == 5
    cells = int.from_bytes(top[3:5], "big")
    first = int.from_bytes(top[12:14], "big")
    child = top[first : first + 4]
    for cell in range(cells):
        at = int.from_bytes(top[12 + 2 * cell : 14 + 2 * cell], "big")
        top[at : at + 4] = child
    content[(root - 1) * size : root * size] = top
    foreign.write_bytes(content)
    with pytest.raises(InputError, match="--repair"):
        merging.merge(tmp_path / "own", [foreign], EVENING)
    assert checking.check(foreign, datetime.now(UTC), lambda *_: None).faults
    assert repairing.repair(foreign, tmp_path / "new.sqlite3").added["take"] > 100


# --- no file at all -------------------------------------------------------------------


def a_pipe(path: Path) -> None:
    os.mkfifo(path)


def a_link_to_itself(path: Path) -> None:
    path.symlink_to(path)


def a_device(path: Path) -> None:
    path.symlink_to("/dev/zero")


@pytest.mark.skipif(os.name != "posix", reason="pipes and devices are those of POSIX")
@pytest.mark.parametrize("make", [a_pipe, a_link_to_itself, a_device])
@pytest.mark.parametrize("name", [FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-journal", f"{FILE_NAME}-shm"])
@pytest.mark.parametrize("read_only", [False, True])
def test_what_is_no_file_in_the_place_of_one_is_refused(
    foreign: Path, make: Callable[[Path], None], name: str, read_only: bool
) -> None:
    place = foreign.with_name(name)
    place.unlink(missing_ok=True)
    make(place)
    with pytest.raises(InputError):
        Log.open(foreign.parent, read_only=read_only)
    own = foreign.parent.parent / "own"
    if name == FILE_NAME:
        with pytest.raises(InputError, match="no log"):
            merging.merge(own, [foreign], EVENING)
    else:
        # Only files belong to a log; the log itself can be read.
        assert merging.merge(own, [foreign], EVENING).merged[0].added["take"] == 1
