"""The ladder **seek**: after every answer, the tempo that tells most.

In measure mode it asks for the tempo that is expected to take most off the
uncertainty per second of playing, and ends when the 90 % interval is tight.
In practise mode it keeps to the tempo at which the player's next take is clean
with a chosen chance: hard enough to learn, easy enough to be right.
Either way no tempo is much above the fastest one passed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.rungs import (
    TIME_UP,
    EndedBy,
    Ending,
    Finding,
    LadderResult,
    LadderStart,
    Rung,
    best_of,
    finding_of,
    on_the_ladder,
    with_answer,
)
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

T = TypeVar("T")
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Seek:
    """The ladder after some takes. Two are equal when their start and their takes are.

    What is slow to find is found once, when it is first asked for: the stage
    asks sixty times a second where a pass and where a fail would lead.
    """

    start: LadderStart
    takes: tuple[Take, ...]
    tried: tuple[Rung, ...] = field(compare=False)
    posterior: ct.Posterior = field(compare=False, repr=False)
    _found: dict[object, Any] = field(default_factory=dict, compare=False, repr=False)

    @property
    def name(self) -> str:
        return "seek"

    @property
    def tempo_bpm(self) -> int:
        return self._once("next", self._choose)

    @property
    def estimate(self) -> ct.Estimate:
        """The clean tempo believed so far, with its 90 % interval."""
        return self._once("estimate", lambda: ct.estimate(self.posterior))

    @property
    def fastest_bpm(self) -> float:
        """No next tempo is above this: a step over the fastest one passed, or over the start.

        Where one begins gently, none is much above the take before either.
        """
        cautious = self.start.mode == "practise" or (
            any(rung.fails for rung in self.tried) and not self._on_a_clean_run
        )
        best, before = best_of(self.tried), self._known_before
        none = math.nan
        rise = self.start.most_rise
        gentle = self.takes[-1].tempo_bpm * (1 + rise) if rise is not None and self.takes else math.inf
        highest = float(
            highest_next(
                self.start,
                np.array([none if best is None else best]),
                np.array([cautious]),
                np.array([none if before is None else before]),
            )[0]
        )
        # The slowest candidate is always there to be asked for.
        return max(min(highest, gentle), SLOWEST_BPM + 1.0)

    @property
    def _on_a_clean_run(self) -> bool:
        run = self.start.rules.clean_run
        last = [] if run is None else self.takes[-run:]
        return len(last) == run and all(take.outcome is Outcome.PASS_ for take in last)

    @property
    def _is_steady(self) -> bool:
        """Is the next take one at the clean tempo, whatever would tell most?"""
        every = self.start.rules.steady_every
        return every is not None and self._known_before is not None and len(self.takes) % every == every - 1

    @property
    def _known_before(self) -> float | None:
        if not any(not past.related for past in self.start.history):
            return None
        return self._once("before", lambda: ct.estimate(ct.prior(self.start.history, self.start.rules)).bpm)

    @property
    def ended(self) -> Ending | None:
        if self.start.mode == "practise" or not self.takes:
            return None
        low, high = self.estimate.low_bpm, self.estimate.high_bpm
        if low > FASTEST_BPM:
            return Ending(EndedBy.TOP_REACHED)
        if high < SLOWEST_BPM:
            return Ending(EndedBy.BOTTOM_MISSED, SLOWEST_BPM)
        if self.estimate.half_width <= self.start.tight:
            return Ending(EndedBy.WELL_KNOWN, self.start.tight * 100)
        return None

    def answered(self, take: Take) -> Seek:
        if take.outcome is Outcome.VOID:
            return self
        return self._once(take, lambda: self._after(take))

    def result(self) -> LadderResult:
        ending = self.ended or TIME_UP
        if not self.takes:
            return LadderResult(ending)
        bpm, low_bpm, high_bpm = self.estimate
        finding = self._finding
        if finding is not Finding.CLEAN_TEMPO:
            return LadderResult(ending, self.tried, finding, (low_bpm, high_bpm))
        found = ct.past_result(self.posterior)
        if not self.start.rules.keeps_the_spread:
            found = replace(found, spread=None, spread_sd=0.0)
        return LadderResult(ending, self.tried, finding, (low_bpm, high_bpm), bpm, found)

    def reaches(self, tempo_bpm: float) -> bool:
        return ct.chance_at_least(self.posterior, tempo_bpm) >= ct.READY_CHANCE

    def rungs(self) -> tuple[Rung, ...]:
        return self.tried

    @property
    def _finding(self) -> Finding:
        passed, failed = any(rung.passes for rung in self.tried), any(rung.fails for rung in self.tried)
        return finding_of(self.estimate, passed, failed, bool(self.start.history))

    def _after(self, take: Take) -> Seek:
        return replace(
            self,
            takes=(*self.takes, take),
            tried=with_answer(self.tried, round(take.tempo_bpm), take.outcome is Outcome.PASS_),
            posterior=ct.update(self.posterior, take),
            _found={},
        )

    def _choose(self) -> int:
        if not self.takes and self.start.first_bpm is not None:
            return self.start.first_bpm
        mass = ct.wander(self.posterior.mass)[None] if self.takes else self.posterior.mass[None]
        fastest_bpm = np.array([self.fastest_bpm])
        if self.start.mode == "practise" or self._is_steady:
            chance = self.start.practise_chance if self.start.mode == "practise" else ct.CLEAN_CHANCE
            return on_the_ladder(choosing.clean_at(mass, chance, self.start.landings, fastest_bpm)[0])
        return on_the_ladder(
            choosing.most_telling(mass, choosing.table(shape_of(self.start)), fastest_bpm)[0]
        )

    def _once(self, name: object, find: Callable[[], T]) -> T:
        if name not in self._found:
            self._found[name] = find()
        found: T = self._found[name]
        return found


def highest_next(
    start: LadderStart, best_bpm: Array, cautious: NDArray[np.bool_], before_bpm: Array
) -> Array:
    """The fastest next tempo that frightens nobody: [players].

    best_bpm: the fastest passed today; cautious: who takes small steps; before_bpm: the clean tempo
    found before; NaN where there is none. What was found before was clean once: half a step above it is
    no leap.
    """
    step = np.where(cautious, start.step_up, start.first_step_up)
    from_best = best_bpm * (1 + step)
    bound = np.where(np.isnan(from_best) & np.isnan(before_bpm), start.start_bpm * (1 + step), from_best)
    highest: Array = np.maximum(np.fmax(bound, before_bpm * (1 + start.step_up / 2)), SLOWEST_BPM + 1.0)
    return highest


def shape_of(start: LadderStart) -> choosing.TakeShape:
    """What a take of this ladder costs and can tell."""
    return choosing.TakeShape(
        start.landings,
        start.beats_per_chord,
        start.count_in_beats,
        start.speak_up,
        start.reaction_s,
        start.pause_s if start.rules.counts_pauses else 0.0,
        start.rules,
        start.counts_misses,
    )


def seek(start: LadderStart) -> Seek:
    """A seek ladder before its first take. Raises ValueError for a mode or share that is none."""
    if start.mode not in {"measure", "practise"}:
        raise ValueError(f"“{start.mode}” is no mode of a ladder; there are measure and practise")
    if not (0 < start.tight < 1 and 0 < start.practise_chance < 1):
        raise ValueError(
            "the interval's half width and the chance of a clean take are shares between 0 and 1"
        )
    if not (start.step_up > 0 and start.first_step_up > 0 and math.isfinite(start.start_bpm)):
        raise ValueError("a step up is a share above 0")
    choosing.table(shape_of(start))
    return Seek(start, (), (), ct.prior(start.history, start.rules))
