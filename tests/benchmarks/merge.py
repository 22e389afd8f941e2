"""How long it takes to unite two large logs.

    python -m tests.benchmarks.merge [--takes N] [--folder DIR]

Makes two logs of N takes each (500,000; see big_log.py), with inputs, in DIR, that have only their schema in
common, and merges the second into a copy of the first; then once more, when there is nothing left to bring.
"""

from __future__ import annotations

import argparse
import shutil
import sqlite3
import tempfile
import time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.records.log import FILE_NAME
from pedaltrainer.records.upkeep import merging
from tests.benchmarks import big_log

INPUTS_A_SESSION = 100


def make(folder: Path, takes: int, name: str) -> Path:
    """A log whose ids begin with `name`."""
    if not folder.exists():
        big_log.make(folder, takes, seed=len(name))
        with closing(sqlite3.connect(folder / FILE_NAME)) as file:
            _rename_ids(file, name)
            _add_inputs(file)
    return folder


def _rename_ids(file: sqlite3.Connection, name: str) -> None:
    guards = file.execute(
        "SELECT name, sql FROM sqlite_master WHERE name LIKE '%keeps_its_values'"
    ).fetchall()
    for guard, _ in guards:
        file.execute(f"DROP TRIGGER {guard}")
    file.execute("PRAGMA foreign_keys = OFF")
    file.execute("UPDATE session SET id = ? || id", (name,))
    file.execute("UPDATE take SET id = ? || id, session_id = ? || session_id", (name, name))
    file.execute("UPDATE cancellation SET id = ? || id, take_id = ? || take_id", (name, name))
    # A log without them is none of ours any more.
    for _, sql in guards:
        file.execute(sql)
    file.commit()


def _add_inputs(file: sqlite3.Connection) -> None:
    file.execute(
        "WITH RECURSIVE n(seq) AS (SELECT 1 UNION ALL SELECT seq + 1 FROM n WHERE seq < ?) "
        """INSERT INTO input SELECT id, seq, '{"event":"Due","heard_s":' || seq || '.5}' FROM session, n""",
        (INPUTS_A_SESSION,),
    )
    file.commit()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--takes", type=int, default=500_000)
    parser.add_argument("--folder", type=Path, default=None)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        base = asked.folder or Path(scratch)
        first, second = (
            make(base / f"merge-{name}-{asked.takes}", asked.takes, name) for name in ("a", "bb")
        )
        own = Path(scratch) / "own"
        shutil.copytree(first, own)
        for what in ("two logs", "once more"):
            began_s, worked_s = time.perf_counter(), time.process_time()
            union = merging.merge(own, [second], datetime.now(UTC), with_bar)
            spent_s, worked_s = time.perf_counter() - began_s, time.process_time() - worked_s
            size_mib = (own / FILE_NAME).stat().st_size / 2**20
            print(
                f"{what}: {spent_s:.1f} s ({worked_s:.1f} s of work), "
                f"{union.merged[0].added}, {size_mib:.0f} MiB"
            )


if __name__ == "__main__":
    main()
