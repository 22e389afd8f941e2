"""A program killed (SIGKILL) at many random moments while others write and read the same log.

    python -m tests.benchmarks.kills [--kills N] [--load N] [--longest S] [--folder DIR]

After each kill the file is checked as a whole; at the end every take that the program had been told was kept
must be there. Ends with an AssertionError otherwise.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

from tests.records.test_kill import kill_again_and_again, under_load


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--load", type=int, default=2)
    parser.add_argument("--longest", type=float, default=0.5)
    parser.add_argument("--folder", type=Path, default=None)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder) as name:
        began_s = time.perf_counter()
        with under_load(Path(name), asked.load):
            told, kept = kill_again_and_again(Path(name), asked.kills, asked.longest, seed=asked.kills)
        spent_s = time.perf_counter() - began_s
    assert told <= kept, f"{len(told - kept)} takes are lost"
    print(
        f"{asked.kills} kills under a load of {asked.load} programs in {spent_s:.0f} s: "
        f"{len(told)} takes told of as kept, all of them there; "
        f"{len(kept) - len(told)} more were kept and not yet told"
    )


if __name__ == "__main__":
    main()
