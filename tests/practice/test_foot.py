"""Which landing a press is about, and how sure that is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.foot import (
    FEET,
    STRAY_PRESS,
    fit_of_landing,
    fit_of_press,
    missed_landing,
    one_foot,
    taken_off_s,
)

AM_E = parse_drill("Am E")


@pytest.mark.parametrize(
    ("press_beat", "off_beats", "landing"),
    [(0.1, 0.25, 1), (1.25, 0.25, 2), (1.24, 0.25, 1), (7.9, 0.25, 8), (99, 0.25, 8), (-0.5, 0.25, 1)],
)
def test_the_foot_is_late_by_its_reaction_time(press_beat, off_beats, landing):
    assert missed_landing(press_beat, off_beats, AM_E, 8) == landing


def test_with_four_beats_a_chord_a_press_in_the_bar_is_about_its_first_beat():
    assert missed_landing(6.0, 0.25, parse_drill("Am E x4"), 8) == 2


def presses(tempo_bpm, mean_s, sd_s, count=40_000):
    """True landings of misses and the landings that presses about them are counted for."""
    rng = np.random.default_rng(1)
    true = rng.integers(1, 9, count)
    landing_s = 60 / tempo_bpm
    press_s = (true - 1) * landing_s + np.maximum(0.1, rng.normal(mean_s, sd_s, count))
    off_beats = taken_off_s(0.25, landing_s) / landing_s
    counted = np.array([missed_landing(beat, off_beats, AM_E, 8) for beat in press_s / landing_s])
    return true, counted


@pytest.mark.parametrize("tempo_bpm", [60, 90, 120])
def test_of_usual_feet_one_press_in_fifteen_at_most_is_counted_for_another_landing(tempo_bpm):
    true, counted = presses(tempo_bpm, 0.25, 0.08)
    assert (true != counted).mean() < 1 / 15


def test_what_is_taken_off_a_press_leaves_a_margin_and_is_never_less_than_nothing():
    assert taken_off_s(0.25, 1.0) == pytest.approx(0.13)
    assert taken_off_s(0.25, 0.2) == pytest.approx(0.15)
    assert taken_off_s(0.05, 1.0) == 0


@given(st.floats(20, 300), st.integers(1, 16), st.sampled_from([1, 2, 4]), st.floats(0, 0.6))
def test_every_answer_a_take_can_have_adds_up_to_certainty(tempo_bpm, landings, beats, off_s):
    where = np.stack(
        [fit_of_landing(miss, beats * 60 / tempo_bpm, landings, off_s) for miss in range(1, landings + 1)]
    )
    assert where.sum(axis=0) == pytest.approx(np.ones(landings + 1))
    keep_log = np.repeat(ct.log_keep(math.log(tempo_bpm))[None], landings, axis=0)
    missed = ct.answer_likelihood(keep_log, landings, np.zeros(landings, bool), where).sum(axis=0)
    clean = ct.answer_likelihood(keep_log[:1], landings, np.ones(1, bool), None)[0]
    assert missed + clean == pytest.approx(np.ones_like(clean))


@pytest.mark.parametrize("law", [one_foot(0.25), one_foot(0.4, 0.15), FEET])
@pytest.mark.parametrize("off_s", [0.13, 0.25])
def test_the_likelihood_knows_how_often_a_press_is_counted_for_another_landing(law, off_s):
    """At 120 BPM, of the whole reaction taken off as of the part of it."""
    rng = np.random.default_rng(1)
    true = rng.integers(1, 9, 40_000)
    which = rng.choice(len(law), len(true), p=[one.share for one in law])
    mean_s, sd_s = (np.array([getattr(one, name) for one in law])[which] for name in ("mean_s", "sd_s"))
    press_beat = (true - 1) + rng.normal(mean_s, sd_s) * 2
    counted = np.array([missed_landing(beat, off_s * 2, AM_E, 8) for beat in press_beat])
    for landing in range(1, 9):
        share = np.array([(counted[true == one] == landing).mean() for one in range(1, 9)])
        fits = fit_of_landing(landing, 0.5, 8, off_s, law)[:8]
        assert fits == pytest.approx(share * (1 - STRAY_PRESS) + STRAY_PRESS / 8, abs=0.02)


# --- the moment itself: what the first sessions measured by ------------------------------------


def test_presses_for_every_moment_of_a_take_add_up_to_a_miss():
    at_s = np.arange(-0.5, 9.0, 0.002)
    fits = fit_of_press(at_s, 0.75, 8, 0.25)
    keep_log = np.broadcast_to(ct.log_keep(math.log(80))[:, 80:83], (len(at_s), len(ct.SPREADS), 3))
    density = ct.answer_likelihood(keep_log, 8, np.zeros(len(at_s), bool), fits)
    unsure = ct.answer_likelihood(keep_log[:1], 8, np.zeros(1, bool), None)[0]
    # The stray share reaches beyond the last landing by less than it falls short after the first.
    inside = (at_s >= 0) & (at_s < 6.0)
    assert density[inside].sum(axis=0) * 0.002 == pytest.approx(unsure, abs=0.08)


@pytest.mark.parametrize(("late_s", "sure"), [(0.25, True), (0.35, True), (0.05, True), (0.64, False)])
def test_at_a_slow_click_the_press_itself_says_which_landing_it_was(late_s, sure):
    fits = fit_of_press(np.array([2 + late_s]), 1.0, 8, 0.25)[0, :8]
    assert fits.argmax() == 2
    assert (fits[2] / fits.sum() > 0.9) == sure
