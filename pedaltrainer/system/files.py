"""Small files of the player's, written so that a power cut leaves a whole one."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import BinaryIO

from pedaltrainer.errors import InputError

_MOST_IN_NAME = 60
_DEVICE = re.compile("con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that Windows keeps for devices, whatever the suffix."""


def file_stem(title: str, kind: str) -> str:
    """A title as a file name that every system takes; kind: what it is the title of, such as "song"."""
    stem = re.sub(r"\W+", "-", title.lower())[:_MOST_IN_NAME].strip("-") or kind
    return f"{kind}-{stem}" if _DEVICE.fullmatch(stem) else stem


def free_name(folder: Path, stem: str, suffix: str) -> Path:
    """A name in the folder that no file has yet: the stem, or the stem with a number."""
    names = (folder / f"{stem}{'' if number == 1 else f'-{number}'}{suffix}" for number in count(1))
    return next(path for path in names if not path.exists())


def put_away(file: Path, to: Path) -> None:
    """Move a file into another folder, over none that is there. Raises InputError when it cannot be moved."""
    try:
        to.mkdir(exist_ok=True)
        file.rename(free_name(to, file.stem, file.suffix))
    except OSError as error:
        raise InputError(
            f"{file} cannot be moved to {to} ({error.strerror}); make that folder writable."
        ) from error


def write_whole(path: Path, text: str) -> None:
    """Write text to a file, through a neighbour and a rename: the old file or the new one, never half of one.

    Its folder is made if needed; a link is followed, so that a file kept
    elsewhere stays there. Raises InputError when it cannot be written.
    """
    target = path.resolve()
    temporary: Path | None = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "wb", dir=target.parent, prefix=f".{target.stem}-", delete=False
        ) as file:
            temporary = Path(file.name)
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(target)
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise InputError(
            f"{path} cannot be written ({error.strerror}); "
            "make its folder writable or choose another with --data."
        ) from error


@contextlib.contextmanager
def whole_file(path: str | Path) -> Iterator[BinaryIO]:
    """A file to write into, beside its place; renamed into it at the end, removed if that is not reached.

    Raises InputError when it cannot be written there.
    """
    target = Path(path)
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=".track-", suffix=".part", dir=target.parent)
        part = Path(name)
        with os.fdopen(handle, "wb") as file:
            yield file
        # mkstemp makes files private; a practice track is an ordinary file.
        umask = os.umask(0)
        os.umask(umask)
        part.chmod(0o666 & ~umask)
        part.replace(target)
        part = None
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(f"{target} cannot be written ({why}); choose another file with --out.") from error
    finally:
        if part is not None:
            with contextlib.suppress(OSError):
                part.unlink()
