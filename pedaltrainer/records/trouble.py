"""What SQLite and the file system complain of, said to the player in one sentence."""

from __future__ import annotations

import errno
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import connecting

_ELSEWHERE = "or choose another folder with --data"

NOT_OURS = f"{{path}} is not a log of this program; move that file away {_ELSEWHERE}."
DAMAGED = (
    "The log {path} is damaged; save what can be read with pedaltrainer log check FILE --repair NEW, "
    f"put a copy of it in its place {_ELSEWHERE}."
)
STRANGE = (
    "{path} is no log as this program writes it ({strange} is not as it should be); save what can be read "
    "with pedaltrainer log check FILE --repair NEW and use that."
)
BROKEN_ROW = (
    "The log {path} is damaged: a row cannot be read ({reason}); save what can be read with "
    f"pedaltrainer log check FILE --repair NEW, put a copy of it in its place {_ELSEWHERE}."
)
REFUSED_ROWS = (
    "{path} holds rows that break the rules of a log ({reason}); save what can be read with pedaltrainer "
    "log check FILE --repair NEW and use that."
)
ENDLESS = (
    "Reading {path} was broken off, because no log of its size takes so long; save what can be read with "
    "pedaltrainer log check FILE --repair NEW and use that."
)
NOT_A_FILE = f"{{path}} is no ordinary file, and the log is one; move it away {_ELSEWHERE}."
MOVED = (
    "The log {path} was moved, deleted or replaced while it was in use; put back the file that was there, "
    "or end and start again."
)
READ_ONLY = f"The log {{path}} is read-only; make the file and its folder writable {_ELSEWHERE}."
NO_PERMISSION = (
    f"The log {{path}} cannot be opened because this user may not read and write that file and its folder; "
    f"change their permissions {_ELSEWHERE}."
)
LOCKED = f"The log {{path}} is locked by another program; close that program and try again, {_ELSEWHERE}."
FULL = f"The disk that holds the log {{path}} is full; free some space {_ELSEWHERE}."
DISK_FAILED = f"The disk failed to read or write the log {{path}}; check it and its free space, {_ELSEWHERE}."
NEWER = (
    "The log {path} was written by a newer version of this program (log version {found}, "
    f"this one knows {{known}}); update the program {_ELSEWHERE}."
)
OLDER = (
    "The log {path} is of an older version ({found}, this program writes {known}) and cannot be "
    "brought up to date while it is only read; start a practice session with it once."
)
MISSING = f"There is no log in {{path}} yet; practise once {_ELSEWHERE}."
FOLDER_IS_A_FILE = "{path} is a file, and the log needs a folder; choose another folder with --data."
LOG_IS_A_FOLDER = f"{{path}} is a folder, and the log is a file of that name; move it away {_ELSEWHERE}."
NO_FOLDER = "The folder {path} cannot be made or used ({reason}); choose another folder with --data."
OLD_SQLITE = "This Python comes with SQLite {found}, and the log needs {known}; install a newer Python."

BY_CODE = {
    sqlite3.SQLITE_NOTADB: NOT_OURS,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_PERM: NO_PERMISSION,
    sqlite3.SQLITE_AUTH: NO_PERMISSION,
    sqlite3.SQLITE_CANTOPEN: NO_PERMISSION,
    sqlite3.SQLITE_BUSY: LOCKED,
    sqlite3.SQLITE_LOCKED: LOCKED,
    sqlite3.SQLITE_PROTOCOL: LOCKED,
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_IOERR: DISK_FAILED,
    sqlite3.SQLITE_INTERRUPT: ENDLESS,
    sqlite3.SQLITE_TOOBIG: DAMAGED,
}
"""By SQLite's primary result code, the low byte of the extended one (SQLite, "Result and Error Codes")."""

OF_WHAT_IS_IN_IT = frozenset(
    {0, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_TOOBIG, sqlite3.SQLITE_INTERRUPT}
)
"""Codes that tell of a file's content, not of its disk or of other programs."""

NO_ROOM_BYTES = 16 * 4096
"""A disk with less than this is full: SQLite wants some pages beside the log before it writes or reads."""
_FAILS_WHEN_FULL = frozenset({sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN})


def primary_code(error: sqlite3.Error) -> int:
    """SQLite's primary result code; 0 when the error did not come from SQLite itself."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def let_an_interrupt_through(error: Exception) -> None:
    """Raises KeyboardInterrupt for a statement that was broken off, but not because it took too long."""
    interrupted = isinstance(error, sqlite3.Error) and primary_code(error) == sqlite3.SQLITE_INTERRUPT
    if interrupted and not connecting.ran_out:
        raise KeyboardInterrupt from error


@contextmanager
def said_of_the_source(source: Path) -> Iterator[None]:
    """Where rows go from one log to another in one statement, the one they come from is the one to doubt."""
    try:
        yield
    except sqlite3.IntegrityError as refused:
        raise InputError(REFUSED_ROWS.format(path=source, reason=refused)) from refused
    except UnicodeDecodeError as error:
        raise InputError(DAMAGED.format(path=source)) from error
    except sqlite3.Error as error:
        if primary_code(error) not in OF_WHAT_IS_IN_IT:
            raise
        with said_in_words(source):
            raise


def is_full(path: Path) -> bool:
    """Whether the disk on which a file is, or would be, has no room left."""
    with suppress(OSError):
        return shutil.disk_usage(path.parent).free < NO_ROOM_BYTES
    return False


def words_for(error: sqlite3.Error, path: Path) -> str | None:
    """What is told of an error about a file; None for one that is a mistake of ours."""
    code = primary_code(error)
    if code in _FAILS_WHEN_FULL and is_full(path):
        return FULL.format(path=path)
    # The module, not SQLite, complains of text that is none, and gives no code.
    words = DAMAGED if not code and "decode" in str(error).lower() else BY_CODE.get(code)
    return words and words.format(path=path)


def os_words(error: OSError, path: Path, otherwise: str) -> str:
    """What is told of the system's own complaint about a file; otherwise: a sentence with path and reason."""
    words = FULL if error.errno in (errno.ENOSPC, errno.EDQUOT) else otherwise
    return words.format(path=path, reason=error.strerror or error)


@contextmanager
def said_in_words(path: Path) -> Iterator[None]:
    """Turn an SQLite error about the file into an InputError; let every other error pass.

    A refused row is the caller's mistake, not the file's, and becomes a ValueError.
    """
    try:
        yield
    except sqlite3.IntegrityError as refused:
        raise ValueError(f"the log refused the row: {refused}") from refused
    except UnicodeDecodeError as error:
        # SQLite names what is broken, in bytes that are no text.
        raise InputError(DAMAGED.format(path=path)) from error
    except sqlite3.Error as error:
        let_an_interrupt_through(error)
        words = words_for(error, path)
        if words is None:
            raise
        raise InputError(words) from error
