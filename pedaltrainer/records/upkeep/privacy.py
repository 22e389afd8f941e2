"""A player's files made private that an earlier program left open to others: once, and never again.

What is written now is private from the start. Whoever opens a file to others afterwards has a reason for it.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from pedaltrainer.records import preferences
from pedaltrainer.records.rows import utc_text

FILES = (
    "settings.toml",
    "shapes.toml",
    "log.sqlite3",
    "log.sqlite3-wal",
    "log.sqlite3-shm",
    "log.before-merge*.sqlite3",
)
FOLDERS = {"songs": ".chart", "packs": ".toml", "pedals": ".toml"}
"""What the program keeps in its folder, and in folders of it: files of one kind."""
_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def tighten_once(folder: Path, now: datetime) -> None:
    """Take from others what they may do with the player's files, and with folders that hold nothing else.

    Where permissions are no affair of files (Windows), and where nothing is open, nothing is done.
    Raises InputError when the settings cannot be read or written.
    """
    if os.name != "posix":
        return
    loose = [path for path in _ours(folder) if _is_open_to_others(path)]
    if not loose:
        return
    kept = preferences.load(folder)
    if kept.made_private_utc:
        return
    preferences.save(folder, replace(kept, made_private_utc=utc_text(now)))
    for path in loose:
        # What is not this user's own cannot be changed, and need not be.
        with suppress(OSError):
            path.chmod(path.stat().st_mode & ~_OTHERS)


def _is_open_to_others(path: Path) -> bool:
    try:
        # Where a link leads is not for this folder to say.
        return not path.is_symlink() and bool(path.stat().st_mode & _OTHERS)
    except OSError:
        return False


def _ours(folder: Path) -> list[Path]:
    """The player's files in a folder, and the folders that hold nothing but them."""
    there = set(folder.glob("*"))
    ours = {path for pattern in FILES for path in folder.glob(pattern)}
    for name, suffix in FOLDERS.items():
        inside = set((folder / name).rglob("*"))
        files = {path for path in inside if path.suffix == suffix}
        ours |= files
        if all(path in files or path.is_dir() for path in inside):
            ours |= {folder / name} | inside
    if there <= ours:
        ours.add(folder)
    return sorted(path for path in ours if path.exists())
