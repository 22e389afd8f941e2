"""What SQLite and the file system complain of, said to the player in one sentence."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pedaltrainer.errors import InputError

_ELSEWHERE = "or choose another folder with --data"

NOT_OURS = f"{{path}} is not a log of this program; move that file away {_ELSEWHERE}."
DAMAGED = (
    "The log {path} is damaged; save what can be read with pedaltrainer log check FILE --repair NEW, "
    f"put a copy of it in its place {_ELSEWHERE}."
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
}
"""By SQLite's primary result code, the low byte of the extended one (SQLite, "Result and Error Codes")."""


def primary_code(error: sqlite3.Error) -> int:
    """SQLite's primary result code; 0 when the error did not come from SQLite itself."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


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
        words = BY_CODE.get(primary_code(error))
        if words is None:
            raise
        raise InputError(words.format(path=path)) from error
