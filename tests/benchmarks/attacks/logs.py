"""Logs by the thousand, made odd from a good one: their tables, their rows, their bytes, and what is no file.

    python -m tests.benchmarks.attacks.logs [--cases N] [--seed S] [--only NUMBER]

Each is given to all that reads a log of somebody else's, and then put in the place of the player's own.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

from tests.benchmarks.attacks import made, odd
from tests.benchmarks.attacks.harness import Trial, attack, device, tell

ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT {columns} FROM n"
TABLES = ("session", "take", "cancellation", "input", "player_change")
SCHEMAS = (
    "DROP TABLE {t}", "DROP TABLE {t}; CREATE VIEW {t} AS {endless}", "CREATE VIEW more AS {endless}",
    "ALTER TABLE {t} ADD COLUMN more TEXT", "ALTER TABLE {t} RENAME TO {t}2",
    'CREATE TABLE "{t}; DROP TABLE {t}; --" (x)', "CREATE TABLE \"a'b\" (x)", 'CREATE TABLE "\x1b[2J" (x)',
    "CREATE TRIGGER more AFTER INSERT ON {t} BEGIN SELECT randomblob(1000); END",
    "DROP TRIGGER {t}_keeps_its_rows",
    "CREATE TRIGGER more BEFORE INSERT ON {t} BEGIN SELECT RAISE(IGNORE); END",
    "DROP TABLE {t}; CREATE TABLE {t} (id, x)", "DROP INDEX take_by_start",
    "CREATE INDEX more ON {t} (rowid)", "CREATE INDEX more ON take (length(drill))",
    "PRAGMA user_version = -1", "PRAGMA user_version = 0", "PRAGMA user_version = 1",
    "PRAGMA user_version = 99", "PRAGMA user_version = -2147483648", "PRAGMA application_id = 0",
    "PRAGMA application_id = -1", "PRAGMA encoding = 'UTF-16'; VACUUM", "VACUUM",
    "PRAGMA journal_mode = DELETE", "PRAGMA auto_vacuum = FULL; VACUUM", "PRAGMA page_size = 512; VACUUM",
    "PRAGMA page_size = 65536; VACUUM", "ANALYZE",
    "DROP TABLE {t}; CREATE VIRTUAL TABLE {t} USING fts5(id)",
    "PRAGMA writable_schema = ON; "
    "UPDATE sqlite_master SET sql = 'CREATE TABLE {t} (id)' WHERE name = '{t}'",
    "PRAGMA writable_schema = ON; UPDATE sqlite_master SET rootpage = 2",
    "PRAGMA writable_schema = ON; UPDATE sqlite_master SET name = x'ff41' WHERE name = '{t}'",
    "PRAGMA writable_schema = ON; "
    "INSERT INTO sqlite_master VALUES ('table', 'x', 'x', 3, 'CREATE TABLE x (y)')",
)  # fmt: skip


class Logs:
    """Draws logs and all that is done with them."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.data = made.folder()

    def case(self, number: int, folder: Path) -> Trial:
        chance = random.Random(f"{self.seed}-{number}")
        path = folder / "theirs.sqlite3"
        shutil.copy(self.data / "log.sqlite3", path)
        kind = chance.choices(("schema", "rows", "bytes", "pages", "what"), (4, 5, 5, 2, 1))[0]
        with suppress(sqlite3.Error):
            _KINDS[kind](path, chance)
        for suffix in ("-wal", "-shm", "-journal"):
            if kind != "what":
                Path(f"{path}{suffix}").unlink(missing_ok=True)
        return Trial(self._commands(folder, path, chance), keep=self._keep(folder, path), note=kind)

    def _commands(self, folder: Path, theirs: Path, chance: random.Random) -> list[list[str]]:
        mine, own = folder / "mine", folder / "own"
        shutil.copytree(self.data, mine)
        shutil.copytree(self.data, own)
        for suffix in ("", "-wal", "-journal"):
            place = own / f"log.sqlite3{suffix}"
            source = Path(f"{theirs}{suffix}")
            if os.path.lexists(source):
                place.unlink(missing_ok=True)
                if source.is_file():
                    shutil.copy(source, place)
                elif source.is_symlink():
                    place.symlink_to(place)
                elif source.is_dir():
                    place.mkdir()
                elif source.is_fifo():
                    os.mkfifo(place)
                else:
                    device(place)
        there, here = str(theirs), ["--data", str(own)]
        player = chance.choice(made.PLAYERS)
        return [
            ["report", "--players", there, "--out", str(folder / "p.html"), "--data", str(mine)],
            ["log", "check", there],
            ["log", "check", there, "--repair", str(folder / "new.sqlite3")],
            ["log", "check", str(folder / "new.sqlite3")],
            ["log", "merge", there, "--data", str(mine)],
            ["report", "--player", player, "--out", str(folder / "m.html"), "--data", str(mine)],
            ["log", *here], ["log", "--csv", *here], ["log", "--json", "--all", *here],
            ["progress", "--player", player, *here], ["song", "ready", "--player", player, *here],
            ["plan", "--player", player, *here], ["player", "list", "--all", *here],
            ["report", "--player", player, "--out", str(folder / "r.html"), *here],
            ["export", str(folder / "out.csv"), *here],
            ["export", str(folder / "t.jsonl"), "--what", "tempos", *here],
            ["log", "--limit", "3", *here],
            ["pack", "return", str(folder / "b.sqlite3"), "--player", player, *here],
            ["player", "export", player, str(folder / "b.zip"), *here],
            ["log", "check", *here], ["play", "Am E", "--player", player, *here],
            ["import", str(self.data.parent / "inputs" / "takes.csv"), *here],
            ["player", "erase", player, "--yes-erase", player, *here],
        ]  # fmt: skip

    def _keep(self, folder: Path, theirs: Path) -> list[Path]:
        return [theirs, *(Path(f"{theirs}{suffix}") for suffix in ("-wal", "-journal"))]


def _schema(path: Path, chance: random.Random) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as log:
        for _ in range(chance.choice((1, 1, 2))):
            table = chance.choice(TABLES)
            endless = ENDLESS.format(columns="i AS id, 'x' AS player, '2026' AS started_utc")
            for statement in (
                chance.choice(SCHEMAS).replace("{t}", table).replace("{endless}", endless).split("; ")
            ):
                with suppress(sqlite3.Error):
                    log.execute(statement)


def _rows(path: Path, chance: random.Random) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as log:
        triggers = log.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            log.execute(f"DROP TRIGGER {name}")
        log.execute("PRAGMA ignore_check_constraints = ON")
        for _ in range(chance.choice((1, 1, 2, 5))):
            table = chance.choice((*TABLES[:4], "take", "take", "session"))
            columns = [row[1] for row in log.execute(f"PRAGMA table_info({table})")]
            column, value = chance.choice(columns), chance.choice(odd.VALUES)
            some = chance.choice(("1", "rowid = 3", "rowid % 5 = 0")) if table != "input" else "seq % 3 = 0"
            with suppress(sqlite3.Error):
                if isinstance(value, bytes):
                    log.execute(f"UPDATE {table} SET {column} = CAST(? AS TEXT) WHERE {some}", (value,))
                else:
                    log.execute(f"UPDATE {table} SET {column} = ? WHERE {some}", (value,))
        if chance.random() < 0.1:
            log.execute(f"DELETE FROM {chance.choice(TABLES)} WHERE rowid % 2 = 0")
        for _, sql in triggers:
            log.execute(sql)


def _bytes(path: Path, chance: random.Random) -> None:
    content = bytearray(path.read_bytes())
    how = chance.random()
    if how < 0.7:
        for _ in range(chance.choice((1, 1, 2, 4, 16, 64, 500))):
            near = chance.choice((len(content), 4096, 200))
            content[chance.randrange(min(near, len(content)))] = chance.randrange(256)
        path.write_bytes(content)
    elif how < 0.85:
        path.write_bytes(content[: chance.randrange(len(content))])
    else:
        path.write_bytes(odd.mutated(bytes(content), chance))


def _pages(path: Path, chance: random.Random, size: int = 4096) -> None:
    content = bytearray(path.read_bytes())
    count = len(content) // size
    for _ in range(chance.choice((1, 1, 3, 10))):
        one, other = chance.randrange(count), chance.randrange(count)
        first, second = one * size, other * size
        how = chance.random()
        if how < 0.4:
            content[first : first + size], content[second : second + size] = (
                content[second : second + size],
                content[first : first + size],
            )
        elif how < 0.7:
            content[first : first + size] = content[second : second + size]
        else:
            # Numbers of pages, cells and sizes: two or four bytes at the head of a page, made others.
            at = first + chance.randrange(0, 16) + (100 if one == 0 else 0)
            content[at : at + 2] = chance.choice((b"\x00\x00", b"\xff\xff", b"\x00\x02", b"\x05\x0d"))
    path.write_bytes(content)


def _what(path: Path, chance: random.Random) -> None:
    """No file at all, in the place of the log or of what belongs to it."""
    place = Path(f"{path}{chance.choice(('', '-wal', '-journal'))}")
    place.unlink(missing_ok=True)
    how = chance.choice(("pipe", "loop", "zero", "folder", "null", "text", "nothing"))
    if how == "pipe":
        os.mkfifo(place)
    elif how == "loop":
        place.symlink_to(place.parent / "loop-again")
        (place.parent / "loop-again").symlink_to(place)
    elif how in ("zero", "null"):
        device(place, 5 if how == "zero" else 3)
    elif how == "folder":
        place.mkdir()
    elif how == "text":
        place.write_bytes(odd.text(chance).encode("utf-8", "surrogateescape") * 50)


_KINDS: dict[str, Callable[[Path, random.Random], None]] = {
    "schema": _schema, "rows": _rows, "bytes": _bytes, "pages": _pages, "what": _what,
}  # fmt: skip


def main() -> None:
    reads = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    reads.add_argument("--cases", type=int, default=1_000)
    reads.add_argument("--first", type=int, default=0)
    reads.add_argument("--seed", type=int, default=1)
    reads.add_argument("--only", type=int)
    asked = reads.parse_args()
    os.environ |= made.NO_DEVICES
    made.without_devices()
    numbers = range(asked.first, asked.first + asked.cases) if asked.only is None else [asked.only]
    tell("logs", attack(Logs(asked.seed).case, list(numbers), print))


if __name__ == "__main__":
    main()
