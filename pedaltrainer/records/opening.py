"""Opening the log's file: looked at before it is touched, refused unharmed when it cannot be used.

`find` says whether there is a log, `open_to_write` and `open_to_read` give an
SQLite connection in autocommit mode that any thread may use. All raise
InputError for what the player can mend, and sqlite3.Error for what SQLite
finds on the way; `trouble.said_in_words` turns the one into the other.
"""

from __future__ import annotations

import errno
import os
import sqlite3
import stat
import struct
import time
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import schema, trouble
from pedaltrainer.records.connecting import BUSY_TIMEOUT_S, Connection, connect
from pedaltrainer.records.holding import is_open_here
from pedaltrainer.records.trouble import primary_code

WHOLE_CHECK_BYTES = 4 * 2**20
"""A log up to this size (some ten thousand takes) is checked page by page at every start, in 20 ms. Of a
larger one only the ends are, where the next take goes; every other page tells when it is read."""
BESIDE = ("-wal", "-shm", "-journal")
"""What may stand beside a log and belong to it."""


def refuse_no_folder(folder: Path) -> None:
    """Raises InputError for a folder that is something else, or into which this user cannot look.

    One that is not there is none of these: it is made when something is kept.
    """
    try:
        if not stat.S_ISDIR(folder.stat().st_mode):
            raise InputError(trouble.FOLDER_IS_A_FILE.format(path=folder))
        next(folder.iterdir(), None)
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(trouble.NO_FOLDER.format(path=folder, reason=why)) from error


def find(folder: Path, path: Path) -> bool:
    """Whether the log is there. Raises InputError when something else is in its place, or beside it."""
    try:
        if folder.exists() and not folder.is_dir():
            raise InputError(trouble.FOLDER_IS_A_FILE.format(path=folder))
        if path.is_dir():
            raise InputError(trouble.LOG_IS_A_FOLDER.format(path=path))
        there, *_ = [_is_a_file(Path(f"{path}{suffix}")) for suffix in ("", *BESIDE)]
    except PermissionError as error:
        raise InputError(trouble.NO_PERMISSION.format(path=path)) from error
    except OSError as error:
        raise InputError(_no_folder(folder, error)) from error
    return there


def _is_a_file(path: Path) -> bool:
    """Whether there is a file. Raises InputError for a pipe or device, where SQLite would wait for ever."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    if not stat.S_ISREG(mode):
        raise InputError(trouble.NOT_A_FILE.format(path=path))
    return True


def make_folder(folder: Path) -> None:
    """Make the folder, for this user alone, and those above it. Raises InputError with the reason."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(_no_folder(folder, error)) from error


def _no_folder(folder: Path, error: OSError) -> str:
    return trouble.os_words(error, folder, trouble.NO_FOLDER)


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
            connection = connect(path, "mode=ro")
            try:
                version = schema.version_of(connection)
            except sqlite3.OperationalError as error:
                # No room for what SQLite wants beside the log: those who open it next find another way.
                if primary_code(error) not in _NO_ROOM_BESIDE:
                    raise
                return
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


def _accepted_version(path: Path, connection: sqlite3.Connection, foreign: bool) -> int:
    """The version of an open file that is ours and not newer; 0 for one without tables."""
    try:
        # One transaction, one state of the file: another program may be making the log right now.
        connection.execute("BEGIN")
        version = schema.version_of(connection)
        (application_id,) = connection.execute("PRAGMA application_id").fetchone()
        things = schema.things_in(connection)
        connection.execute("COMMIT")
    except sqlite3.OperationalError as error:
        # A format that there is not, or a table told of in words that are no SQL.
        if primary_code(error) == sqlite3.SQLITE_ERROR:
            raise InputError(trouble.DAMAGED.format(path=path)) from error
        raise
    if things and application_id != schema.APPLICATION_ID:
        raise InputError(trouble.NOT_OURS.format(path=path))
    _refuse_newer(path, version)
    if version < 0 or bool(things) != bool(version):
        raise InputError(trouble.NOT_OURS.format(path=path))
    strange_in = schema.strange_in_another if foreign else schema.strange_in_own
    if things and (strange := strange_in(things, version)) is not None:
        raise InputError(trouble.STRANGE.format(path=path, strange=strange))
    return version


def open_to_write(path: Path, busy_timeout_s: float = BUSY_TIMEOUT_S, foreign: bool = False) -> Connection:
    """The file open for appending, made if it is not there, brought to the newest version, in WAL mode.

    foreign: somebody else made it, so that nothing of it is believed.
    """
    make_private(path)
    connection = connect(path, "mode=rw", busy_timeout_s)
    try:
        _accepted_version(path, connection, foreign)
        _refuse_damage(path, connection, foreign)
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


def make_private(path: Path) -> None:
    """Make an empty file that this user alone may read, if there is none: SQLite gives what it makes beside a
    file the same permissions (SQLite, "Write-Ahead Logging", and `findCreateFileMode` in its source)."""
    if path.exists():
        return  # never opened and closed beside SQLite: that would drop its locks
    try:
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        # SQLite says better what is read-only, the file or its folder.
        if error.errno not in (errno.EACCES, errno.EPERM, errno.EROFS):
            raise InputError(trouble.os_words(error, path, trouble.NO_FOLDER)) from error


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


_NO_ROOM_BESIDE = frozenset(
    {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR}
)
"""How SQLite complains when it may not, or cannot for want of room, make the files that WAL needs."""
_ALONE = "PRAGMA locking_mode = EXCLUSIVE"
"""The index of the write-ahead log is then kept in memory (SQLite, "Write-Ahead Logging", section 8)."""
_NOTHING = "SELECT 1"


def open_to_read(
    path: Path,
    busy_timeout_s: float = BUSY_TIMEOUT_S,
    only_look: bool = False,
    foreign: bool = False,
) -> Connection:
    """Read-only, also where SQLite may not or cannot make the files that WAL needs beside the log.

    only_look: make no such files, not even for a moment; what they hold is then not seen. foreign: somebody
    else made it, so that nothing of it is believed.
    """
    # SQLite tidies the files beside the log away only when it may write, so a
    # reader asks for that and then promises not to change anything.
    ways = [] if only_look else [("mode=rw", _NOTHING), ("mode=rw", _ALONE)]
    if only_look or not has_unfolded_changes(path):
        ways.append(("mode=ro&immutable=1", _NOTHING))
    first: sqlite3.OperationalError | None = None
    for how, first_words in ways:
        connection = connect(path, how, busy_timeout_s)
        try:
            connection.execute(first_words)
            version = _accepted_version(path, connection, foreign)
            known = schema.newest_version(schema.MIGRATIONS)
            if version == 0:
                raise InputError(trouble.MISSING.format(path=path.parent))
            if version < schema.OLDEST_READABLE:
                raise InputError(trouble.OLDER.format(path=path, found=version, known=known))
            _refuse_damage(path, connection, foreign)
            if version < schema.MISSES_SINCE:
                connection.execute(schema.READ_AS)
            connection.execute("PRAGMA query_only = ON")
            return connection
        except sqlite3.OperationalError as error:
            connection.close()
            if primary_code(error) not in _NO_ROOM_BESIDE:
                raise
            first = first or error
        except BaseException:
            connection.close()
            raise
    assert first is not None
    raise first


def _refuse_damage(path: Path, connection: sqlite3.Connection, foreign: bool) -> None:
    """Check the small tables; the inputs, which are large, tell when they are read."""
    there = {thing.name for thing in schema.things_in(connection) if thing.type == "table"}
    whole = foreign or path.stat().st_size <= WHOLE_CHECK_BYTES
    looks_whole = _is_whole if whole else _has_its_ends
    if is_cut_off(path, connection) or not all(
        looks_whole(connection, table) for table in schema.TABLES if table in there and table != "input"
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
