"""What a counted answer tells of the clean tempo."""

from __future__ import annotations

from math import comb

import numpy as np
import pytest
from scipy.stats import binom

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice import counted
from pedaltrainer.practice.counted import LAPSE, as_a_pass, missed_more, missed_once
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import MORE, Outcome, Take

KEEP_LOG = np.log(np.linspace(0.05, 0.999, 40))


@pytest.mark.parametrize("landings", [1, 2, 8, 33])
def test_the_three_answers_are_all_there_is(landings):
    clean = as_a_pass(np.exp(landings * KEEP_LOG), LAPSE)
    total = clean + missed_once(KEEP_LOG, landings) + missed_more(KEEP_LOG, landings)
    assert np.allclose(total, 1)


def test_without_clustering_lapses_and_miscounts_it_is_the_binomial_law(monkeypatch):
    """Held against scipy.stats.binom."""
    monkeypatch.setattr(counted, "TOGETHER", 0.0)
    monkeypatch.setattr(counted, "MISCOUNTED", 0.0)
    keep = np.exp(KEEP_LOG)
    assert np.allclose(missed_once(KEEP_LOG, 8, 0.0), binom.pmf(1, 8, 1 - keep))
    assert np.allclose(missed_once(KEEP_LOG, 8, 0.0), comb(8, 1) * (1 - keep) * keep**7)
    assert np.allclose(missed_more(KEEP_LOG, 8, 0.0), binom.sf(1, 8, 1 - keep))


def found_bpm(misses: int | None) -> float:
    takes = [Take(parse_drill("Am E"), 100, 8, Outcome.FAIL, misses=misses)] * 3
    takes.append(Take(parse_drill("Am E"), 80, 8, Outcome.PASS_))
    return ct.estimate(ct.update_all(ct.prior(), takes)).bpm


def test_a_single_miss_is_better_news_than_a_miss_and_several_are_worse():
    assert found_bpm(MORE) < found_bpm(None) < found_bpm(1)
