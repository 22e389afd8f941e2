"""A log that is somebody else's, or that may be damaged: looked into without a byte of it being changed."""

from __future__ import annotations

import math
import shutil
import struct
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records import connecting, opening, schema, trouble
from pedaltrainer.records.connecting import Connection
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.system.files import OTHER_FILE, OTHER_FOLDER, scratch_of, whole_file
from pedaltrainer.system.reading import There, what_is_at

BESIDE = ("-wal", "-journal")
"""What stands beside a log and holds a part of it."""


def file_of(place: Path) -> Path:
    """The log that is meant by a file, or by the folder it lies in. Raises InputError when there is none."""
    path = place / FILE_NAME if what_is_at(place) is There.FOLDER else place
    if what_is_at(path) is not There.FILE:
        raise InputError(f"There is no log {path}; name the file or the folder of a log.")
    return path


def files_of(place: Path) -> list[Path]:
    """All logs that are meant by a file or folder: the folder's own log, else every *.sqlite3 below it.

    Raises InputError when there is none.
    """
    if what_is_at(place) is not There.FOLDER or what_is_at(place / FILE_NAME) is There.FILE:
        return [file_of(place)]
    try:
        found = sorted(path for path in place.rglob("*.sqlite3") if what_is_at(path) is There.FILE)
    except OSError as error:
        raise InputError(
            f"{place} cannot be looked through ({error.strerror}); name the log itself."
        ) from error
    if not found:
        raise InputError(f"There is no log in {place} or below it; name the file or the folder of a log.")
    return found


@contextmanager
def copied(path: Path) -> Iterator[Path]:
    """A copy of a log, with what stands beside it, in a folder that is gone afterwards.

    Raises InputError when the file cannot be read or the copy not be written.
    """
    with scratch_of(path) as scratch:
        copy = scratch / FILE_NAME
        try:
            for suffix in ("", *BESIDE):
                if what_is_at(there := Path(f"{path}{suffix}")) is There.FILE:
                    shutil.copyfile(there, f"{copy}{suffix}")
        except OSError as error:
            raise InputError(
                f"The log {path} cannot be copied to be looked into ({error.strerror or error})."
            ) from error
        yield copy


@contextmanager
def of_today(path: Path) -> Iterator[str]:
    """The URI of a log of today's version that holds what the one at `path` does; itself where it may be.

    An older log, or one with changes beside it, is copied and the copy brought forward. Raises InputError
    for a log that is damaged, newer, or none of ours.
    """
    opening.refuse_by_header(path)
    if _is_of_today(path) and not any(Path(f"{path}{suffix}").exists() for suffix in BESIDE):
        with _about(path, path), trouble.said_in_words(path):
            opening.open_to_read(path, only_look=True, foreign=True).close()
        yield f"{path.absolute().as_uri()}?mode=ro&immutable=1"
        return
    with copied(path) as copy:
        with _about(path, copy), trouble.said_in_words(copy):
            opening.open_to_write(copy, foreign=True).close()
        yield f"{copy.as_uri()}?mode=ro"


def open_another(path: Path) -> Log:
    """A log of any name that somebody else may have made, to be read; not a byte of it is changed.

    Raises InputError for a log that is damaged, newer, or none of ours.
    """
    opening.refuse_by_header(file_of(path))
    with ExitStack() as stack:
        has_more = any(Path(f"{path}{suffix}").exists() for suffix in BESIDE)
        file = stack.enter_context(copied(path)) if has_more else path
        with _about(path, file), trouble.said_in_words(file):
            connection = opening.open_to_read(file, only_look=not has_more, foreign=True)
        return Log(path, connection, stack.pop_all().close)


def has_a_header(path: Path) -> bool:
    """Whether a file begins as an SQLite file does; a torn one may have lost that."""
    try:
        with path.open("rb") as file:
            header = file.read(100)
    except OSError as error:
        raise InputError(f"The log {path} cannot be read ({error.strerror}).") from error
    return len(header) == 100 and header.startswith(b"SQLite format 3\0")


def _is_of_today(path: Path) -> bool:
    with path.open("rb") as file:
        header = file.read(64)
    newest = schema.newest_version(schema.MIGRATIONS)
    return len(header) == 64 and struct.unpack_from(">i", header, 60) == (newest,)


@contextmanager
def _about(path: Path, copy: Path) -> Iterator[None]:
    """Say of the log what was found out about its copy."""
    try:
        yield
    except InputError as error:
        raise InputError(str(error).replace(str(copy), str(path))) from error


def back_up(log: Path, copy: Path) -> None:
    """Write a whole copy of a log in use; a copy of that name is replaced once the new one is complete.

    Raises InputError when it cannot be written.
    """
    with (
        whole_file(copy) as half,
        trouble.said_in_words(copy),
        closing(connecting.connect(log)) as source,
        closing(connecting.connect(Path(half.name))) as target,
    ):
        source.backup(target, pages=4096)


@contextmanager
def new_log(path: Path, force: bool = False) -> Iterator[Connection]:
    """A log to be filled, beside its place; put there whole, as one file, when all went well.

    force: in place of one that is there. Raises InputError when it cannot be written, and for a file that is
    there.
    """
    with (
        whole_file(path, force=force, mend=OTHER_FOLDER if force else OTHER_FILE) as half,
        trouble.said_in_words(path),
        closing(opening.open_to_write(Path(half.name))) as log,
    ):
        # Nothing beside it on the disk: what does not become whole is thrown away.
        log.execute("PRAGMA journal_mode = MEMORY")
        log.allow(math.inf)
        yield log


def bring(log: Connection, source: Path, known_as: Path, which: Mapping[str, str], **values: str) -> None:
    """Copy rows of another log of today's version, which nobody writes meanwhile, into an empty one.

    which: of each table a condition, in which the other log is called "old". Raises InputError, naming
    `known_as`, for rows that a log does not take.
    """
    log.execute("ATTACH ? AS old", (f"{source.absolute().as_uri()}?mode=ro&immutable=1",))
    log.execute("BEGIN")
    with trouble.said_of_the_source(known_as):
        for table, condition in which.items():
            log.execute(f"INSERT INTO main.{table} SELECT * FROM old.{table} WHERE {condition}", values)
    log.execute("COMMIT")
    log.execute("DETACH old")
