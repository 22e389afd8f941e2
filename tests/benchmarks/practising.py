"""Which rule of practice makes a set of changes ready soonest? On made-up players who learn.

    python -m tests.benchmarks.practising [--players N] [--seed N] [--only LAW] [--ablation]

Twelve changes, twenty minutes a day, forty-five days at most; whoever is not ready then counts as 900 minutes
and as "never". All rules get the same players and see their answers alone, through the product's own beliefs
(`Players` and `Learners` hold what is true). The baseline is the simplest rule that is not foolish: each
change that is not yet ready, in turn, three minutes each, at the tempo where the product's ladder lets one
learn. Minutes are those of a watch: count-ins, answers, breaths and the reading of a new drill included.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass, replace

import numpy as np
from tabulate import tabulate

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.counted import LAPSE, as_a_pass
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.rungs import FASTEST_BPM, LadderStart
from pedaltrainer.practice.ladders.seek import highest_next, shape_of
from tests.benchmarks.learners import KEEP_LOG, NEW_DRILL_S, PAUSE_S, Assumptions, Learners
from tests.benchmarks.players import Kind, Players

SESSION_MIN, MOST_DAYS = 20.0, 45
NEVER_MIN = SESSION_MIN * MOST_DAYS
START = LadderStart(60)
AS_A_PASS = as_a_pass(np.exp(START.landings * KEEP_LOG), LAPSE)
"""The model's chance of an answer *clean*, by whole tempo: [tempos, spreads, tempos of the grid]."""

LAWS = {
    "as assumed": Assumptions(),
    "exponential": Assumptions(law="exponential", exponent=0.3),
    "by steps": Assumptions(step_landings=60),
    "forgetting": Assumptions(forgetting=0.06),
    "interference": Assumptions(interference=0.1),
    "shapes are not shared": Assumptions(shared_shapes=False),
    "no shape limits": Assumptions(shapes_faster=0.6),
    "haste harms": Assumptions(haste=0.5),
    "days differ by 8 %": Assumptions(day_sd=0.08),
    "a tenth of answers wrong": Assumptions(lapse=0.10),
}


@dataclass(frozen=True)
class Rule:
    """How a trainer practises. order: "turn", "longest unplayed", "furthest behind" or "shuffled".

    as_of: the belief that says ready: "today" (widened for the days since) or "its last take".
    """

    practise_chance: float = 0.80
    ready_chance: float = 0.80
    as_of: str = "its last take"
    leave_at_once: bool = True
    least_takes: int = 3
    block_min: float = 3.0
    order: str = "longest unplayed"
    finished_too: bool = False
    measure_min: float = 0.0
    """Minutes that the first visit of a change measures it, in place of practising."""
    warm_up_min: float = 0.0
    pause_s: float = PAUSE_S


BASELINE = Rule(practise_chance=0.87, as_of="today", leave_at_once=False, order="turn")
OURS = Rule()
RIVALS = {
    "equal time": replace(BASELINE, finished_too=True),
    "furthest behind": replace(BASELINE, order="furthest behind"),
}
WITHOUT = {
    "chance 0.75": replace(OURS, practise_chance=0.75),
    "chance 0.87": replace(OURS, practise_chance=0.87),
    "ready by today's belief": replace(OURS, as_of="today"),
    "ready from 0.9": replace(OURS, ready_chance=0.9),
    "ready from 0.7": replace(OURS, ready_chance=0.7),
    "three minutes to the end": replace(OURS, leave_at_once=False),
    "left after one take": replace(OURS, least_takes=1),
    "in turn": replace(OURS, order="turn"),
    "furthest behind first": replace(OURS, order="furthest behind"),
    "shuffled": replace(OURS, order="shuffled"),
    "two minutes": replace(OURS, block_min=2.0),
    "five minutes": replace(OURS, block_min=5.0),
    "measured first": replace(OURS, measure_min=2.0),
    "a warm-up of 2 min": replace(OURS, warm_up_min=2.0),
    "breaths of 1.5 s": replace(OURS, pause_s=1.5),
}


class Practice:
    """All players at once, each on the change that the rule gives, take by take."""

    def __init__(self, players: Learners, rule: Rule) -> None:
        self.hands, self.rule = players, rule
        count, changes = players.needed.shape
        self.rng = np.random.default_rng(players.seed + 1)
        self.feet = Players(
            np.zeros(count), players.spread, self.rng, Kind("as assumed", lapse=players.like.lapse)
        )
        self.mass = np.repeat(np.repeat(ct.prior().mass[None, None], changes, 1), count, 0)
        self.takes = np.zeros((count, changes), np.int64)
        self.last_s = np.full((count, changes), -math.inf)
        self.chance = np.zeros((count, changes))
        self.mean = np.full((count, changes), math.nan)
        self.last_day = np.zeros((count, changes), np.int64)
        self.clock_s = np.zeros(count)
        self.new_day(0)

    def new_day(self, day: int) -> None:
        shape = self.takes.shape
        self.day = day
        self.opened = np.zeros(shape, bool)
        self.best, self.before = np.full(shape, math.nan), np.full(shape, math.nan)
        self.off = self.rng.normal(0.0, self.hands.like.day_sd, shape[0]) if self.hands.like.day_sd else 0.0
        if self.rule.as_of == "today" and day:
            for player, change in np.argwhere(self.takes > 0):
                widened = ct.prior((self._past(player, change),)).mass
                needed = self.hands.needed[player, change]
                self.chance[player, change] = at_least(widened[None], needed)[0]

    def _past(self, player: int, change: int) -> PastResult:
        found = ct.estimate(ct.Posterior(self.mass[player, change].copy()))
        return PastResult(*found, float(self.day - self.last_day[player, change]))

    def open(self, player: int, change: int) -> None:
        """Before today's first take: the last belief widened, or what the other changes suggest."""
        if self.opened[player, change]:
            return
        self.opened[player, change] = True
        if self.takes[player, change]:
            mass = ct.prior((self._past(player, change),)).mass
            self.before[player, change] = math.exp(float(ct.moments(mass[None])[0][0]))
        else:
            mass = ct.prior(self._kin(player, change)).mass
        self.mass[player, change] = mass

    def _kin(self, player: int, change: int) -> tuple[PastResult, ...]:
        """One pooled result, as `practice.coach.evidence.related` makes of changes."""
        names = self.hands.named[player]
        near = (names[:, :, None] == names[change][None, None, :]).any(axis=(1, 2))
        played = self.takes[player] > 0
        logs = self.mean[player, near & played] if (near & played).any() else self.mean[player, played]
        if not len(logs):
            return ()
        sd = math.hypot(0.05, logs.std() / math.sqrt(len(logs)), 0.0 if (near & played).any() else 0.2)
        middle = logs.mean()
        ends = (math.exp(middle), math.exp(middle - 1.645 * sd), math.exp(middle + 1.645 * sd))
        return (PastResult(*ends, 0.0, related=True),)

    def choose(self, player: int, last: int) -> int:
        """The next change. The one that was just practised comes again only where it is alone."""
        rule = self.rule
        ready = (self.takes[player] > 0) & (self.chance[player] >= rule.ready_chance)
        among = np.flatnonzero(~ready) if not rule.finished_too and not ready.all() else np.arange(len(ready))
        others = among[among != last] if len(among) > 1 else among
        if rule.order == "longest unplayed":
            return int(others[np.argmin(self.last_s[player, others])])
        if rule.order == "turn":
            return int(min(others, key=lambda one: (one <= last, one)))
        if rule.order == "shuffled":
            return int(self.rng.choice(others))
        mean = np.where(np.isnan(self.mean[player]), -math.inf, self.mean[player])
        return int(others[np.argmin(mean[others] - self.hands.needed[player, others])])

    def take(self, who: np.ndarray, change: np.ndarray, measuring: np.ndarray) -> np.ndarray:
        """One take each; the seconds it took."""
        mass = ct.wander(self.mass[who, change])
        best, before = self.best[who, change], self.before[who, change]
        highest = np.minimum(highest_next(START, best, np.ones(len(who), bool), before), FASTEST_BPM)
        tempo_bpm = clean_at(mass, self.rule.practise_chance, highest)
        if measuring.any():
            these = np.flatnonzero(measuring)
            bold = highest_next(START, best[these], ~np.isnan(best[these]), before[these])
            bold = np.minimum(bold, FASTEST_BPM)
            tempo_bpm[these] = choosing.most_telling(mass[these], choosing.table(shape_of(START)), bold)
        drill = np.zeros(len(self.takes), np.int64)
        drill[who] = self.hands.shapes + change
        self.feet.clean_log = self.hands.clean_log(drill) + self.off
        said = self.feet.play(who, tempo_bpm, START)
        passed, played_s = said.passed, START.count_in_beats * 60 / tempo_bpm + said.played_s
        self.hands.practise(who, drill[who], tempo_bpm, np.full(len(who), float(START.landings)))
        as_pass = AS_A_PASS[np.rint(tempo_bpm).astype(np.int64)]
        mass = ct.weigh(mass, np.where(passed[:, None, None], as_pass, 1 - as_pass))
        self.mass[who, change] = mass
        self.mean[who, change] = ct.moments(mass)[0]
        self.chance[who, change] = at_least(mass, self.hands.needed[who, change])
        self.takes[who, change] += 1
        self.last_day[who, change] = self.day
        self.best[who, change] = np.where(passed, np.fmax(best, tempo_bpm), best)
        spent_s = played_s + self.rule.pause_s
        self.clock_s[who] += spent_s
        self.last_s[who, change] = self.clock_s[who]
        return spent_s


def clean_at(mass: np.ndarray, chance: float, highest_bpm: np.ndarray) -> np.ndarray:
    """What `choosing.clean_at` gives, found by halving: the chance of a clean take falls with the tempo."""
    bpm, flat = choosing.CANDIDATES_BPM, mass.reshape(len(mass), -1).astype(np.float32)
    rows = choosing.table(choosing.TakeShape(landings=START.landings)).chances.T
    wanted = LAPSE + (1 - 2 * LAPSE) * chance
    slower, faster = np.zeros(len(mass), np.int64), np.full(len(mass), len(bpm) - 1)

    def said(at: np.ndarray) -> np.ndarray:
        return np.einsum("pg,pg->p", flat, rows[at])

    while (faster - slower > 1).any():
        middle = (slower + faster) // 2
        clean = said(middle) >= wanted
        slower, faster = np.where(clean, middle, slower), np.where(clean, faster, middle)
    nearest = np.where(wanted - said(faster) < said(slower) - wanted, faster, slower)
    allowed = np.searchsorted(bpm, highest_bpm, side="right") - 1
    return bpm[np.minimum(nearest, allowed)].astype(np.float64)


def at_least(mass: np.ndarray, log_tempo: np.ndarray) -> np.ndarray:
    """The chance that the log clean tempo is at least this: [players]."""
    tempos = mass.sum(axis=1)
    above = np.clip((ct.LOG_TEMPOS[None] - np.reshape(log_tempo, (-1, 1))) / ct.GRID_STEP + 0.5, 0.0, 1.0)
    return (tempos * above).sum(axis=1)


def until_ready(players: Learners, rule: Rule) -> np.ndarray:
    """Minutes until every change of the set is truly ready: [players]; NEVER_MIN where it is not."""
    practice = Practice(players, rule)
    count = len(players.needed)
    minutes = np.full(count, NEVER_MIN)
    done = players.is_ready()
    minutes[done] = 0.0
    on = np.full(count, -1)
    for day in range(MOST_DAYS):
        if done.all():
            break
        practice.new_day(day)
        begun_s = practice.clock_s.copy()
        practice.clock_s += rule.warm_up_min * 60
        left_s, visit, measure_s = np.zeros(count), np.zeros(count, np.int64), np.zeros(count)
        active = ~done
        while active.any():
            for player in np.flatnonzero(active & (left_s <= 0)):
                if practice.clock_s[player] - begun_s[player] >= SESSION_MIN * 60 - 6:
                    active[player] = False
                    continue
                new = practice.choose(player, on[player])
                practice.clock_s[player] += NEW_DRILL_S if new != on[player] else 0.0
                on[player], visit[player] = new, 0
                left_s[player] = rule.block_min * 60
                measure_s[player] = 0.0 if practice.takes[player, new] else rule.measure_min * 60
                practice.open(player, new)
            who = np.flatnonzero(active)
            if not len(who):
                break
            spent_s = practice.take(who, on[who], measure_s[who] > 0)
            left_s[who] -= spent_s
            measure_s[who] -= spent_s
            visit[who] += 1
            if rule.leave_at_once:
                ready = practice.chance[who, on[who]] >= rule.ready_chance
                left_s[who[ready & (visit[who] >= rule.least_takes)]] = 0.0
            over = practice.clock_s[who] - begun_s[who] >= SESSION_MIN * 60
            left_s[who[over]] = 0.0
            there = who[players.is_ready()[who]]
            minutes[there] = day * SESSION_MIN + (practice.clock_s[there] - begun_s[there]) / 60
            done[there], active[there] = True, False
        players.sleep()
    return np.minimum(minutes, NEVER_MIN)


def against(ours: np.ndarray, base: np.ndarray) -> str:
    """The paired difference of the means, as a share of the baseline's, with its standard error."""
    off = ours - base
    share = off.mean() / base.mean() * 100
    error = off.std(ddof=1) / math.sqrt(len(off)) / base.mean() * 100
    return f"{share:+.1f} ± {error:.1f} %"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--players", type=int, default=400)
    parser.add_argument("--seed", type=int, default=71)
    parser.add_argument("--only", choices=LAWS)
    parser.add_argument("--ablation", action="store_true", help="every ingredient changed in turn")
    asked = parser.parse_args()
    print(Assumptions().words, "\n")
    rules = WITHOUT if asked.ablation else RIVALS
    rows = []
    for law, like in LAWS.items():
        if asked.only not in (None, law):
            continue
        spent = {
            name: until_ready(Learners.drawn(asked.players, asked.seed, like), rule)
            for name, rule in {"unready in turn": BASELINE, "ours": OURS, **rules}.items()
        }
        base, ours = spent["unready in turn"], spent["ours"]
        never = [f"{(one >= NEVER_MIN).mean() * 100:.1f}" for one in (base, ours)]
        means = (f"{base.mean():.0f}", f"{ours.mean():.0f}", against(ours, base))
        if asked.ablation:
            rows.append([law, *means[:2], *(against(spent[name], ours) for name in rules)])
        else:
            others = [f"{spent[name].mean():.0f}" for name in rules]
            worse = f"{(ours > base).mean() * 100:.0f} %"
            rows.append([law, *means, worse, *never, *others])
        print(f"  {law}: done", flush=True)
    head = ["law", "unready in turn", "ours"]
    if asked.ablation:
        print(tabulate(rows, [*head, *(f"{name}, against ours" for name in rules)], tablefmt="github"))
        return
    more = ["difference", "worse for", "never: in turn %", "ours %"]
    print(tabulate(rows, [*head, *more, *RIVALS], tablefmt="github"))


if __name__ == "__main__":
    main()
