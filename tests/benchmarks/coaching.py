"""Does the coach name what holds a change back? On made-up players; what its plan saves: practising.py.

    python -m tests.benchmarks.coaching [--players N] [--only limits|speed]

Seeds are fixed, so it prints the same every time. What the players are like is printed first; the coach
sees their answers and nothing else.
"""

from __future__ import annotations

import argparse
import math
import time
from dataclasses import replace
from itertools import pairwise

import numpy as np
from tabulate import tabulate

from pedaltrainer.practice.coach.limits import MUCH, NAMED, USUAL_RATIO, Ratio, Which, limit_of
from pedaltrainer.practice.coach.plan import plan_today, task_of
from pedaltrainer.practice.coach.readiness import Need, standings_of
from pedaltrainer.practice.ladders.rungs import LadderStart
from tests.benchmarks.learners import NAMES, START, Assumptions, Learners, Log

ASK, SPEAK_UP = LadderStart(60), LadderStart(60, speak_up=True)
CLEAR = math.log(1.15)
MEASURING_S = 360.0

FIGURES = Assumptions(shape_sd=0.25, travel_sd=0.25)
"""For the limits: figures far enough apart that many cases are clear."""
MEASURED: dict[str, tuple] = {
    "ask": (FIGURES,),
    "speak-up": (FIGURES, SPEAK_UP),
    "ask, ratio learnt": (FIGURES, ASK, True),
    "speak-up, ratio learnt": (FIGURES, SPEAK_UP, True),
    "speak-up, ratios differ twice as much": (replace(FIGURES, ratio_sd=0.12), SPEAK_UP),
    "speak-up, shapes limit more often": (replace(FIGURES, travel_above=0.15), SPEAK_UP),
    "speak-up, 10 % of answers wrong": (replace(FIGURES, lapse=0.10), SPEAK_UP),
}
# --- (a) the limit ---------------------------------------------------------------------


def named(
    count: int, like: Assumptions, style: LadderStart = ASK, learnt: bool = False
) -> dict[str, np.ndarray]:
    """One change a player, measured as the coach asks for, until the limit is settled or six minutes end.

    learnt: the player's ratio is known from other changes, to within 2 %.
    """
    players = Learners.drawn(count, 31, replace(like, experience=1e9), changes=1)
    log = Log(players, style, pause_s=0.0)
    parts = players.parts_now()
    sides = parts[np.arange(count)[:, None], players.pairs[:, 0]]
    excess = players.shape_bound(parts)[:, 0] - parts[:, len(NAMES)]
    truth = np.where(excess > MUCH, 2, sides.argmin(axis=1))
    gap_shapes = np.abs(sides[:, 0] - sides[:, 1])
    gap_travel = np.abs(excess)
    # Where the travel limits, which of the shapes is slower does not matter.
    clear = (gap_travel >= CLEAR) & ((truth == 2) | (gap_shapes >= CLEAR))
    own = np.exp(players.log_ratio[:, 0])
    ratios = [Ratio(float(one), 0.02, 9) if learnt else USUAL_RATIO for one in own]
    said = np.full(count, 3)
    chances = np.zeros((count, 3))
    going = np.ones(count, bool)
    left = np.zeros(count)
    drill = np.zeros(count, np.int64)
    while going.any():
        for player in np.flatnonzero(going & (left <= 0)):
            limit = limit_of(log.names[player][-1], log.known(player), ratios[player])
            chances[player] = [limit.chances[which] for which in NAMED]
            said[player] = NAMED.index(limit.which) if limit.which is not Which.UNSURE else 3
            if limit.measure_first is None or log.clock_s[player] >= MEASURING_S:
                going[player] = False
                continue
            drill[player] = log.keys[player][limit.measure_first.key]
            left[player] = min(limit.seconds, MEASURING_S - log.clock_s[player])
            log.open(player, drill[player])
        who = np.flatnonzero(going)
        if len(who):
            left[who] -= log.take(who, drill[who], np.full(len(who), "m"), np.zeros(len(who)))
    return {"truth": truth, "clear": clear, "said": said, "spent": log.clock_s, "chances": chances}


def limits(count: int) -> None:
    found = {name: named(count, *how) for name, how in MEASURED.items()}
    rows = []
    for name, one in found.items():
        right, unsure = one["said"] == one["truth"], one["said"] == 3
        for case, which in (("clear", one["clear"]), ("not clear", ~one["clear"])):
            shares = [float(part[which].mean()) for part in (right, unsure, ~right & ~unsure)]
            at = np.percentile(one["spent"][which], (50, 90))
            rows.append(
                [name, case, which.sum(), *(f"{s * 100:.1f} %" for s in shares), *(f"{s:.0f} s" for s in at)]
            )
    print(tabulate(rows, ["players", "case", "of them", "right", "not sure", "wrong", "median", "90 %"]))
    for name in ("ask", "speak-up"):
        print(f"\nCalibration, {name}: of the limits given such a chance, so many were it")
        print(tabulate(calibration(found[name]), ["chance", "count", "told", "true"]))


def calibration(found: dict[str, np.ndarray]) -> list[list[object]]:
    told = found["chances"].ravel()
    true = (np.arange(3) == found["truth"][:, None]).ravel()
    table: list[list[object]] = []
    for low, high in pairwise((0, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 1.001)):
        these = (told >= low) & (told < high)
        if these.any():
            means = (f"{told[these].mean():.3f}", f"{true[these].mean():.3f}")
            table.append([f"{low:.2f}-{min(high, 1):.2f}", these.sum(), *means])
    return table


def speed() -> None:
    """The plan and the standings, 19 drills known: milliseconds."""
    players = Learners.drawn(1, 51, Assumptions())
    log = Log(players, ASK)
    for drill in range(log.takes.shape[1]):
        log.open(0, drill)
        for _ in range(8):
            log.take(np.array([0]), np.array([drill]), np.array(["m"]), np.zeros(1))
    needs, known = needs_for(log, 0), log.known(0)
    tasks = [task_of(need) for need in needs]
    for name, run in (
        ("plan_today, 12 changes", lambda: plan_today(tasks, known, 20, START.date())),
        ("standings of 12 changes", lambda: standings_of(needs, known)),
    ):
        run()
        times = []
        for _ in range(20):
            began = time.perf_counter()
            run()
            times.append((time.perf_counter() - began) * 1000)
        print(f"{name}: median {np.median(times):.1f} ms, slowest {max(times):.1f} ms")


def needs_for(log: Log, player: int) -> tuple[Need, ...]:
    changes = log.names[player][len(NAMES) :]
    needed = np.exp(log.learners.needed[player])
    return tuple(
        Need(drill, float(bpm), 30_000 / float(bpm), 8, ("the set",))
        for drill, bpm in zip(changes, needed, strict=True)
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=1000)
    parser.add_argument("--only", choices=["limits", "speed"])
    options = parser.parse_args()
    print(Assumptions().words, "\n")
    if options.only != "speed":
        limits(options.players)
    if options.only != "limits":
        speed()


if __name__ == "__main__":
    main()
