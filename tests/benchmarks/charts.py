"""Charts as players write them: how many are read, told of and refused, and that no word of them is lost.

    python -m tests.benchmarks.charts [drawn charts]

The corpus is `tests/songs/as_written.py`, our own writing; the drawn charts are put together at random from
such pieces (`tests/songs/drawn.py`). A word is lost when the chart without it is the same song and nothing
else is told (`tests/songs/lost.py`); idle, when it is clear why: it stands there twice, say.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence

from hypothesis import HealthCheck, Phase, given, settings

from pedaltrainer.songs.song import Song
from tests.songs.as_written import CHARTS, REFUSED
from tests.songs.drawn import charts
from tests.songs.lost import Fate, fates, outcome


def drawn(count: int) -> list[str]:
    found: list[str] = []

    @settings(max_examples=count, database=None, deadline=None, derandomize=True, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(charts)
    def draw(chart: str) -> None:
        found.append(chart)

    draw()
    return found


def row(name: str, some: Sequence[str]) -> str:
    songs = [outcome(chart) for chart in some]
    read = [one for one in songs if isinstance(one, Song)]
    words = Counter(fate for chart in some for _, fate in fates(chart))
    cells = [len(some), len(read), sum(bool(one.told) for one in read), len(songs) - len(read)]
    cells += [words[fate] for fate in Fate]
    return f"| {name} | {' | '.join(f'{cell:,}' for cell in cells)} |"


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print(f"| charts | | read | of them told of | refused | words {' | '.join(Fate)} |")
    print("|---" * (5 + len(Fate)) + "|")
    print(row("to be read", [one.chart for one in CHARTS.values()]))
    print(row("to be refused", [chart for chart, _ in REFUSED.values()]))
    print(row("drawn", drawn(count)))


if __name__ == "__main__":
    main()
