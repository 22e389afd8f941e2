"""How long a take takes to reach the disk.

    python -m tests.benchmarks.log_append [--takes N] [--folder DIR]

Appends N takes to a new log in DIR (default: the system's temporary folder,
which may be faster than the disk the player uses) and prints the time of
`append_take`, commit and sync included, beside that of a bare write and fsync
of one page in the same folder, which no log can beat.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from pedaltrainer.records.log import Log
from tests.records.samples import a_session, a_take


def times_ms(step: Callable[[], object], count: int) -> np.ndarray:
    """The time of each of `count` calls, in ms."""
    spent = np.empty(count)
    for index in range(count):
        before = time.perf_counter()
        step()
        spent[index] = (time.perf_counter() - before) * 1000
    return spent


def line(name: str, spent_ms: np.ndarray) -> str:
    p50, p99 = np.percentile(spent_ms, [50, 99])
    return f"{name:<24} p50 {p50:7.2f} ms   p99 {p99:7.2f} ms   max {spent_ms.max():7.2f} ms"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--takes", type=int, default=5000)
    parser.add_argument("--folder", type=Path, default=None)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder) as name:
        folder = Path(name)
        with (folder / "bare").open("wb", buffering=0) as bare:

            def write_and_sync() -> None:
                bare.write(b"x" * 4096)
                os.fsync(bare.fileno())

            print(line("bare write and fsync", times_ms(write_and_sync, asked.takes)))
        with Log.open(folder) as log:
            session = a_session()
            log.begin_session(session)
            print(line("append_take", times_ms(lambda: log.append_take(a_take(session)), asked.takes)))
            print(line("takes(limit=50)", times_ms(lambda: log.takes(limit=50), 200)))
        size_bytes = log.path.stat().st_size
        print(f"{asked.takes} takes: {size_bytes / asked.takes:.0f} bytes each on disk")
        print(line("open and close", times_ms(lambda: Log.open(folder).close(), 50)))


if __name__ == "__main__":
    main()
