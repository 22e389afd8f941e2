"""What a log would not have, kept aside at once, and brought in when the log is there again.

A file a session, as JSON Lines, private: beside the log, or where that disk is full in the system's temporary
folder, or in the memory of the machine for as long as the player is logged in.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import Input, SessionRow, TakeRow
from pedaltrainer.records.upkeep import importing
from pedaltrainer.records.upkeep.exporting import kept_as_jsonl
from pedaltrainer.system.files import is_mine, mark_of, write_whole
from pedaltrainer.system.reading import There, what_is_at

SUFFIX = ".jsonl"


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What was brought in from files kept aside; troubles: a sentence for each that could not be."""

    takes: int = 0
    troubles: tuple[str, ...] = ()


def keep(folder: Path, session: SessionRow, takes: Sequence[TakeRow], inputs: Sequence[Input]) -> Path:
    """Keep a session aside, in place of what was kept of it before; returns where.

    Raises InputError, for the last of the places, when it can be written in none.
    """
    text = kept_as_jsonl(session, takes, inputs)
    *others, last = _places(folder)
    for place, stem in others:
        path = place / f"{stem}{session.id}{SUFFIX}"
        try:
            write_whole(path, text)
        except InputError:
            continue
        return path
    place, stem = last
    path = place / f"{stem}{session.id}{SUFFIX}"
    write_whole(path, text)
    return path


def take_in(log: Log) -> TakenIn:
    """Bring what was kept aside into its log, and remove the files that went in whole."""
    takes, troubles = 0, []
    for path in _there(log.path.parent):
        try:
            takes += importing.bring(log, importing.read_all(path)).added
        except (InputError, ValueError) as error:
            troubles.append(f"What was kept in {path} is not in the log yet: {error}")
            continue
        path.unlink(missing_ok=True)
    return TakenIn(takes, tuple(troubles))


def forget(folder: Path, names: Collection[str]) -> list[Path]:
    """Remove what was kept aside of a player; returns the files that were."""
    gone = []
    for path in _there(folder):
        rows = importing.read_all(path)
        if any(isinstance(row, SessionRow) and row.player in names for row in rows):
            path.unlink(missing_ok=True)
            gone.append(path)
    return gone


def _places(folder: Path) -> list[tuple[Path, str]]:
    """Folders, and how the files in them begin: outside the data folder with a mark of whose they are."""
    mark = mark_of(folder / FILE_NAME)
    places = [(folder, "kept-aside-"), (Path(tempfile.gettempdir()), f"pedaltrainer-kept-aside-{mark}-")]
    if memory := os.environ.get("XDG_RUNTIME_DIR"):
        places.append((Path(memory), f"pedaltrainer-kept-aside-{mark}-"))
    return places


def _there(folder: Path) -> Iterator[Path]:
    """The files kept aside from this folder's log, by this user."""
    for place, stem in _places(folder):
        for path in sorted(place.glob(f"{stem}*{SUFFIX}")):
            if what_is_at(path) is There.FILE and is_mine(path):
                yield path
