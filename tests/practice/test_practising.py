"""The benchmark of rules of practice does what the product does, many players at a time."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.coach.plan import BLOCK_MIN
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.rungs import PRACTISE_CHANCE
from pedaltrainer.session.state import LEAST_TAKES
from tests.benchmarks import practising
from tests.benchmarks.learners import Assumptions, Learners

BELIEFS = np.stack(
    [ct.prior((ct.PastResult(bpm, bpm / 1.06, bpm * 1.07, 3),)).mass for bpm in range(25, 290, 13)]
)


def test_the_rule_that_is_measured_is_the_rule_that_is_built():
    ours = practising.OURS
    assert (ours.practise_chance, ours.ready_chance) == (PRACTISE_CHANCE, ct.READY_CHANCE)
    assert (ours.block_min, ours.least_takes) == (BLOCK_MIN, LEAST_TAKES)


@pytest.mark.parametrize("chance", [0.75, 0.80, 0.87])
def test_the_tempo_found_by_halving_is_the_ladders(chance):
    highest = np.random.default_rng(1).uniform(22, 300, len(BELIEFS))
    assert (
        practising.clean_at(BELIEFS, chance, highest) == choosing.clean_at(BELIEFS, chance, 8, highest)
    ).all()


def test_the_chance_of_being_ready_is_the_plans():
    tempos = np.linspace(30, 280, len(BELIEFS))
    here = practising.at_least(BELIEFS, np.log(tempos))
    there = [
        ct.chance_at_least(ct.Posterior(one.copy()), bpm) for one, bpm in zip(BELIEFS, tempos, strict=True)
    ]
    assert here == pytest.approx(there, abs=1e-6)


def test_a_few_players_get_ready_and_no_sooner_by_practising_what_is_ready_too():
    likes = Assumptions(needed=(0.9, 1.0))
    ours = practising.until_ready(Learners.drawn(6, 3, likes), practising.OURS)
    equal = practising.until_ready(Learners.drawn(6, 3, likes), practising.RIVALS["equal time"])
    assert (ours < practising.NEVER_MIN).sum() >= 4
    assert math.fsum(ours) < math.fsum(equal)
