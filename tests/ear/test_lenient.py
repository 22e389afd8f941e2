"""A lenient foot, and the ear beside it: a small part of the table in docs/evidence/ear.md."""

from __future__ import annotations

import pytest

from tests.benchmarks.lenient import STANDARD, Ear, Foot, Passes, Watched
from tests.benchmarks.simulated import ASK, measure

HALF = Foot(Passes.ANY, 0.5)


def bias(foot: Foot, ear: Ear | None) -> float:
    players = Watched.drawn(400, 71)
    players.foot, players.ear = foot, ear
    (found,) = measure(players, ASK, 150.0)
    return float(found.error.mean())


def test_the_ear_takes_away_what_a_lenient_foot_adds():
    assert bias(HALF, None) > 0.03
    assert abs(bias(HALF, STANDARD)) < 0.015


def test_it_takes_little_away_from_a_strict_foot():
    strict = Foot(Passes.NONE, 0.0)
    assert bias(strict, STANDARD) == pytest.approx(bias(strict, None), abs=0.012)
