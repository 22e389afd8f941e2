"""Connections to SQLite files that may be damaged or made by anybody: nothing they hold takes for ever.

A file's pages can be made to lead to one another so that a search has no end, and a value can be as long as
the memory. So every connection looks at the clock now and then, and takes no value that a log could not have.
"""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path
from typing import Any

BUSY_TIMEOUT_S = 2.0
"""How long the lock of another program is waited for."""
ALLOWED_S = 5.0
BYTES_A_SECOND = 1_000_000
"""Whatever is done with a log may take so long, and a second more for so many bytes of it: a slow disk reads
twenty times as much."""
LONGEST_VALUE_BYTES = 16 * 2**20
_STEPS = 50_000
"""So many of SQLite's steps are some milliseconds."""

ran_out = False
"""Whether the last statement that was broken off had taken too long; else somebody interrupted it."""


class Connection(sqlite3.Connection):
    """A connection in autocommit mode, for any thread, that breaks off what takes too long."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._until_s = time.monotonic() + ALLOWED_S
        self.set_progress_handler(self._is_over, _STEPS)
        self.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE_BYTES)

    def allow(self, size_bytes: float) -> None:
        """From now on, as long as all that is done with so many bytes may take; infinity: as it likes."""
        self._until_s = time.monotonic() + ALLOWED_S + size_bytes / BYTES_A_SECOND

    def _is_over(self) -> bool:
        # An interrupt from the terminal is raised in here, which breaks the statement off too.
        global ran_out
        ran_out = time.monotonic() > self._until_s
        return ran_out


def connect(path: Path, how: str = "mode=rw", busy_timeout_s: float = BUSY_TIMEOUT_S) -> Connection:
    """A connection to the file at `path`; how: the options of SQLite's URI, such as "mode=rw"."""
    connection: Connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?{how}",
        uri=True,
        timeout=busy_timeout_s,
        isolation_level=None,
        check_same_thread=False,
        factory=Connection,
    )
    connection.allow(size_of(path))
    return connection


def size_of(path: Path) -> int:
    """Bytes of a file and of the write-ahead log beside it; 0 where there is none."""
    total = 0
    for place in (path, Path(f"{path}-wal")):
        try:
            total += place.stat().st_size
        except OSError:
            continue
    return total
