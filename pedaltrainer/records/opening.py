"""Opening the log's file: looked at before it is touched, refused unharmed when it cannot be used.

`find` says whether there is a log, `open_to_write` and `open_to_read` give an
SQLite connection in autocommit mode that any thread may use. All raise
InputError for what the player can mend, and sqlite3.Error for what SQLite
finds on the way; `trouble.said_in_words` turns the one into the other.
"""

from __future__ import annotations

import sqlite3
import struct
import threading
import time
from collections import Counter
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import schema, trouble
from pedaltrainer.records.trouble import primary_code

BUSY_TIMEOUT_S = 2.0
WHOLE_CHECK_BYTES = 4 * 2**20
"""A log up to this size (some ten thousand takes) is checked page by page at every start, in 20 ms. Of a
larger one only the ends are, where the next take goes; every other page tells when it is read."""

_open_here: Counter[tuple[int, int]] = Counter()
_open_here_lock = threading.Lock()


def find(folder: Path, path: Path) -> bool:
    """Whether the log is there. Raises InputError when something else is in its place."""
    try:
        if folder.exists() and not folder.is_dir():
            raise InputError(trouble.FOLDER_IS_A_FILE.format(path=folder))
        if path.is_dir():
            raise InputError(trouble.LOG_IS_A_FOLDER.format(path=path))
        return path.exists()
    except PermissionError as error:
        raise InputError(trouble.NO_PERMISSION.format(path=path)) from error
    except OSError as error:
        raise InputError(_no_folder(folder, error)) from error


def make_folder(folder: Path) -> None:
    """Make the folder and those above it. Raises InputError with the system's reason."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(_no_folder(folder, error)) from error


def _no_folder(folder: Path, error: OSError) -> str:
    return trouble.NO_FOLDER.format(path=folder, reason=error.strerror or error)


def hold(path: Path) -> tuple[int, int]:
    """Remember that this program has the file open; returns what `let_go` needs."""
    status = path.stat()
    file = status.st_dev, status.st_ino
    with _open_here_lock:
        _open_here[file] += 1
    return file


def let_go(file: tuple[int, int] | None) -> None:
    """Forget one opening; None is nothing."""
    if file is not None:
        with _open_here_lock:
            _open_here[file] -= 1


def is_open_here(path: Path) -> bool:
    """Whether this program has the file open."""
    status = path.stat()
    with _open_here_lock:
        return _open_here[status.st_dev, status.st_ino] > 0


def refuse_a_foreign_header(path: Path) -> None:
    """Look at the first 100 bytes before SQLite does, because even opening a file can change it.

    A file that this program has open was looked at then. To open and close it beside SQLite would drop the
    locks that SQLite holds on it, for another program to write over what it still needs (SQLite, "How To
    Corrupt An SQLite Database File", section 2.2).
    """
    if is_open_here(path):
        return
    refuse_by_header(path)
    if path.stat().st_size and has_unfolded_changes(path) and not Path(f"{path}-journal").exists():
        # A newer program that was killed may have its version in the
        # write-ahead log only. Closing a read-only connection folds nothing in.
        with trouble.said_in_words(path):
            connection = _connect(path, BUSY_TIMEOUT_S, "mode=ro")
            try:
                version = schema.version_of(connection)
            finally:
                connection.close()
        _refuse_newer(path, version)


def refuse_by_header(path: Path) -> None:
    """Raise InputError for a file whose header is not that of a log this program knows; it is only read.

    The user version is the big-endian integer at byte 60, the application id
    the one at byte 68 (SQLite, "Database File Format", section 1.3).
    """
    try:
        with path.open("rb") as file:
            header = file.read(100)
    except OSError as error:
        raise InputError(trouble.NO_PERMISSION.format(path=path)) from error
    if not header or Path(f"{path}-journal").exists():
        # Empty is what a first start cut short leaves; so is a journal, which
        # SQLite rolls back before the version is looked at again.
        return
    if len(header) < 100 or not header.startswith(b"SQLite format 3\0"):
        raise InputError(trouble.NOT_OURS.format(path=path))
    (version,) = struct.unpack_from(">i", header, 60)
    (application_id,) = struct.unpack_from(">i", header, 68)
    if application_id != schema.APPLICATION_ID:
        raise InputError(trouble.NOT_OURS.format(path=path))
    _refuse_newer(path, version)


def has_unfolded_changes(path: Path) -> bool:
    """Whether the write-ahead log holds anything; another program may remove it at any moment."""
    try:
        return Path(f"{path}-wal").stat().st_size > 0
    except FileNotFoundError:
        return False


def _refuse_newer(path: Path, version: int) -> None:
    known = schema.newest_version(schema.MIGRATIONS)
    if version > known:
        raise InputError(trouble.NEWER.format(path=path, found=version, known=known))


def _connect(path: Path, busy_timeout_s: float, how: str) -> sqlite3.Connection:
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?{how}",
        uri=True,
        timeout=busy_timeout_s,
        isolation_level=None,
        check_same_thread=False,
    )


def _accepted_version(path: Path, connection: sqlite3.Connection) -> int:
    """The version of an open file that is ours and not newer; 0 for one without tables."""
    # One transaction, one state of the file: another program may be making the log right now.
    connection.execute("BEGIN")
    version = schema.version_of(connection)
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    has_tables = connection.execute("SELECT 1 FROM sqlite_master").fetchone() is not None
    connection.execute("COMMIT")
    if has_tables and application_id != schema.APPLICATION_ID:
        raise InputError(trouble.NOT_OURS.format(path=path))
    _refuse_newer(path, version)
    return version


def open_to_write(path: Path, busy_timeout_s: float) -> sqlite3.Connection:
    """The file open for appending, made if it is not there, brought to the newest version, in WAL mode."""
    connection = _connect(path, busy_timeout_s, "mode=rwc")
    try:
        _accepted_version(path, connection)
        _refuse_damage(path, connection)
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        # Apple's fsync leaves data in the drive's cache; elsewhere this does nothing.
        connection.execute("PRAGMA fullfsync = ON")
        # The tables are made before the switch to WAL, so that a first start
        # cut short leaves either an empty file or a whole one.
        schema.migrate(connection, schema.MIGRATIONS)
        _switch_to_wal(connection, busy_timeout_s)
    except BaseException:
        connection.close()
        raise
    return connection


def _switch_to_wal(connection: sqlite3.Connection, busy_timeout_s: float) -> None:
    """SQLite does not wait its turn for this one statement, so that is done here."""
    deadline_s = time.monotonic() + busy_timeout_s
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            busy = primary_code(error) == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > deadline_s:
                raise
            time.sleep(0.005)


def open_to_read(path: Path, busy_timeout_s: float, only_look: bool = False) -> sqlite3.Connection:
    """Read-only, also in a folder where SQLite may not make the files that WAL needs beside the log.

    only_look: make no such files, not even for a moment; what they hold is then not seen.
    """
    # SQLite tidies the files beside the log away only when it may write, so a
    # reader asks for that and then promises not to change anything.
    immutable = "mode=ro&immutable=1"
    ways = [immutable] if only_look else ["mode=rw"]
    if not only_look and not has_unfolded_changes(path):
        ways.append(immutable)
    for way in ways:
        connection = _connect(path, busy_timeout_s, way)
        try:
            version = _accepted_version(path, connection)
            known = schema.newest_version(schema.MIGRATIONS)
            if version == 0:
                raise InputError(trouble.MISSING.format(path=path.parent))
            if version < schema.OLDEST_READABLE:
                raise InputError(trouble.OLDER.format(path=path, found=version, known=known))
            _refuse_damage(path, connection)
            connection.execute("PRAGMA query_only = ON")
            return connection
        except sqlite3.OperationalError as error:
            connection.close()
            no_room_beside = primary_code(error) in (
                sqlite3.SQLITE_CANTOPEN,
                sqlite3.SQLITE_READONLY,
            )
            if way == ways[-1] or not no_room_beside:
                raise
        except BaseException:
            connection.close()
            raise
    raise AssertionError("one of the ways returns or raises")


def _refuse_damage(path: Path, connection: sqlite3.Connection) -> None:
    """Check the small tables; the inputs, which are large, tell when they are read."""
    tables = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    looks_whole = _is_whole if path.stat().st_size <= WHOLE_CHECK_BYTES else _has_its_ends
    if is_cut_off(path, connection) or not all(
        looks_whole(connection, table) for table in tables if table != "input"
    ):
        raise InputError(trouble.DAMAGED.format(path=path))


def _is_whole(connection: sqlite3.Connection, table: str) -> bool:
    return bool(connection.execute(f"PRAGMA quick_check({table})").fetchone()[0] == "ok")


def _has_its_ends(connection: sqlite3.Connection, table: str) -> bool:
    """Whether the first and the last row can be read; SQLite says when they cannot."""
    for way in ("ASC", "DESC"):
        connection.execute(f"SELECT * FROM {table} ORDER BY rowid {way} LIMIT 1").fetchall()
    return True


def is_cut_off(path: Path, connection: sqlite3.Connection) -> bool:
    """Whether the file is shorter than it says; pages may also still be in the write-ahead log."""
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (page_bytes,) = connection.execute("PRAGMA page_size").fetchone()
    return path.stat().st_size < pages * page_bytes and not has_unfolded_changes(path)
