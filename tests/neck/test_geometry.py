"""The neck in millimetres, and what a hand spans on it."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.geometry import HAND_SPAN_MM, USUAL_NECK, NeckSize, check_hand_span

OPEN_SHAPES = Path(__file__).parents[1] / "data" / "open_shapes.csv"


def test_the_twelfth_fret_halves_the_string():
    assert USUAL_NECK.fret_mm(0) == 0
    assert USUAL_NECK.fret_mm(12) == pytest.approx(USUAL_NECK.scale_mm / 2)


@given(st.floats(300, 900), st.integers(1, 24), st.integers(0, 7))
def test_a_fingertip_presses_between_two_frets_just_behind_the_nearer_to_the_bridge(scale_mm, fret, string):
    neck = NeckSize(scale_mm)
    x, y = neck.finger_mm(string, fret)
    middle = (neck.fret_mm(fret - 1) + neck.fret_mm(fret)) / 2
    assert middle - 1e-9 <= x < neck.fret_mm(fret)
    assert string * neck.nut_gap_mm <= y <= string * neck.bridge_gap_mm


def test_strings_part_towards_the_bridge():
    at_the_first, at_the_twelfth = USUAL_NECK.finger_mm(5, 1)[1], USUAL_NECK.finger_mm(5, 12)[1]
    assert 5 * USUAL_NECK.nut_gap_mm < at_the_first < at_the_twelfth < 5 * USUAL_NECK.bridge_gap_mm


@given(st.integers(1, 18), st.integers(1, 5))
def test_the_same_stretch_in_frets_shrinks_up_the_neck(fret, wide):
    assert USUAL_NECK.span_mm(fret + 1, fret + 1 + wide) < USUAL_NECK.span_mm(fret, fret + wide)


def test_four_frets_apart_is_too_far_at_the_nut_and_in_reach_high_up():
    # One finger a fret, from the first fret on: common practice, no published source.
    assert USUAL_NECK.highest_within(1) == 4
    assert USUAL_NECK.highest_within(6) == 10
    assert USUAL_NECK.highest_within(12) == 18


def test_a_shorter_neck_and_a_wider_hand_reach_more_frets():
    assert NeckSize(500).highest_within(1) == 5
    assert USUAL_NECK.highest_within(1, 130) == 5


def test_the_hand_spans_every_grip_of_the_open_data():
    # tests/data/open_shapes.csv: 1,046 positions that people play.
    with OPEN_SHAPES.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    widest = 0.0
    for row in rows:
        frets = [int(fret) for fret in row["frets"].split() if fret not in {"x", "0"}]
        widest = max(widest, USUAL_NECK.span_mm(min(frets), max(frets)) if frets else 0)
    assert 0.95 * HAND_SPAN_MM < widest <= HAND_SPAN_MM


@pytest.mark.parametrize(
    ("size", "complaint"),
    [
        ({"scale_mm": 299}, r"A scale length of 299 mm is not possible; give 300 to 900 mm\."),
        ({"scale_mm": 25.5}, r"A scale length of 25\.5 mm is not possible; give 300 to 900 mm\."),
        ({"scale_mm": float("nan")}, "A scale length of nan mm"),
        ({"nut_gap_mm": 0}, r"A string spacing at the nut of 0 mm is not possible; give 5 to 15 mm\."),
        (
            {"bridge_gap_mm": 52},
            r"A string spacing at the bridge of 52 mm is not possible; give 5 to 20 mm\.",
        ),
    ],
)
def test_a_neck_that_nobody_builds_is_refused_with_the_mend(size, complaint):
    with pytest.raises(InputError, match=complaint):
        NeckSize(**size)


def test_a_hand_span_that_no_hand_has_is_refused_with_the_mend():
    assert check_hand_span(110) == 110
    with pytest.raises(InputError, match=r"A hand span of 1000 mm is not possible; give 50 to 150 mm\."):
        check_hand_span(1000)
