"""Takes and players for the tests of practice."""

from __future__ import annotations

import math

import numpy as np

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.rungs import Ladder
from pedaltrainer.practice.take import Outcome, Take

DRILL = parse_drill("Am E")


def take(tempo_bpm: float, passed: bool, **more: object) -> Take:
    landings = int(more.pop("landings", 8))  # type: ignore[call-overload]
    outcome = Outcome.PASS_ if passed else Outcome.FAIL
    return Take(DRILL, tempo_bpm, landings, outcome, **more)  # type: ignore[arg-type]


def void(tempo_bpm: float = 80) -> Take:
    return Take(DRILL, tempo_bpm, 8, Outcome.VOID)


def is_clean(rng: np.random.Generator, tempo_bpm: float, clean_bpm: float, spread: float = 0.05) -> bool:
    z = math.log(clean_bpm / tempo_bpm) / spread + math.log(4)
    return bool(rng.random() < 1 / (1 + math.exp(-max(min(z, 500), -500))))


def played(ladder: Ladder, clean_bpm: float, takes: int, seed: int = 0, spread: float = 0.05) -> list[Ladder]:
    """The ladders after each take of a player with this clean tempo; stops where the ladder does."""
    rng = np.random.default_rng(seed)
    ladders = [ladder]
    for _ in range(takes):
        if ladders[-1].ended:
            break
        tempo_bpm = ladders[-1].tempo_bpm
        ladders.append(ladders[-1].answered(take(tempo_bpm, is_clean(rng, tempo_bpm, clean_bpm, spread))))
    return ladders
