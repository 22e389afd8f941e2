"""From taps to a delay, and to a foot's steadiness."""

from __future__ import annotations

import pytest

from pedaltrainer.practice.tapping_along import BEATS, DROPPED, asynchronies, sound_late, steadiness

BEATS_S = [0.8 * beat for beat in range(BEATS)]


def late_by(*late_s: float) -> list[float]:
    return [beat + late for beat, late in zip(BEATS_S, late_s, strict=True)]


def test_the_first_three_beats_and_those_without_a_tap_are_left_out():
    taps = [beat + 0.1 for beat in BEATS_S]
    del taps[9]
    assert asynchronies(BEATS_S, taps) == pytest.approx([0.1] * (BEATS - DROPPED - 1))


def test_of_two_taps_at_one_beat_the_first_counts():
    taps = sorted([*(beat + 0.1 for beat in BEATS_S), BEATS_S[5] + 0.25])
    assert asynchronies(BEATS_S, taps) == pytest.approx([0.1] * (BEATS - DROPPED))


def test_a_sound_that_is_very_late_belongs_to_its_own_beat():
    assert asynchronies(BEATS_S, [beat + 0.55 for beat in BEATS_S]) == pytest.approx([0.55] * 13)


def test_a_wild_tap_does_not_move_the_delay():
    steady = [0.2] * 13
    wild = [0.2] * 11 + [0.55, -0.15]
    assert sound_late(steady, 0.021).delay_s == sound_late(wild, 0.021).delay_s == pytest.approx(0.256)


def test_too_few_taps_or_taps_anywhere_tell_nothing():
    assert sound_late([0.2] * 7, 0.0) is None
    assert sound_late([-0.15 + 0.05 * number for number in range(13)], 0.0) is None
    assert steadiness([0.0] * 7) is None


def test_a_delay_is_never_less_than_nothing():
    assert sound_late([-0.15] * 13, 0.021).delay_s == 0.0


def test_what_is_reckoned_agrees_when_it_could_be_the_truth():
    found = sound_late([0.0] * 13, 0.021)
    assert found.agrees(0.021)
    assert not found.agrees(0.2)
