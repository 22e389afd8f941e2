from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.timing.grid import BeatGrid, beat_sample

tempos = st.floats(20, 300)


def test_at_120_bpm_a_beat_is_half_a_second():
    assert [beat_sample(100, beat, 120) for beat in (0, 1, 2.5)] == [100, 24_100, 60_100]


@given(st.integers(0, 10**9), st.integers(0, 100_000), tempos)
def test_a_beat_is_never_more_than_half_a_sample_off_even_after_hours(start, beat, tempo_bpm):
    exact = start + Fraction(beat) * 60 * 48_000 / Fraction(tempo_bpm)
    assert abs(beat_sample(start, beat, tempo_bpm) - exact) <= Fraction(1, 2) + Fraction(1, 10**5)


@given(st.integers(0, 10**8), st.integers(0, 10_000), tempos)
def test_the_grid_finds_the_beat_it_placed(start, beat, tempo_bpm):
    grid = BeatGrid(start, tempo_bpm)
    assert grid.beat_at(grid.sample(beat)) == pytest.approx(beat, abs=0.6 * tempo_bpm / 60 / 48_000 + 1e-7)


@pytest.mark.parametrize("tempo_bpm", [19.99, 300.01, -60, 0, float("nan"), float("inf")])
def test_a_tempo_nobody_can_play_is_refused_in_one_sentence(tempo_bpm):
    for make in (lambda: beat_sample(0, 1, tempo_bpm), lambda: BeatGrid(0, tempo_bpm)):
        with pytest.raises(InputError, match="from 20 to 300"):
            make()
