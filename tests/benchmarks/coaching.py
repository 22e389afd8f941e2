"""Does the coach name what holds a change back, and does its plan save time? On made-up players.

    python -m tests.benchmarks.coaching [--players N] [--only limits|plan|varied|speed]

Seeds are fixed, so it prints the same every time. What the players are like is printed first; the plan
sees their answers and nothing else.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
from tabulate import tabulate

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.coach.limits import MUCH, NAMED, USUAL_RATIO, Ratio, Which, limit_of
from pedaltrainer.practice.coach.plan import plan_today
from pedaltrainer.practice.coach.readiness import Need, standings_of
from pedaltrainer.practice.ladders.rungs import LadderStart
from tests.benchmarks.learners import NAMES, NEW_DRILL_S, START, Assumptions, Learners, Log

ASK, SPEAK_UP = LadderStart(60), LadderStart(60, speak_up=True)
SESSION_MIN, BLOCK_MIN, MOST_DAYS = 20.0, 3.0, 45
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


# --- (b) minutes until the set is ready ----------------------------------------------------

Choice = tuple[int, str, float, float]
"""Drill, mode ("m", "p", "s"), minutes, slow tempo."""
Chooser = Callable[[Log, int, float], list[Choice]]


def needs_for(log: Log, player: int) -> tuple[Need, ...]:
    by = (START + timedelta(days=21)).date()
    changes = log.names[player][len(NAMES) :]
    needed = np.exp(log.learners.needed[player])
    return tuple(
        Need(drill, float(bpm), 30_000 / float(bpm), 8, ("the set",), by)
        for drill, bpm in zip(changes, needed, strict=True)
    )


def by_plan(log: Log, player: int, minutes: float) -> list[Choice]:
    today = (START + timedelta(days=log.day)).date()
    plan = plan_today(needs_for(log, player), log.known(player), minutes, today)
    keys = log.keys[player]
    choices = []
    for line in plan.lines:
        # A pressure drill is slow work on its shape; here it trains as much as slow landings do.
        key = line.drill.key if line.drill.key in keys else f"re-land {line.drill.chords[0]}"
        choices.append((keys[key], line.mode[0], line.minutes, float(line.start_bpm or 50)))
    return choices


def equal_time(log: Log, player: int, minutes: float) -> list[Choice]:
    blocks = math.ceil(minutes / BLOCK_MIN)
    begin = log.day * blocks
    changes = log.learners.pairs.shape[1]
    return [
        (len(NAMES) + (begin + k) % changes, "p", min(BLOCK_MIN, minutes - k * BLOCK_MIN), 0.0)
        for k in range(blocks)
    ]


def slowest(log: Log, player: int, minutes: float) -> list[Choice]:
    """One block: the change that stands furthest below what the set asks, by the same beliefs as ours."""
    mean, _ = ct.moments(log.mass[player, len(NAMES) :])
    behind = log.learners.needed[player] - mean
    behind[log.takes[player, len(NAMES) :] == 0] += 10
    return [(len(NAMES) + int(behind.argmax()), "p", min(BLOCK_MIN, minutes), 0.0)]


def until_ready(players: Learners, chooser: Chooser, often: bool = False) -> np.ndarray:
    """Minutes of practice until the set is truly ready: [players]. often: chosen anew after every block."""
    log = Log(players, ASK)
    count = len(players.pairs)
    minutes = np.full(count, MOST_DAYS * SESSION_MIN)
    done = players.is_ready()
    minutes[done] = 0.0
    for day in range(MOST_DAYS):
        if done.all():
            break
        queue: list[list[Choice]] = [[] for _ in range(count)]
        now: list[Choice | None] = [None] * count
        left_s = np.zeros(count)
        begun_s = log.clock_s.copy()
        active = ~done
        while active.any():
            for player in np.flatnonzero(active & (left_s <= 0)):
                rest_min = SESSION_MIN - (log.clock_s[player] - begun_s[player]) / 60
                if rest_min <= 0.1:
                    active[player] = False
                    continue
                if not queue[player]:
                    queue[player] = chooser(log, player, rest_min)
                chosen = queue[player].pop(0)
                if now[player] is None or now[player][0] != chosen[0]:
                    log.clock_s[player] += NEW_DRILL_S
                now[player] = chosen
                left_s[player] = chosen[2] * 60
                log.open(player, chosen[0])
            who = np.flatnonzero(active)
            if not len(who):
                break
            drill = np.array([now[p][0] for p in who])
            mode = np.array([now[p][1] for p in who])
            slow = np.array([now[p][3] for p in who])
            left_s[who] -= log.take(who, drill, mode, slow)
            ready = who[players.is_ready()[who]]
            minutes[ready] = day * SESSION_MIN + (log.clock_s[ready] - begun_s[ready]) / 60
            done[ready], active[ready] = True, False
        log.next_day()
    return minutes


def over_and_over(players: Learners, beats_a_change: float = 2.0) -> np.ndarray:
    """Minutes of playing the set through until it is ready.

    Every change in turn, two beats each, no count-ins; always at the tempo at which its hardest change is at
    its clean tempo, which no player knows: this is the baseline's gain.
    """
    count, changes = players.needed.shape
    minutes = np.full(count, MOST_DAYS * SESSION_MIN)
    done = players.is_ready()
    minutes[done] = 0.0
    clock = np.zeros(count)
    while not done.all() and clock[~done].min() < MOST_DAYS * SESSION_MIN:
        who = np.flatnonzero(~done)
        share = np.minimum((players.changes_now() - players.needed).min(axis=1), 0.0)[who]
        for change in range(changes):
            log_tempo = players.needed[who, change] + share
            players.practise(
                who, np.full(len(who), len(NAMES) + change), np.exp(log_tempo), np.full(len(who), 4.0)
            )
            clock[who] += 4 * beats_a_change / np.exp(log_tempo)
        ready = who[players.is_ready()[who]]
        minutes[ready] = clock[ready]
        done[ready] = True
    return minutes


VARIED = {
    "as assumed": Assumptions(),
    "learning half as fast": Assumptions(experience=300),
    "learning twice as fast": Assumptions(experience=75),
    "exponential law": Assumptions(law="exponential", exponent=0.3),
    "ratios differ twice as much": Assumptions(ratio_sd=0.12),
    "a change trains its shapes in full": Assumptions(shape_share=1.0),
    "no shape ever limits": Assumptions(shapes_faster=0.6),
    "shapes limit more often": Assumptions(travel_above=0.15),
}


WAYS: dict[str, Callable[[Learners], np.ndarray]] = {
    "our plan": lambda players: until_ready(players, by_plan),
    "equal time": lambda players: until_ready(players, equal_time),
    "over and over": over_and_over,
    "slowest": lambda players: until_ready(players, slowest),
}


def plans(count: int, cases: dict[str, Assumptions]) -> None:
    rows = []
    for name, like in cases.items():
        # Every way gets the same players, as they were drawn.
        spent = {way: run(Learners.drawn(count, 41, like)) for way, run in WAYS.items()}
        rows.append(compared(name, spent))
        print(f"  {name}: done", flush=True)
    head = ["players", *WAYS, "best of the others", "saved", "player by player", "worse than equal time"]
    print(tabulate(rows, head))


def compared(name: str, spent: dict[str, np.ndarray]) -> list[str]:
    ours = spent["our plan"]
    medians = {way: float(np.median(minutes)) for way, minutes in spent.items()}
    best = min((way for way in spent if way != "our plan"), key=medians.__getitem__)
    begun = spent[best] > 0
    saved = 1 - medians["our plan"] / medians[best]
    each = 1 - float(np.median(ours[begun] / spent[best][begun]))
    worse = float((ours > spent["equal time"]).mean())
    shares = (f"{saved * 100:+.0f} %", f"{each * 100:+.0f} %", f"{worse * 100:.1f} %")
    return [name, *(f"{one:.0f}" for one in medians.values()), best, *shares]


def speed() -> None:
    """The plan and three songs' standing, 30 drills known: milliseconds."""
    players = Learners.drawn(1, 51, Assumptions())
    log = Log(players, ASK)
    for drill in range(log.takes.shape[1]):
        log.open(0, drill)
        for _ in range(8):
            log.take(np.array([0]), np.array([drill]), np.array(["m"]), np.zeros(1))
    needs, known = needs_for(log, 0), log.known(0)
    for name, run in (
        ("plan_today, 12 changes and 7 shapes", lambda: plan_today(needs, known, 20, START.date())),
        ("standings of 12 changes", lambda: standings_of(needs, known)),
    ):
        run()
        times = []
        for _ in range(20):
            began = time.perf_counter()
            run()
            times.append((time.perf_counter() - began) * 1000)
        print(f"{name}: median {np.median(times):.1f} ms, slowest {max(times):.1f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=200, help="half as many in the varied rows")
    parser.add_argument("--only", choices=["limits", "plan", "varied", "speed"])
    options = parser.parse_args()
    print(Assumptions().words, "\n")
    first, *others = VARIED
    parts: dict[str, Callable[[], None]] = {
        "limits": lambda: limits(5 * options.players),
        "plan": lambda: plans(options.players, {first: VARIED[first]}),
        "varied": lambda: plans(options.players // 2, {name: VARIED[name] for name in others}),
        "speed": speed,
    }
    for name, run in parts.items():
        if options.only in (None, name):
            run()
            print()


if __name__ == "__main__":
    main()
