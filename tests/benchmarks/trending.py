"""Who is told "rising" and when: players looked at every day for a month, by the trend and by the old one.

    python -m tests.benchmarks.trending [--flat N] [--rising N] [--before N] [--only TABLE]

Everybody is measured for 90 s a day by the program's own rules and the hands of `players`, each day from what
the day before has found, and the trend is asked after every day from the third on. Seeds are fixed. A cell of
the first table is the share told a verdict at least once in the month; of the second, the share told by a day
and the median day; of the third, a year of normal days, with no takes. "Before" is the old rule on the first
`--before` of the same players and takes. Rows are printed as they come.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.history.record import LOOK_BACK_DAYS
from pedaltrainer.practice.lines import lines_through, log_evidence
from pedaltrainer.practice.trend import PROVEN, Sitting, Verdict, trend
from tests.benchmarks.players import KINDS, USUAL, Kind, Players
from tests.benchmarks.simulated import ASK, SPEAK_UP, Way, measure
from tests.benchmarks.trend_before import verdict_before

DAYS, FIRST_LOOK, BAD_DAY = 30, 3, 0.15
YEAR, DAY_SD = (30, 90, 364), 0.045
"""A day measured for 90 s is about so far off."""
HAZY = next(kind for kind in KINDS if kind.name.startswith("hazy"))
Looks = NDArray[np.str_]
"""[looks, players]: what is told after each day from the third on."""


@dataclass(frozen=True, slots=True)
class Month:
    """How a month goes: the gain a day, and how days stand off the line. All in log tempo.

    off: the days' sd. keeps: the share of it left a day later. bad_day: one day, whichever, 15 % down.
    """

    name: str
    per_day: float = 0.0
    off: float = 0.0
    keeps: float = 0.0
    bad_day: bool = False
    kind: Kind = USUAL


FLAT = (
    Month("every day the same"),
    Month("days differ by 2 %", off=0.02),
    Month("streaks of 2 %, 0.7 left", off=0.02, keeps=0.7),
    Month("streaks of 4 %, 0.7 left", off=0.04, keeps=0.7),
    Month("one day 15 % down", bad_day=True),
    Month("hazy: spread 10 %", kind=HAZY),
    Month("streaks of 3 %, 0.9 left (not thought of)", off=0.03, keeps=0.9),
)
RISING = tuple(Month(f"{gain} % a day", gain / 100, off=0.02) for gain in (0.5, 1.0, 2.0))


def month_of(month: Month, way: Way, count: int, seed: int) -> Iterator[list[Sitting]]:
    """Every player's days, one list each."""
    players = Players.drawn(count, seed, month.kind)
    at_rest, rng = players.clean_log.copy(), players.rng
    off, bad_on, history = rng.normal(0.0, month.off, count), rng.integers(0, DAYS, count), None
    told = []
    for day in range(DAYS):
        bad = BAD_DAY * (bad_on == day) if month.bad_day else 0.0
        players.clean_log = at_rest + month.per_day * day + off - bad
        (found,) = measure(players, way, 90, history=history, keep_likelihood=True)
        history = found.as_history()
        assert found.log_likelihood is not None
        told.append(found.log_likelihood)
        new = rng.normal(0.0, month.off * math.sqrt(1 - month.keeps**2), count)
        off = month.keeps * off + new
    for who in range(count):
        each = [one[who].astype(np.float64) for one in told]
        yield [Sitting(float(day), np.exp(one - one.max()), 1) for day, one in enumerate(each)]


def looked_at(month: Month, way: Way, count: int, before: int) -> tuple[Looks, Looks]:
    """What is told, and what would have been told before to the first of them."""
    now, then = [], []
    for who, days in enumerate(month_of(month, way, count, 61)):
        upto = [days[:number] for number in range(FIRST_LOOK, DAYS + 1)]
        now.append([str(trend(part).verdict) for part in upto])
        if who < before:
            then.append([str(verdict_before(part)) for part in upto])
    return np.array(now).T, np.array(then).T


def first_told(looks: Looks, *verdicts: Verdict) -> NDArray[np.float64]:
    """The day on which each player is first told one of these; infinite for never."""
    told = np.isin(looks, [str(one) for one in verdicts])
    return np.where(told.any(axis=0), told.argmax(axis=0) + FIRST_LOOK, math.inf)


def percent(day: NDArray[np.float64], by: float = DAYS) -> str:
    return f"{np.mean(day <= by) * 100:.1f} %"


def flat_rows(count: int, before: int) -> Iterator[list[str]]:
    yield ["a flat player", "style", "rising", "falling", "leaning up", "leaning down", "flat",
           "before: rising", "before: falling"]  # fmt: skip
    for way in (ASK, SPEAK_UP):
        for month in FLAT:
            now, then = looked_at(month, way, count, before)
            told = (Verdict.RISING, Verdict.FALLING, Verdict.LEANING_UP, Verdict.LEANING_DOWN, Verdict.FLAT)
            yield [
                month.name,
                way.name,
                *(percent(first_told(now, verdict)) for verdict in told),
                *(percent(first_told(then, verdict)) for verdict in told[:2]),
            ]


def rising_rows(count: int, before: int) -> Iterator[list[str]]:
    by = (7, 14, 30)
    yield ["a rising player", "style", *(f"rising by day {day}" for day in by), "median day",
           "leaning up, median", "falling", "flat", *(f"before: by day {day}" for day in by),
           "before: median"]  # fmt: skip
    for way in (ASK, SPEAK_UP):
        for month in RISING:
            now, then = looked_at(month, way, count, before)
            rising, leaning = first_told(now, Verdict.RISING), (Verdict.LEANING_UP, Verdict.RISING)
            old = first_told(then, Verdict.RISING)
            yield [
                month.name,
                way.name,
                *(percent(rising, day) for day in by),
                f"{np.median(rising):.0f}",
                f"{np.median(first_told(now, *leaning)):.0f}",
                percent(first_told(now, Verdict.FALLING)),
                percent(first_told(now, Verdict.FLAT)),
                *(percent(old, day) for day in by),
                f"{np.median(old):.0f}",
            ]


def year_rows(count: int) -> Iterator[list[str]]:
    """A year of daily practice, looked at every week as the program does: through the last days with
    takes."""
    yield ["a flat player", *(f"{verdict} by day {day}" for day in YEAR for verdict in ("rising", "falling"))]
    for off in (0.02, 0.04, 0.06):
        rng = np.random.default_rng(71)
        told = np.array([_first_proven(Month("", off=off, keeps=0.7), rng) for _ in range(count)])
        yield [
            f"streaks of {off * 100:.0f} %, 0.7 left",
            *(percent(told[:, side], day) for day in YEAR for side in (0, 1)),
        ]


def _first_proven(month: Month, rng: np.random.Generator) -> list[float]:
    """The day on which a rise and a fall are proven first, of a year of normal days measured to DAY_SD."""
    tempos, off = [], rng.normal(0.0, month.off)
    for _ in range(YEAR[-1]):
        tempos.append(off + rng.normal(0.0, DAY_SD))
        off = month.keeps * off + rng.normal(0.0, month.off * math.sqrt(1 - month.keeps**2))
    first = [math.inf, math.inf]
    for day in range(7, YEAR[-1] + 1, 7):
        seen = np.array(tempos[max(0, day - LOOK_BACK_DAYS) : day])
        lines = lines_through(np.arange(len(seen)) - (len(seen) - 1.0), seen, np.full(len(seen), DAY_SD))
        for place, side in enumerate((1, -1)):
            if log_evidence(lines, side) >= math.log(PROVEN):
                first[place] = min(first[place], day)
    return first


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--flat", type=int, default=1000)
    parser.add_argument("--rising", type=int, default=300)
    parser.add_argument("--before", type=int, default=150)
    parser.add_argument("--only", choices=("flat", "rising", "year"))
    asked = parser.parse_args()
    tables = {
        "flat": flat_rows(asked.flat, asked.before),
        "rising": rising_rows(asked.rising, asked.before),
        "year": year_rows(asked.rising),
    }
    for name, rows in tables.items():
        if asked.only in (None, name):
            print(f"\n## {name}\n", flush=True)
            for number, row in enumerate(rows):
                print(f"| {' | '.join(row)} |", flush=True)
                if number == 0:
                    print("|---" * len(row) + "|", flush=True)


if __name__ == "__main__":
    main()
