"""Files written so that a power cut leaves a whole one, and their names."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import BinaryIO

from pedaltrainer.errors import InputError

_MOST_IN_NAME = 60
_DEVICE = re.compile("con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that Windows keeps for devices, whatever the suffix."""
_PART, _PART_END = ".pedaltrainer-", ".part"
_BESIDE_A_LOG = ("-wal", "-shm", "-journal")
_SCRATCH = "pedaltrainer-scratch-"
OTHER_FOLDER = "make its folder writable or choose another with --data"
OTHER_FILE = "name another file"


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


def refuse_existing(path: Path, mend: str = "name a new file, so that nothing is written over") -> None:
    """Raises InputError when there is something of that name."""
    if os.path.lexists(path):
        raise InputError(f"{path} is there already; {mend}.")


@contextlib.contextmanager
def whole_file(
    path: str | Path, *, private: bool = True, force: bool = True, mend: str = OTHER_FOLDER
) -> Iterator[BinaryIO]:
    """A file to write into, beside its place; renamed into it at the end, removed if that is not reached.

    What is at `path` is so the old file or the new one, never half of one. A link is followed, so that a
    file kept elsewhere stays there. private: only the player may read it (mode 0600), and its folder is made
    if needed (0700); else it is as other programs make files, in a folder that must be there. force: write
    over a file of that name. mend: what to do about a place that cannot be written.

    Raises InputError when it cannot be written there, or when something is there that is not to be replaced.
    """
    target = Path(os.path.realpath(path))
    if not force:
        refuse_existing(Path(path))
    part = target.with_name(f"{_PART}{secrets.token_hex(8)}{_PART_END}")
    try:
        if private:
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if os.path.lexists(target) and not target.is_file():
            raise InputError(f"{path} cannot be written (it is no ordinary file); {mend}.")
        mode = 0o600 if private else 0o666
        with open(part, "xb", opener=lambda name, flags: os.open(name, flags, mode)) as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        if not force:
            refuse_existing(Path(path))  # somebody may have been quicker
        part.replace(target)
    except OSError as error:
        raise InputError(f"{path} cannot be written ({error.strerror or error}); {mend}.") from error
    finally:
        for beside in ("", *_BESIDE_A_LOG):
            with contextlib.suppress(OSError):
                Path(f"{part}{beside}").unlink(missing_ok=True)


def is_mine(path: Path) -> bool:
    """Whether this user made it: in a folder that is everybody's, a name of ours may be anybody's."""
    me = getattr(os, "geteuid", lambda: None)()
    return not path.is_symlink() and (me is None or path.stat().st_uid == me)


def mark_of(path: Path) -> str:
    """Letters that stand for a file where what belongs to it lies in a folder that is everybody's."""
    return hashlib.sha256(os.fsencode(os.path.realpath(path))).hexdigest()[:12]


@contextlib.contextmanager
def scratch_of(path: Path) -> Iterator[Path]:
    """A private folder in the system's temporary one for copies of a file; it is gone afterwards."""
    with tempfile.TemporaryDirectory(prefix=f"{_SCRATCH}{mark_of(path)}-") as name:
        yield Path(name)


def remove_left_behind(path: Path) -> None:
    """Remove what programs that were killed have left of a file: its copies, and parts in its folder.

    Raises InputError for what cannot be removed.
    """
    try:
        for folder in {path.parent, Path(os.path.realpath(path)).parent}:
            for part in folder.glob(f"{_PART}*{_PART_END}*"):
                part.unlink(missing_ok=True)
        for scratch in Path(tempfile.gettempdir()).glob(f"{_SCRATCH}{mark_of(path)}-*"):
            if is_mine(scratch):
                shutil.rmtree(scratch)
    except OSError as error:
        raise InputError(f"{error.filename} cannot be removed ({error.strerror}); remove it.") from error


def write_whole(path: Path, text: str, *, force: bool = True, mend: str = OTHER_FOLDER) -> None:
    """Write text to a private file, all of it or nothing. Raises InputError as `whole_file` does."""
    with whole_file(path, force=force, mend=mend) as file:
        file.write(text.encode())
