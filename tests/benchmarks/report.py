"""How long reports take: one player's from a million takes, a teacher's of 200 pupils over two years.

    python -m tests.benchmarks.report [--folder DIR] [--takes N] [--pupils N]

The million is big_log's: four players, 200 drills each, and three songs. The pupils play eight drills each,
a sitting a day of four of them, six takes a drill, and share the three songs. Each report is
made in a Python of its own and timed from after the imports, with the most memory that it held.
"""

from __future__ import annotations

import argparse
import tempfile
from datetime import timedelta
from pathlib import Path
from statistics import median

from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.records.log import FILE_NAME, Log
from tests.benchmarks.big_log import CHARTS, LAST_DAY, make, timed
from tests.page.made_up import write_log, write_songs

RUNS = 3
DRILLS = ("Am F", "F", "C G", "G Am", "Em C", "D A", "B7 Em", "Bm")
GAINS = (0.002, 0.0, -0.001, 0.001)
YEARS_DAYS = 730

READ = (
    "from pedaltrainer.history.many_players import pupils\n"
    "from pedaltrainer.history.one_player import tell\n"
    "from pedaltrainer.history.desk import Desk\n"
    "from pedaltrainer.page.html import page\n"
    "from pedaltrainer.telling.report import player_page\n"
    "from pedaltrainer.telling.report_players import players_page\n"
    "desk = Desk(folder, 'tess')\n"
)
STEPS = {
    "one player, 90 days": READ + "page(player_page(tell(desk, now, 90, zone=UTC)))",
    "one player, two years": READ + "page(player_page(tell(desk, now, 730, zone=UTC)))",
    "all players, 90 days": READ + "page(players_page(pupils([desk], now, 90, zone=UTC), now.date(), 90))",
}


def make_pupils(folder: Path, pupils: int) -> None:
    """A log of so many pupils; each has two halves of its drills, played in turn."""
    for number in with_bar(range(pupils), f"Making {pupils} pupils"):
        for part in range(2):
            words = DRILLS[part * 4 : part * 4 + 4]
            gains = {one: GAINS[(number + place) % len(GAINS)] for place, one in enumerate(words)}
            last = LAST_DAY - timedelta(days=part)
            name = f"pupil {number:03}"
            write_log(
                folder, name, gains, days=YEARS_DAYS, last=last, takes_a_drill=6, seed=number, part=part
            )
    write_songs(folder, CHARTS, LAST_DAY.date())


def measure(folder: Path, names: tuple[str, ...]) -> None:
    with Log.open(folder, read_only=True) as log:
        takes, players = log.count_takes(), len(log.players())
    size_mib = (folder / FILE_NAME).stat().st_size / 2**20
    print(f"\n{takes:,} takes of {players} players, {size_mib:.0f} MiB on disk")
    for name in names:
        runs = [timed(folder, STEPS[name]) for _ in range(RUNS)]
        typical_ms, worked_ms = (median(run[which] for run in runs) for which in (0, 1))
        most_mib = max(run[2] for run in runs)
        print(
            f"  {name:<22} first {runs[0][0]:6.0f} ms   typical {typical_ms:6.0f} ms   "
            f"of work {worked_ms:6.0f} ms   {most_mib:5.0f} MiB"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--takes", type=int, default=1_000_000)
    parser.add_argument("--pupils", type=int, default=200)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        long, wide = (
            (asked.folder or Path(scratch)) / name
            for name in (f"takes-{asked.takes}", f"pupils-{asked.pupils}")
        )
        if not long.exists():
            make(long, asked.takes)
        if not wide.exists():
            make_pupils(wide, asked.pupils)
        measure(long, ("one player, 90 days", "one player, two years"))
        measure(wide, ("all players, 90 days",))


if __name__ == "__main__":
    main()
