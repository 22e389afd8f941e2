"""The clean tempo: what answers say of it, and what they do not."""

from __future__ import annotations

import math
from functools import reduce

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.take import Outcome, Take
from tests.practice.answers import DRILL, is_clean, take, void


def believed(takes, start=None):
    return reduce(ct.update, takes, start or ct.prior())


def test_at_the_clean_tempo_a_take_of_eight_is_clean_four_times_in_five():
    keep = np.exp(ct.log_keep(ct.LOG_TEMPOS[100]))[:, 100]
    assert keep**8 == pytest.approx(np.full(len(ct.SPREADS), 0.8))


def test_a_pass_raises_it_and_a_miss_lowers_it():
    before = ct.estimate(ct.prior()).bpm
    assert ct.estimate(believed([take(85, True)])).bpm > before
    assert ct.estimate(believed([take(85, False)])).bpm < before


def test_sixteen_clean_landings_say_more_than_eight():
    assert (
        ct.estimate(believed([take(85, True, landings=16)])).bpm
        > ct.estimate(believed([take(85, True)])).bpm
        > ct.estimate(believed([take(85, True, landings=2)])).bpm
    )


def test_a_miss_at_the_first_landing_says_more_than_one_at_the_last():
    def after(first_miss):
        return ct.estimate(believed([take(85, False, first_miss=first_miss)])).bpm

    assert after(1) < after(4) < after(8)


def test_a_void_take_says_nothing():
    posterior = believed([take(80, True), take(90, False)])
    assert ct.update(posterior, void()) is posterior


def test_the_belief_stays_a_belief_and_is_not_written_to():
    posterior = believed([take(80, True), take(90, False, press_beat=2.3)])
    assert posterior.mass.sum() == pytest.approx(1)
    assert (posterior.mass >= 0).all()
    with pytest.raises(ValueError, match="read-only"):
        posterior.mass[0, 0] = 1


@pytest.mark.parametrize("clean_bpm", [50, 90, 160])
def test_many_takes_around_it_find_it(clean_bpm):
    rng = np.random.default_rng(3)
    tempos = clean_bpm * np.exp(rng.normal(0.05, 0.06, 150))
    found = ct.estimate(believed(take(float(bpm), is_clean(rng, bpm, clean_bpm)) for bpm in tempos))
    assert found.low_bpm < clean_bpm < found.high_bpm
    assert found.bpm == pytest.approx(clean_bpm, rel=0.05)


# --- history ---------------------------------------------------------------------


def test_what_was_found_before_narrows_the_start_and_less_so_with_the_days():
    widths = [ct.estimate(ct.prior([PastResult(84, 80, 88, days)])).half_width for days in (0, 7, 60, 700)]
    assert widths == sorted(widths)
    assert widths[0] < 0.2
    assert widths[-1] < ct.estimate(ct.prior()).half_width


def test_a_related_drill_says_less_than_the_drill_itself():
    own = ct.estimate(ct.prior([PastResult(120, 115, 125, 1)]))
    related = ct.estimate(ct.prior([PastResult(120, 115, 125, 1, related=True)]))
    assert own.half_width < related.half_width < ct.estimate(ct.prior()).half_width


def test_a_wrong_history_is_overcome():
    rng = np.random.default_rng(8)
    posterior = ct.prior([PastResult(70, 67, 73, 1)])
    for tempo_bpm in np.linspace(70, 135, 40):
        posterior = ct.update(posterior, take(float(tempo_bpm), is_clean(rng, tempo_bpm, 110)))
    found = ct.estimate(posterior)
    assert found.low_bpm < 110 < found.high_bpm


@pytest.mark.parametrize("days_ago", [-3.0, -1e9, math.nan, math.inf, 1e9])
def test_a_clock_that_was_set_back_or_lost_breaks_nothing(days_ago):
    found = ct.estimate(ct.prior([PastResult(84, 80, 88, days_ago)]))
    assert 20 < found.low_bpm < found.bpm < found.high_bpm < 400


@pytest.mark.parametrize("past", [(0, 0, 0), (84, 90, 95), (-1, -2, 3), (math.nan, 1, 2), (90, 80, math.inf)])
def test_a_past_result_that_is_none_is_refused(past):
    with pytest.raises(ValueError, match="no past result"):
        ct.prior([PastResult(*past)])


# --- bad days ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "takes",
    [
        [take(300, True)] * 50,
        [take(20, False)] * 50,
        [take(20, False, first_miss=1)] * 50,
        [take(90, n % 2 == 0) for n in range(100)],
        [take(90, True)],
        [take(90, False)],
        [take(90, n % 5 > 0) for n in range(10_000)],
        [take(200, True), take(30, False)] * 20,
        [take(90, False, press_beat=beat) for beat in (-5.0, 0.0, 40.0, 1e6)],
        [take(90, True, landings=1), take(90, False, landings=400)],
    ],
)
def test_whatever_is_answered_there_are_numbers_and_no_warnings(takes):
    with np.errstate(all="raise", under="ignore"):
        found = ct.estimate(believed(takes))
    assert math.exp(ct.LOG_TEMPOS[0]) * 0.98 <= found.low_bpm < found.bpm < found.high_bpm <= 410


def test_many_takes_at_once_are_believed_as_one_after_the_other():
    rng = np.random.default_rng(5)
    takes = [void(), take(90, False, first_miss=3), take(85, False, press_beat=4.5)]
    for tempo_bpm in rng.integers(40, 200, size=60):
        takes.append(take(float(tempo_bpm), is_clean(rng, float(tempo_bpm), 100)))
    takes[20:20] = [void(), void()]
    for start in (ct.prior(), ct.update(ct.prior(), takes[1])):
        one_by_one = reduce(ct.update, takes, start)
        at_once = ct.update_all(start, takes)
        assert at_once.takes == one_by_one.takes
        np.testing.assert_allclose(at_once.mass, one_by_one.mass, rtol=1e-9, atol=1e-30)
    assert ct.update_all(start, []).mass == pytest.approx(start.mass)


def test_hundreds_of_takes_at_once_that_all_say_the_unlikely_are_borne():
    for takes in ([take(20, False)] * 500, [take(300, True)] * 500, [take(60, False, first_miss=1)] * 500):
        assert ct.update_all(ct.prior(), takes).mass.sum() == pytest.approx(1)


def test_takes_at_one_tempo_only_never_give_certainty():
    """At one tempo the spread and the clean tempo cannot be told apart."""
    found = ct.estimate(believed([take(90, n % 2 == 0) for n in range(2000)]))
    assert found.half_width > 0.05


def test_one_take_is_no_certainty():
    assert ct.estimate(believed([take(90, True)])).half_width > 0.3


def test_a_take_without_landings_or_tempo_is_refused():
    for wrong in (Take(DRILL, 80, 0, Outcome.PASS_), Take(DRILL, 0, 8, Outcome.PASS_)):
        with pytest.raises(ValueError, match="no take"):
            ct.update(ct.prior(), wrong)


@pytest.mark.parametrize("share", [0, 1, -0.5, 2])
def test_an_interval_that_holds_nothing_or_all_is_refused(share):
    with pytest.raises(ValueError, match="no interval"):
        ct.estimate(ct.prior(), share)


@settings(max_examples=30)
@given(st.lists(st.tuples(st.integers(20, 300), st.booleans()), max_size=40), st.floats(0.3, 0.95))
def test_a_wider_share_has_a_wider_interval(answers, share):
    posterior = believed([take(bpm, passed) for bpm, passed in answers])
    inner, outer = ct.estimate(posterior, share), ct.estimate(posterior, share + 0.04)
    assert outer.low_bpm < inner.low_bpm < inner.high_bpm < outer.high_bpm


def test_wandering_keeps_the_mean_and_adds_the_variance_it_says():
    mass = np.zeros((1, len(ct.SPREADS), len(ct.LOG_TEMPOS)))
    mass[0, 2, 100] = 1
    mean, variance = ct.moments(ct.wander(mass, 0.005))
    assert mean[0] == pytest.approx(ct.LOG_TEMPOS[100])
    assert variance[0] == pytest.approx(0.005**2, rel=1e-6)
