"""How long a practice sheet takes to print from a long log: python -m tests.benchmarks.sheets --folder DIR

DIR is a folder that tests.benchmarks.big_log made (its --folder, with the size's name behind it); without
it a log of --takes takes is made first. Each run is a command of its own, imports and all, in seconds.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from tests.benchmarks.big_log import PLAYERS, make

RUNS = 5
SHEETS = {"the last weeks' drills": (), "two drills named": ("Am E", "F"), "blank": ("Am E", "--blank")}


def spent_s(folder: Path, words: tuple[str, ...]) -> float:
    where = ("--player", PLAYERS[0], "--data", str(folder), "--out", str(folder / "sheet.pdf"))
    began_s = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "pedaltrainer", "sheet", *words, *where], check=True, stdout=subprocess.DEVNULL
    )
    return time.perf_counter() - began_s


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--takes", type=int, default=1_000_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = asked.folder or Path(scratch)
        if asked.folder is None:
            make(folder, asked.takes)
        for name, words in SHEETS.items():
            runs = [spent_s(folder, words) for _ in range(RUNS)]
            print(f"{name:<24} typical {median(runs):.1f} s   slowest {max(runs):.1f} s")


if __name__ == "__main__":
    main()
