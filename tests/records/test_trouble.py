"""Everything that can be wrong with the file: one sentence each, and nothing harmed."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.records import opening, schema
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.upkeep import merging
from tests.records.samples import EVENING, a_session, a_take

NOBODY = 65534
on_posix = pytest.mark.skipif(os.name != "posix", reason="users and permissions are those of POSIX")


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that holds a log with one take, below a path that every user may enter."""
    base = Path(tempfile.mkdtemp(prefix="pedaltrainer-"))
    base.chmod(0o755)
    folder = base / "data"
    with Log.open(folder) as log:
        session = a_session()
        log.begin_session(session)
        log.append_take(a_take(session))
    yield folder
    base.chmod(0o755)
    folder.chmod(0o755)
    shutil.rmtree(base)


@contextmanager
def an_ordinary_user() -> Iterator[None]:
    """Permissions do not bind the superuser, so tests that run as root step down for a moment."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@contextmanager
def one_sentence(*words: str) -> Iterator[None]:
    with pytest.raises(InputError) as caught:
        yield
    message = str(caught.value)
    for word in words:
        assert word in message
    assert "\n" not in message
    assert message.endswith(".")
    # One sentence: no full stop is followed by the start of another.
    assert not re.search(r"\. [A-Z]", message)


@pytest.mark.parametrize("read_only", [False, True])
def test_a_newer_log_is_refused_unharmed(folder: Path, read_only: bool) -> None:
    with closing(sqlite3.connect(folder / FILE_NAME)) as newer:
        newer.execute("PRAGMA user_version = 99")
    before = contents(folder)
    with one_sentence("newer", "99", "update", FILE_NAME):
        Log.open(folder, read_only=read_only)
    assert contents(folder) == before


def test_a_newer_log_whose_program_was_killed_is_refused_unharmed(folder: Path, tmp_path: Path) -> None:
    # The newer version number is then in the write-ahead log only, not in the file's header.
    with closing(sqlite3.connect(folder / FILE_NAME)) as newer:
        newer.execute("PRAGMA user_version = 99")
        shutil.copytree(folder, tmp_path / "left")
    left = tmp_path / "left"
    (left / f"{FILE_NAME}-shm").unlink()
    before = contents(left)
    assert before[FILE_NAME][60:64] == schema.newest_version(schema.MIGRATIONS).to_bytes(4, "big")
    with one_sentence("newer", "99"):
        Log.open(left)
    after = contents(left)
    assert {name: after[name] for name in before} == before


@pytest.mark.parametrize(
    "content",
    [b"Dear diary, today I practised.\n", b"\x00" * 4096, os.urandom(8192), b"SQLite format 3\x00", b"S"],
    ids=["text", "zeros", "noise", "cut header", "one byte"],
)
@pytest.mark.parametrize("read_only", [False, True])
def test_a_file_that_is_no_database_is_refused_unharmed(
    tmp_path: Path, content: bytes, read_only: bool
) -> None:
    (tmp_path / FILE_NAME).write_bytes(content)
    with one_sentence("not a log", FILE_NAME, "--data"):
        Log.open(tmp_path, read_only=read_only)
    assert contents(tmp_path) == {FILE_NAME: content}


@pytest.mark.parametrize("application_id", [0, 1234])
@pytest.mark.parametrize("read_only", [False, True])
def test_another_programs_database_is_refused_unharmed(
    tmp_path: Path, application_id: int, read_only: bool
) -> None:
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as other:
        other.execute("CREATE TABLE recipes (name)")
        other.execute(f"PRAGMA application_id = {application_id}")
    before = contents(tmp_path)
    with one_sentence("not a log"):
        Log.open(tmp_path, read_only=read_only)
    assert contents(tmp_path) == before


@pytest.mark.parametrize("read_only", [False, True])
def test_a_journal_beside_another_programs_database_does_not_make_it_ours(
    tmp_path: Path, read_only: bool
) -> None:
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as other:
        other.execute("CREATE TABLE recipes (name)")
    (tmp_path / f"{FILE_NAME}-journal").touch()
    before = (tmp_path / FILE_NAME).read_bytes()
    with one_sentence("not a log"):
        Log.open(tmp_path, read_only=read_only)
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_an_empty_file_left_by_a_first_start_cut_short_becomes_the_log(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).touch()
    with one_sentence("no log", "practise once"):
        Log.open(tmp_path, read_only=True)
    with Log.open(tmp_path) as log:
        assert log.takes() == []
    with Log.open(tmp_path, read_only=True) as log:
        assert log.takes() == []


@pytest.fixture(params=["small", "large"])
def of_any_size(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A log looked at page by page, and one that is too large for that."""
    if request.param == "large":
        monkeypatch.setattr(opening, "WHOLE_CHECK_BYTES", 0)


@pytest.mark.usefixtures("of_any_size")
@pytest.mark.parametrize("read_only", [False, True])
def test_a_damaged_log_is_refused_unharmed(folder: Path, read_only: bool) -> None:
    path = folder / FILE_NAME
    with closing(sqlite3.connect(path)) as log:
        (page,) = log.execute("SELECT rootpage FROM sqlite_master WHERE name = 'take'").fetchone()
        (size,) = log.execute("PRAGMA page_size").fetchone()
    damaged = bytearray(path.read_bytes())
    damaged[(page - 1) * size : page * size] = b"\xa5" * size
    path.write_bytes(damaged)
    with one_sentence("damaged", FILE_NAME):
        Log.open(folder, read_only=read_only)
    assert contents(folder) == {FILE_NAME: bytes(damaged)}


@pytest.mark.usefixtures("of_any_size")
def test_a_log_cut_off_in_the_middle_is_refused_unharmed(folder: Path) -> None:
    path = folder / FILE_NAME
    cut = path.read_bytes()[:9000]
    path.write_bytes(cut)
    with one_sentence("damaged"):
        Log.open(folder)
    assert contents(folder) == {FILE_NAME: cut}


def test_damage_in_the_middle_of_a_large_log_is_told_when_it_is_met(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "WHOLE_CHECK_BYTES", 0)
    with Log.open(folder) as log:
        session = log.sessions()[0]
        for _ in range(60):
            log.append_take(a_take(session))
    path = folder / FILE_NAME
    damaged = bytearray(path.read_bytes())
    with closing(sqlite3.connect(path)) as file:
        # A page of rows that is neither the first nor the last: the second child of the root
        # (SQLite, "Database File Format", section 1.6: cell pointers from byte 12, each cell begins
        # with the number of a child).
        (root,) = file.execute("SELECT rootpage FROM sqlite_master WHERE name = 'take'").fetchone()
        (size,) = file.execute("PRAGMA page_size").fetchone()
    top = damaged[(root - 1) * size : root * size]
    assert top[0] == 5
    cell = int.from_bytes(top[14:16], "big")
    child = int.from_bytes(top[cell : cell + 4], "big")
    damaged[(child - 1) * size : child * size] = b"\xa5" * size
    path.write_bytes(damaged)
    with Log.open(folder, read_only=True) as log:
        assert len(log.takes(limit=2)) == 2
        with one_sentence("damaged", FILE_NAME):
            log.takes()


def test_a_log_locked_by_another_program_is_refused_unharmed(folder: Path) -> None:
    before = (folder / FILE_NAME).read_bytes()
    hold = (
        "import sqlite3, sys; c = sqlite3.connect(sys.argv[1], isolation_level=None);"
        "c.execute('PRAGMA locking_mode = EXCLUSIVE'); c.execute('BEGIN EXCLUSIVE');"
        "print('held', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", hold, str(folder / FILE_NAME)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline().strip() == b"held"
        with one_sentence("locked", "another program", FILE_NAME):
            Log.open(folder, busy_timeout_s=0.1)
        with one_sentence("locked"):
            Log.open(folder, read_only=True, busy_timeout_s=0.1)
        holder.communicate()
    assert (folder / FILE_NAME).read_bytes() == before
    with Log.open(folder) as log:
        assert len(log.takes()) == 1


def test_a_log_locked_during_a_session_takes_the_same_take_once_it_is_free(folder: Path) -> None:
    with Log.open(folder, busy_timeout_s=0.1) as log:
        take = a_take(log.sessions()[0])
        with closing(sqlite3.connect(folder / FILE_NAME, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with one_sentence("locked"):
                log.append_take(take)
        log.append_take(take)
        assert take in log.takes()


def test_a_log_that_is_opened_once_more_in_the_same_program_stays_locked_against_others(folder: Path) -> None:
    # SQLite, "How To Corrupt An SQLite Database File", section 2.2: a close beside SQLite drops its locks.
    alone = (
        "import sqlite3, sys; c = sqlite3.connect(sys.argv[1], timeout=0.1)\n"
        "try: print(c.execute('PRAGMA journal_mode = DELETE').fetchone()[0])\n"
        "except sqlite3.OperationalError as error: print(error)"
    )
    with Log.open(folder) as log:
        with Log.open(folder, read_only=True) as reader:
            assert len(reader.takes()) == 1
        words = [sys.executable, "-c", alone, str(folder / FILE_NAME)]
        done = subprocess.run(words, capture_output=True, text=True, check=True)
        assert done.stdout == "database is locked\n"
        log.append_take(a_take(log.sessions()[0]))
    with Log.open(folder) as log:
        assert len(log.takes()) == 2


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    place = tmp_path / "notes.txt"
    place.write_text("mine")
    with one_sentence("notes.txt", "is a file"):
        Log.open(place)
    with one_sentence("notes.txt"):
        Log.open(place / "deeper")
    assert place.read_text() == "mine"


def test_a_folder_name_that_no_disk_takes_is_refused(tmp_path: Path) -> None:
    with one_sentence("cannot be made or used", "--data"):
        Log.open(tmp_path / ("long" * 100))


def test_a_log_that_is_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).mkdir()
    with one_sentence("is a folder"):
        Log.open(tmp_path)


@pytest.mark.parametrize("how", [{"create": False}, {"read_only": True}])
def test_a_missing_log_is_not_made_unless_wanted(tmp_path: Path, how: dict[str, bool]) -> None:
    with one_sentence("no log", "practise once"):
        Log.open(tmp_path / "absent", **how)
    assert list(tmp_path.iterdir()) == []


@on_posix
def test_a_read_only_log_is_refused_for_writing_and_can_still_be_read(folder: Path) -> None:
    before = contents(folder)
    (folder / FILE_NAME).chmod(0o444)
    folder.chmod(0o555)
    with an_ordinary_user():
        with one_sentence(FILE_NAME, "--data"):
            Log.open(folder)
        with Log.open(folder, read_only=True) as log:
            assert len(log.takes()) == 1
    assert contents(folder) == before


@on_posix
def test_a_read_only_file_in_a_writable_folder_is_refused_for_writing(folder: Path) -> None:
    before = (folder / FILE_NAME).read_bytes()
    (folder / FILE_NAME).chmod(0o444)
    folder.chmod(0o777)
    with an_ordinary_user(), one_sentence("read-only", "writable"):
        Log.open(folder)
    assert (folder / FILE_NAME).read_bytes() == before


@on_posix
def test_a_writable_file_in_a_read_only_folder_is_refused_for_writing(folder: Path) -> None:
    before = contents(folder)
    (folder / FILE_NAME).chmod(0o666)
    folder.chmod(0o555)
    with an_ordinary_user(), one_sentence("read-only", "folder writable"):
        Log.open(folder)
    assert contents(folder) == before


@on_posix
@pytest.mark.parametrize("read_only", [False, True])
def test_a_log_that_may_not_be_read_is_refused(folder: Path, read_only: bool) -> None:
    (folder / FILE_NAME).chmod(0o000)
    with an_ordinary_user(), one_sentence("permission"):
        Log.open(folder, read_only=read_only)
    (folder / FILE_NAME).chmod(0o644)
    folder.chmod(0o700)
    if os.geteuid() == 0:
        with an_ordinary_user(), one_sentence("permission"):
            Log.open(folder, read_only=read_only)


@on_posix
def test_a_folder_that_may_not_be_made_is_refused(folder: Path) -> None:
    folder.parent.chmod(0o555)
    with an_ordinary_user(), one_sentence("cannot be made or used", "--data"):
        Log.open(folder.parent / "new" / "place")
    assert not (folder.parent / "new").exists()


def test_a_log_that_may_not_grow_says_so_and_keeps_what_it_has(folder: Path) -> None:
    with Log.open(folder) as log:
        pages = log._connection.execute("PRAGMA page_count").fetchone()[0]
        log._connection.execute(f"PRAGMA max_page_count = {pages}")
        session = log.sessions()[0]
        kept = log.takes()
        with one_sentence("full", "free some space"):
            log.append_inputs(session.id, [{"n": number, "pad": "x" * 500} for number in range(50)])
        assert log.inputs(session.id) == []
        log._connection.execute("PRAGMA max_page_count = 1000000")
        log.append_inputs(session.id, [{"n": 1}])
        assert log.inputs(session.id) == [{"n": 1}]
        assert log.takes() == kept


def test_a_disk_that_fills_up_loses_no_take_that_was_taken(small_disk: Path) -> None:
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"x" * 30_000)
    with Log.open(small_disk) as log:
        session = a_session()
        log.begin_session(session)
        taken = []
        with one_sentence(FILE_NAME, "space"):
            for _ in range(1000):
                take = a_take(session)
                log.append_take(take)
                taken.append(take)
        assert 0 < len(taken) < 1000
        assert log.takes(newest_first=False) == taken
        ballast.unlink()
        log.append_take(take)
    with Log.open(small_disk) as log:
        assert log.takes(newest_first=False) == [*taken, take]
        assert log._connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_a_merge_for_which_the_disk_has_no_room_leaves_the_log_as_it_was(
    small_disk: Path, tmp_path: Path
) -> None:
    for folder, takes in ((small_disk, 1), (tmp_path / "other", 600)):
        with Log.open(folder) as log:
            log.begin_session(session := a_session())
            for _ in range(takes):
                log.append_take(a_take(session))
    with Log.open(small_disk) as log:
        before = log.takes()
    with one_sentence(str(small_disk), "space"):
        merging.merge(small_disk, [tmp_path / "other"], EVENING)
    assert not list(small_disk.glob("*.part"))
    with Log.open(small_disk) as log:
        assert log.takes() == before
        assert log._connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


@pytest.mark.parametrize("killed", [False, True])
def test_a_log_on_a_full_disk_can_be_read_and_is_called_full_when_it_is_written(
    small_disk: Path, tmp_path: Path, killed: bool
) -> None:
    made = tmp_path / "made"
    with Log.open(made) as log:
        log.begin_session(session := a_session())
        log.append_take(take := a_take(session))
        for name in (FILE_NAME, f"{FILE_NAME}-wal") if killed else ():
            shutil.copy(made / name, small_disk)
    if not killed:
        shutil.copy(made / FILE_NAME, small_disk)
    with suppress(OSError):
        (small_disk / "ballast").write_bytes(b"x" * 256 * 1024)
    with Log.open(small_disk, read_only=True) as log:
        assert log.takes() == [take]
    with one_sentence("is full", "free some space"), Log.open(small_disk) as log:
        log.append_inputs(session.id, [{"pad": "x" * 500}] * 100)
    (small_disk / "ballast").unlink()
    with Log.open(small_disk) as log:
        assert log.takes() == [take]


def test_a_full_disk_is_no_place_for_a_new_log(small_disk: Path) -> None:
    (small_disk / "ballast").write_bytes(b"x" * 256 * 1024)
    with one_sentence("space"):
        Log.open(small_disk)


def test_a_python_with_too_old_an_sqlite_is_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(schema, "OLDEST_SQLITE", (99, 0, 0))
    with one_sentence(sqlite3.sqlite_version, "99.0.0", "newer Python"):
        Log.open(tmp_path)
    assert list(tmp_path.iterdir()) == []
