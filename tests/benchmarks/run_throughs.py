"""What run-throughs alone tell of a set of twelve changes, against ten minutes of drills.

    python -m tests.benchmarks.run_throughs [--players N] [--seed N]

Ten passes through an invented song of twelve changes, 48 bars. The player's level is drawn as in `players`,
the changes 20 % around it; they run the song through at the tempo at which they keep nine landings in ten
(nobody runs a song through at a tempo where it falls apart). A foot speaks up of a miss 250 +- 80 ms later,
and of one in four not at all. A cell is the RMS error of the clean tempo in per cent, its mean, and in
brackets how many of a hundred 90 % intervals hold the truth; then how many of the three changes that are
hardest for the player are among the three that are believed so, what a plan begins with; and how many among
the three of which most landings were flagged, which needs no model.

The constants of `practice.run_evidence` were chosen on seed 71.
"""

from __future__ import annotations

import argparse
import math
from collections import Counter
from dataclasses import replace

import numpy as np
from tabulate import tabulate

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.run_evidence import (
    believed_wrong,
    heard_in,
    levels,
    likelihood_of_all,
)
from pedaltrainer.practice.run_through import Pass, landing_meant, pass_of, with_mark
from pedaltrainer.practice.take import REACTION_S
from pedaltrainer.songs.chart import parse_chart
from tests.benchmarks.players import Players
from tests.benchmarks.simulated import ASK, measure

CHORDS = ("C", "G", "Am", "F", "D", "Em", "A", "E", "Dm", "B7", "Bm", "Cadd9")
SONG = parse_chart(
    "title: Twelve\ntempo: 100\n[All] x4\n" + "".join(f"| {chord} " for chord in CHORDS) + "|\n", "twelve"
)
"""Each chord for a bar, four times round: twelve changes, each three or four times a pass."""
PASSES = 10
KINDS = {
    "as said above": {},
    "at a tempo where one in five goes wrong": {"keeps": 0.8},
    "at a tempo where one in fifty goes wrong": {"keeps": 0.98},
    "a song that is far too easy": {"keeps": 0.9999},
    "speaks up of all": {"forgets": 0.0},
    "forgets half": {"forgets": 0.50},
    "slow foot, 400 +- 150 ms": {"reaction_s": (0.40, 0.15)},
    "says the rest was clean": {"says": True, "forgets": 0.10},
    "says so wrongly: forgets one in three": {"says": True, "forgets": 0.33},
    "presses for nothing once a pass": {"stray": 1.0},
    "hazy: spread 10 %": {"spread": 0.10},
    "changes 35 % around the level": {"apart": 0.35},
    "each change drilled a week ago": {"drilled": True},
}


def one_player(
    chance: np.random.Generator,
    one: Pass,
    keeps: float = 0.9,
    forgets: float = 0.25,
    reaction_s: tuple[float, float] = (0.25, 0.08),
    says: bool = False,
    stray: float = 0.0,
    spread: float | None = None,
    apart: float = ct.RELATED_SD,
    drilled: bool = False,
) -> list[tuple[float, ...]]:
    """Of each change: the true clean tempo, what is believed of it (mean, low, high: logs), share flagged."""
    drills = list(dict.fromkeys(landing.drill for landing in one.landings))
    level = chance.normal(math.log(ct.TYPICAL_BPM), ct.TYPICAL_SD)
    truth = {drill: chance.normal(level, apart) for drill in drills}
    width = math.exp(chance.normal(math.log(0.05), 0.35)) if spread is None else spread

    def keep(drill, log_tempo):
        return math.exp(-np.logaddexp(0.0, (log_tempo - truth[drill]) / width - ct.CLEAN_LOGIT) / 8)

    low, high = math.log(10), math.log(500)
    for _ in range(30):
        middle = (low + high) / 2
        kept = np.mean([keep(landing.drill, middle) for landing in one.landings])
        low, high = (middle, high) if kept > keeps else (low, middle)
    # The song as it is, on another clock: its landings leave the air of a drill at that tempo.
    slower = one.landings[0].tempo_bpm / math.exp(low)
    landings = [
        replace(each, at_s=each.at_s * slower, tempo_bpm=each.tempo_bpm / slower) for each in one.landings
    ]
    before = {}
    if drilled:
        for drill in drills:
            was = truth[drill] + chance.normal(0, math.hypot(0.06, ct.DAY_SD, ct.WEEK_SD))
            before[drill] = ct.PastResult(*(math.exp(was + off) for off in (0.0, -0.1, 0.1)), days_ago=7.0)
    priors = {drill: ct.prior([before[drill]] if drill in before else []) for drill in drills}
    heard = {drill: [] for drill in drills}
    as_played, flags = replace(one, landings=tuple(landings)), Counter()
    for _ in range(PASSES):
        marks: tuple[float, ...] = ()
        lost_bar = -1
        for landing in landings:
            if chance.random() < keep(landing.drill, math.log(landing.tempo_bpm)):
                continue
            if landing.bar == lost_bar:
                continue
            lost_bar = landing.bar
            if chance.random() >= forgets:
                marks = with_mark(marks, landing.at_s + max(0.1, chance.normal(*reaction_s)))
        strays = [chance.uniform(0, one.end_s * slower) for _ in range(chance.poisson(stray))]
        marks = tuple(sorted((*marks, *strays)))
        for meant in {landing_meant(as_played, mark, REACTION_S) for mark in marks} - {None}:
            flags[landings[meant].drill] += 1
        for change in heard_in(landings, marks, says, believed_wrong(priors.__getitem__)):
            heard[change.drill].append(change)
    level_of = levels(heard, before)
    found = []
    for drill in drills:
        begun = priors[drill] if drill in before else ct.prior([level_of[drill]])
        mass = begun.mass * likelihood_of_all(heard[drill])
        estimate = ct.estimate(ct.Posterior(mass / mass.sum(), 1))
        share = flags[drill] / sum(landing.drill == drill for landing in landings)
        found.append((truth[drill], *(math.log(bpm) for bpm in estimate), share))
    return found


def told(found: np.ndarray) -> list[str]:
    truth, mean, low, high, flagged = found.T
    error = np.expm1(mean - truth)
    inside = (low <= truth) & (truth <= high)
    number = (high - low) / 2 <= ct.TOO_WIDE
    rms, mean_error = (100 * math.sqrt(np.mean(error**2)), 100 * error.mean())
    sure = 100 * math.sqrt(np.mean(error[number] ** 2)) if number.any() else math.nan
    all_of_them = f"{rms:.1f} {mean_error:+.1f} ({100 * inside.mean():.0f})"
    by_rank = (f"{hardest(truth, believed):.2f}" for believed in (mean, -flagged))
    return [all_of_them, f"{100 * number.mean():.0f}", f"{sure:.1f}", *by_rank]


def hardest(truth: np.ndarray, believed: np.ndarray) -> float:
    """How many of a player's three hardest changes are among those believed so, on average."""
    right = [
        len(set(np.argsort(one)[:3]) & set(np.argsort(other)[:3]))
        for one, other in zip(truth.reshape(-1, 12), believed.reshape(-1, 12), strict=True)
    ]
    return float(np.mean(right))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=40)
    parser.add_argument("--seed", type=int, default=71)
    asked = parser.parse_args()
    one = pass_of(SONG, 100)
    rows = []
    for number, (name, kind) in enumerate(KINDS.items()):
        chance = np.random.default_rng((asked.seed, number))
        found = [pair for _ in range(asked.players) for pair in one_player(chance, one, **kind)]
        rows.append([name, *told(np.array(found))])
        print(rows[-1], flush=True)
    (drilled,) = measure(Players.drawn(12 * asked.players, asked.seed + 1), ASK, 50.0)
    error = f"{100 * math.sqrt(np.mean(drilled.error**2)):.1f} {100 * drilled.error.mean():+.1f}"
    # The same errors, on changes that lie around their players' levels.
    truth = np.random.default_rng(asked.seed + 2).normal(0, ct.RELATED_SD, 12 * asked.players)
    found = hardest(truth, truth + np.log1p(drilled.error))
    covers = f"{100 * drilled.covers.mean():.0f}"
    rows.append(["drills, 50 s each: ten minutes", f"{error} ({covers})", "", "", f"{found:.2f}", ""])
    headers = [
        "",
        "ten run-throughs",
        "told as a number, %",
        "RMS of these",
        "of the hardest",
        "by flags",
    ]
    print(tabulate(rows, headers, tablefmt="pipe"))


if __name__ == "__main__":
    main()
