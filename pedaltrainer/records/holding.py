"""Which files this program has open as logs, and whether they are still what stands at their paths."""

from __future__ import annotations

import threading
from collections import Counter
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import trouble

File = tuple[int, int]
"""A file whatever it is called: its disk and its number there (POSIX: `st_dev`, `st_ino`)."""

_open_here: Counter[File] = Counter()
_open_here_lock = threading.Lock()


def file_at(path: Path) -> File | None:
    """The file that is at a path now; None when there is none."""
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_dev, status.st_ino


def is_open_here(path: Path) -> bool:
    """Whether this program has the file open."""
    file = file_at(path)
    with _open_here_lock:
        return file is not None and _open_here[file] > 0


class Held:
    """The file of an open log, and the write-ahead log beside it. Not for use from two threads at once.

    Another program cannot do away with the write-ahead log of a log that is open here: SQLite locks it.
    """

    def __init__(self, path: Path) -> None:
        self._path, self._beside = path, Path(f"{path}-wal")
        self._file = file_at(path)
        self._file_beside: File | None = None
        self._is_held = self._file is not None
        if self._file is not None:
            with _open_here_lock:
                _open_here[self._file] += 1

    def refuse_another_file(self, written: bool = False) -> None:
        """Raises InputError unless the files that are written are those at the log's path.

        SQLite goes on writing into a file that was renamed or deleted, and never says so. written: this
        program has just written. Only from then on is the write-ahead log known: until it is used, a
        program that closes beside this one may take it away and another make it anew.
        """
        beside = file_at(self._beside)
        if written and self._file_beside is None:
            self._file_beside = beside
        if file_at(self._path) != self._file or (self._file_beside or beside) != beside:
            raise InputError(trouble.MOVED.format(path=self._path))

    def let_go(self) -> None:
        """The log was closed. Letting go twice does nothing."""
        if self._is_held and self._file is not None:
            self._is_held = False
            with _open_here_lock:
                _open_here[self._file] -= 1
