"""Files of anybody's, read: ordinary files only, and no more of them than was bargained for.

A pipe would be waited for, and a device may have no end.
"""

from __future__ import annotations

import os
import stat
import tomllib
from enum import StrEnum
from pathlib import Path
from typing import Any

from pedaltrainer.errors import InputError


class There(StrEnum):
    """What is at a path."""

    FILE = "file"
    FOLDER = "folder"
    OTHER = "pipe or device"


def what_is_at(path: Path) -> There | None:
    """What is at a path; None when nothing is, or nothing that can be asked after."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return None
    return There.FILE if stat.S_ISREG(mode) else There.FOLDER if stat.S_ISDIR(mode) else There.OTHER


def is_missing(path: Path) -> bool:
    """Whether there is nothing of that name, not even a link that leads nowhere."""
    return not os.path.lexists(path)


def read_some(path: Path, most_bytes: int) -> bytes:
    """The content of an ordinary file, or one byte more of it than `most_bytes`.

    Raises InputError when it cannot be read or is no ordinary file.
    """
    try:
        # Without waiting: to open a pipe would last until somebody writes into it.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        try:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise InputError(f"{path} cannot be read (it is no ordinary file); name one that is.")
            with os.fdopen(handle, "rb", closefd=False) as file:
                return file.read(most_bytes + 1)
        finally:
            os.close(handle)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f"{path} cannot be read ({why}); check its name and permissions.") from error


def read_bytes(path: Path, most_bytes: int) -> bytes:
    """The content of an ordinary file. Raises InputError as `read_some` does, or when it is longer."""
    data = read_some(path, most_bytes)
    if len(data) > most_bytes:
        raise InputError(f"{path} has more than {most_bytes / 1e6:,g} MB; is it the right file?")
    return data


def as_text(path: Path, data: bytes, what: str = "file") -> str:
    """UTF-8 text, a byte order mark left out. Raises InputError naming the line that is none."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(f"{path}, line {line}: this is not UTF-8 text; save the {what} as UTF-8.") from error


def read_text(path: Path, most_bytes: int, what: str = "file") -> str:
    """The text of an ordinary file. Raises InputError as `read_bytes` and `as_text` do."""
    return as_text(path, read_bytes(path, most_bytes), what)


def _refuse_long_numbers(value: object) -> None:
    """Raises ValueError for a whole number of more than 64 bits, as TOML has it of what cannot be kept."""
    if isinstance(value, dict | list):
        for each in value.values() if isinstance(value, dict) else value:
            _refuse_long_numbers(each)
    elif isinstance(value, int) and not -(2**63) <= value < 2**63:
        raise ValueError("a whole number has more than 64 bits")


def parse_toml(text: str) -> dict[str, Any]:
    """TOML 1.0. Raises tomllib.TOMLDecodeError, also where the parser stumbles instead of refusing."""
    try:
        found = tomllib.loads(text)
        _refuse_long_numbers(found)
        return found
    except tomllib.TOMLDecodeError:
        raise
    except (ValueError, RecursionError) as error:
        why = "too deep in one another" if isinstance(error, RecursionError) else str(error)
        raise tomllib.TOMLDecodeError(f"{why} (at line 1, column 1)") from error
