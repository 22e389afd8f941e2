"""What a lenient foot does to the clean tempo, and what the ear beside it leaves of that.

    python -m tests.benchmarks.lenient [--players N] [--told]

The players and the measurement are those of `players` and `simulated`; here some misses are late landings,
each by so many milliseconds. The foot knows of every other miss; of the late ones some pass. The ear answers
by itself only what is late, absent or another chord, from the third take of a sitting on (two clean ones are
its reference), as rightly and wrongly as docs/evidence/ear.md found on guitars that it had never heard. Where
it is unsure, or hears a dead string, the foot's answer stands. Nobody overrules it, but where that is said.
A cell is the mean error of the tempo in per cent, and in brackets how many of a hundred 90 % intervals hold
the truth. --told: the ear only advises, and afterwards says by how much the foot flatters.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from tabulate import tabulate

from pedaltrainer.ear.deciding import LATE_MS
from pedaltrainer.ear.verdicts import HeardTake
from pedaltrainer.practice.agreement import MOST_TAKES, TwiceJudged, flattery_of
from pedaltrainer.practice.ladders.rungs import LadderStart
from pedaltrainer.practice.take import Outcome, Take
from tests.benchmarks.players import Array, Players, Said
from tests.benchmarks.simulated import ASK, DRILL, measure

AT_S = (150.0, 300.0)
REFERENCES = 2
DAY = datetime(2026, 3, 2, tzinfo=UTC)
LATER_MS = 80.0
"""By how much a late landing is later than it may be, on average; exponential: our own guess."""


class Passes(Enum):
    """What a lenient foot calls clean."""

    NONE = "nothing"
    ANY = "any late landing, by chance"
    LEAST = "the least late landings"
    TAKES = "takes in which landings were late, by chance"


@dataclass(frozen=True, slots=True)
class Foot:
    """share: of what it is lenient with, so much passes."""

    passes: Passes
    share: float


@dataclass(frozen=True, slots=True)
class Ear:
    """As measured (docs/evidence/ear.md).

    off_ms: the scale of its error, exponential to both sides: half is within 0.69 of it, 95 of 100 within 3.
    in_order: so many landings in order are called late, absent or another chord. finds: of the late ones so
    many are told from the click. decided: so many takes it judges at all. overruled: so many of its answers.
    """

    name: str
    off_ms: float
    in_order: float
    finds: float = 1.0
    decided: float = 1.0
    overruled: float = 0.0


STANDARD = Ear("standard", 3.9, 1 / 1626)
ROUGH = Ear("rough", 5.4, 6 / 1491)
CLICK = Ear("click at -10 dB", 5.6, 1 / 613, finds=25 / 26, decided=0.93)
EARS = (STANDARD, ROUGH, CLICK, replace(STANDARD, name="standard, overruled once in five", overruled=0.2))


@dataclass
class Watched(Players):
    """Players with a lenient foot, and the ear beside it or not."""

    foot: Foot = Foot(Passes.NONE, 0.0)
    ear: Ear | None = None
    late_share: float = 1.0
    advises: list[tuple[NDArray[np.int64], Array, NDArray[np.bool_], NDArray[np.bool_]]] | None = None
    """Where it is a list, the ear answers nothing: of each take who, the tempo, foot's and ear's misses."""

    def play(self, who: NDArray[np.int64], tempo_bpm: Array, start: LadderStart, takes: int = 0) -> Said:
        """One take each, asked about when it is over."""
        count, rng, landings = len(who), self.rng, start.landings
        wrong = rng.random((count, landings)) >= self.keeps(who, tempo_bpm, takes, landings)
        late = wrong & (rng.random((count, landings)) < self.late_share)
        late_ms = LATE_MS + rng.exponential(LATER_MS, (count, landings))
        missed = self._seen(wrong, late, late_ms) ^ (rng.random(count) < self.kind.lapse)
        if self.ear is not None and takes >= REFERENCES:
            heard = self._heard(self.ear, wrong, late, late_ms)
            if self.advises is None:
                missed |= heard
            else:
                self.advises.append((who, tempo_bpm, missed, heard))
        full_s = landings * start.beats_per_chord * 60 / tempo_bpm
        none = np.zeros(count, bool)
        return Said(~missed, none, none, full_s, full_s - 0.5 * 60 / tempo_bpm)

    def _seen(self, wrong: NDArray[np.bool_], late: NDArray[np.bool_], late_ms: Array) -> NDArray[np.bool_]:
        """Whether the foot knows of a miss in a take."""
        rng, foot = self.rng, self.foot
        if foot.passes is Passes.ANY:
            return (wrong & ~(late & (rng.random(late.shape) < foot.share))).any(axis=1)
        if foot.passes is Passes.LEAST:
            passable_ms = LATE_MS - LATER_MS * np.log1p(-foot.share)
            return (wrong & ~(late & (late_ms < passable_ms))).any(axis=1)
        if foot.passes is Passes.TAKES:
            waved = (wrong == late).all(axis=1) & (rng.random(len(late)) < foot.share)
            return wrong.any(axis=1) & ~waved
        return wrong.any(axis=1)

    def _heard(
        self, ear: Ear, wrong: NDArray[np.bool_], late: NDArray[np.bool_], late_ms: Array
    ) -> NDArray[np.bool_]:
        """Whether the ear answers a take by itself, and that stands."""
        rng = self.rng
        heard_ms = late_ms + rng.laplace(0.0, ear.off_ms, late.shape)
        by_chance = rng.random(late.shape)
        heard = np.where(
            wrong, late & (heard_ms > LATE_MS) & (by_chance < ear.finds), by_chance < ear.in_order
        )
        stands = rng.random(len(late)) < ear.decided * (1 - ear.overruled)
        found: NDArray[np.bool_] = heard.any(axis=1) & stands
        return found


def told(count: int, foot: Foot, late_share: float, ear: Ear | None) -> list[str]:
    """A cell for each of AT_S."""
    players = Watched.drawn(count, 61)
    players.foot, players.late_share, players.ear = foot, late_share, ear
    found = measure(players, ASK, *AT_S)
    return [f"{one.error.mean() * 100:+.1f} ({one.covers.mean() * 100:.0f})" for one in found]


def rows(count: int, late_share: float, ears: Iterable[Ear | None]) -> Iterable[list[str]]:
    feet = [Foot(Passes.NONE, 0.0)] + [
        Foot(passes, share)
        for passes in (Passes.LEAST, Passes.ANY, Passes.TAKES)
        for share in ((0.2, 0.5) if passes is not Passes.TAKES else (0.2,))
    ]
    for foot in feet:
        share = f"{foot.share:.0%} of " if foot.share else ""
        for ear in ears:
            name = "foot alone" if ear is None else f"ear, {ear.name}"
            yield [f"{share}{foot.passes.value}", name, *told(count, foot, late_share, ear)]


def told_of_flattery(count: int, foot: Foot) -> Iterable[list[str]]:
    """By how many takes, what `flattery_of` says: the middle of the players, nine in ten of them, and of how
    many it says nothing; and the middle of what is true of the foot."""
    players = Watched.drawn(count, 62)
    players.foot, players.ear, players.advises = foot, STANDARD, []
    (found,) = measure(players, ASK, 1200.0)
    judged: list[list[TwiceJudged]] = [[] for _ in range(count)]
    for who, tempo_bpm, missed, heard in players.advises:
        for one, bpm, by_foot, by_ear in zip(who, tempo_bpm, missed, heard, strict=True):
            take = Take(DRILL, float(bpm), 8, Outcome.FAIL if by_foot else Outcome.PASS_)
            judged[one].append(TwiceJudged(DAY, take, HeardTake.MISSED if by_ear else HeardTake.CLEAN))
    true = float(np.median(np.expm1(found.estimate_log - found.clean_log)))
    for takes in (20, 40, MOST_TAKES):
        all_told = [flattery_of(one[:takes]) for one in judged]
        shares = [one.share for one in all_told if one is not None]
        low, middle, high = np.percentile(shares, (5, 50, 95)) * 100
        told_of_it = f"{middle:+.1f} ({low:+.1f} to {high:+.1f})"
        silent = f"{1 - len(shares) / count:.0%}"
        kind = f"{foot.share:.0%} of {foot.passes.value}"
        yield [kind, str(takes), told_of_it, silent, f"{true * 100:+.1f}"]


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--players", type=int, default=2000)
    read.add_argument("--told", action="store_true")
    asked = read.parse_args()
    if asked.told:
        feet = (Foot(Passes.NONE, 0.0), Foot(Passes.ANY, 0.2), Foot(Passes.ANY, 0.5))
        headers = ["what passes", "takes", "told: middle (nine in ten)", "nothing told", "true, 1200 s"]
        print(
            tabulate(
                [row for foot in feet for row in told_of_flattery(asked.players, foot)], headers, "github"
            )
        )
        return
    for name, late_share in (("every miss is late", 1.0), ("six misses in ten are late", 0.6)):
        print(f"\n{name}")
        headers = ["what passes", "judge", *(f"{at:.0f} s" for at in AT_S)]
        print(tabulate(list(rows(asked.players, late_share, (None, *EARS))), headers, "github"), flush=True)


if __name__ == "__main__":
    main()
