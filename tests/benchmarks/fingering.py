"""How often the published fingering of the open data is our first choice, or among our first three.

    python -m tests.benchmarks.fingering           shares, misses by kind, speed
    python -m tests.benchmarks.fingering --fit     the weights that the tuned-on rows ask for

The fit is a conditional logit (McFadden 1974): of all holds of the frets the published one is the likelier,
the lower its cost. Only the tuned-on rows are read; weights are kept from going below 0, those that stand
by reason are not touched, and the rest is a maximum likelihood with a light pull towards 0.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from collections.abc import Iterable

import numpy as np
from scipy.optimize import minimize

from pedaltrainer.neck import fingering
from pedaltrainer.neck.costs import FINGERING_COSTS
from pedaltrainer.neck.geometry import USUAL_NECK
from pedaltrainer.neck.troubles import grip_of, hold_troubles
from tests.neck.open_shapes import TENTHS_TUNED_ON, Row, read_rows, share_within

BY_REASON = ("thumb", "index and middle swapped", "index barre", "index barre string")
SCALE = 3.0
"""Units of log-odds in one unit of the table."""
PULL = 0.05
NAMES = tuple(FINGERING_COSTS)


def kind_of_miss(row: Row) -> str:
    """What the published fingering does that our first choice does not, in a word or two."""
    if row.rank is None:
        return "a hand cannot, or a slip (crossed, or over a lower string, or a string without a finger)"
    ours = fingering.fingerings(row.frets)[0].fingers
    flat, ours_flat = (_flat_fingers(fingers) for fingers in (row.fingers, ours))
    if len(flat) != len(ours_flat):
        return "lies flat where we use tips" if len(flat) > len(ours_flat) else "tips where we lie flat"
    if flat != ours_flat:
        return "another finger lies flat"
    if 1 in ours and 1 not in row.fingers:
        return "the index is spared"
    if 1 in row.fingers and 1 not in ours:
        return "the index is used"
    if (4 in row.fingers) != (4 in ours):
        return "the little finger is " + ("used" if 4 in row.fingers else "spared")
    return "the same fingers in other places"


def _flat_fingers(fingers: tuple[int, ...]) -> set[int]:
    return {finger for finger, strings in Counter(fingers).items() if finger and strings > 1}


def report(rows: list[Row]) -> None:
    parts = {
        "tuned on": [row for row in rows if not row.held_out],
        "held out": [row for row in rows if row.held_out],
        "all": rows,
    }
    for name, part in parts.items():
        first, three = share_within(part, 1), share_within(part, 3)
        print(f"{name:9} {len(part):5} rows   first {first:6.1%}   first three {three:6.1%}")
    misses = defaultdict(list)
    for row in rows:
        if row.rank != 1:
            misses[kind_of_miss(row)].append(row)
    for kind, missed in sorted(misses.items(), key=lambda item: -len(item[1])):
        print(f"\n{len(missed)} x {kind}")
        for row in missed:
            ours = fingering.fingerings(row.frets)
            print(f"    {row}; {row.rank or '-'}. of {len(ours)}, first {ours[0].fingers if ours else '-'}")


def speed(rows: list[Row]) -> None:
    fingering._ranked.cache_clear()
    start = time.perf_counter()
    for row in rows:
        fingering.fingerings(row.frets)
    print(f"\n{(time.perf_counter() - start) / len(rows) * 1000:.2f} ms a list of frets, not cached")


class Choices:
    """Counted troubles of all holds of some rows, stacked: one line a hold, one column a cost."""

    def __init__(self, rows: Iterable[Row]) -> None:
        tables, chosen = [], []
        for row in rows:
            holds = list(fingering._holds(grip_of(row.frets, 0, USUAL_NECK)))
            fingers = [fingering._fingers(hold) for hold in holds]
            if row.fingers in fingers:
                table = np.zeros((len(holds), len(NAMES)))
                for line, hold in zip(table, holds, strict=True):
                    for name, amount in hold_troubles(hold):
                        line[NAMES.index(name)] += amount
                tables.append(table)
                chosen.append(fingers.index(row.fingers))
        sizes = np.array([len(table) for table in tables])
        self.counts = np.vstack(tables)
        self.starts = np.cumsum(sizes) - sizes
        self.row_of = np.repeat(np.arange(len(sizes)), sizes)
        self.chosen = self.starts + np.array(chosen)

    def loss(self, weights: np.ndarray) -> tuple[float, np.ndarray]:
        """Minus the log-likelihood, with its slope."""
        utility = -self.counts @ weights
        utility -= np.maximum.reduceat(utility, self.starts)[self.row_of]
        odds = np.exp(utility)
        totals = np.add.reduceat(odds, self.starts)
        surplus = odds / totals[self.row_of]
        surplus[self.chosen] -= 1
        loss = np.log(totals).sum() - utility[self.chosen].sum() + PULL * weights @ weights
        return float(loss), -self.counts.T @ surplus + 2 * PULL * weights

    def first_share(self, weights: np.ndarray) -> float:
        costs = self.counts @ weights
        best = np.minimum.reduceat(costs, self.starts)
        return float(np.mean(costs[self.chosen] <= best + 1e-9))


def fit(choices: Choices) -> np.ndarray:
    seen = np.ptp(choices.counts, axis=0) > 0
    fixed = {name: FINGERING_COSTS[name].weight * SCALE for name in BY_REASON}
    bounds = [
        (fixed[name], fixed[name]) if name in fixed else (0, None if used else 0)
        for name, used in zip(NAMES, seen, strict=True)
    ]
    start = np.array([low for low, _ in bounds], dtype=float)
    found = minimize(
        choices.loss, start, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": 2000}
    )
    return np.asarray(found.x)


def report_fit(rows: list[Row]) -> None:
    tuned = [row for row in rows if not row.held_out]
    folds = []
    for tenth in range(TENTHS_TUNED_ON):
        weights = fit(Choices(row for row in tuned if row.tenth != tenth))
        folds.append(Choices(row for row in tuned if row.tenth == tenth).first_share(weights))
    print(f"first choice in {np.mean(folds):.1%} of the rows left out of each fit, of those a hand can hold")
    for name, weight in zip(NAMES, fit(Choices(tuned)), strict=True):
        stands = FINGERING_COSTS[name].weight
        print(f"{weight / SCALE:6.2f}   in the table {stands:5.2f}   {name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--fit", action="store_true", help="fit the weights anew instead of the report")
    rows = read_rows()
    if parser.parse_args().fit:
        report_fit(rows)
    else:
        report(rows)
        speed(rows)


if __name__ == "__main__":
    main()
