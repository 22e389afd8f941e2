"""The loop against simulated devices, whose true clock is known to the test."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.timing.clock import ClockMap, DelayLockedLoop

RATE, FRAMES = 48_000, 512


def run(times_s, frames=FRAMES):
    """Feed callback times; yields (index, state) after each."""
    loop, state = DelayLockedLoop(RATE), None
    for index, t_s in enumerate(times_s):
        state = loop.update(state, t_s, index * frames)
        yield index, state


def device_times(off, count, jitter_s, seed, start_s=100.0, frames=FRAMES):
    """A device `off` faster than nominal, called back up to jitter_s late."""
    chance = random.Random(seed)
    period_s = frames / RATE / (1 + off)
    return [start_s + i * period_s + chance.uniform(0, jitter_s) for i in range(count)]


@given(st.floats(-1e4, 1e4), st.floats(0, 1e9), st.floats(0.9, 1.1), st.floats(0, 1e9))
def test_the_map_reads_the_same_both_ways(at_s, sample, pace, asked):
    line = ClockMap(at_s, sample, pace / RATE)
    assert line.sample_at(line.t_s_at(asked)) == pytest.approx(asked, abs=0.01)


@pytest.mark.parametrize("off", [-0.02, 0.0, 0.02])
def test_a_device_two_percent_off_is_followed_to_a_tenth_of_a_millisecond(off):
    times_s = device_times(off, 3000, 0.0, seed=1)
    *_, (last, state) = run(times_s)
    assert state.resets == 0
    assert state.line.t_s_at(last * FRAMES) == pytest.approx(times_s[-1], abs=1e-4)
    assert 1 / (state.line.seconds_per_sample * RATE) == pytest.approx(1 + off, abs=1e-4)


@settings(max_examples=25)
@given(st.floats(-0.02, 0.02), st.integers(0, 10_000))
def test_five_milliseconds_of_jitter_become_less_than_one(off, seed):
    period_s = FRAMES / RATE / (1 + off)
    for index, state in run(device_times(off, 2500, 0.005, seed)):
        if index > 1000:
            mean_s = 100.0 + index * period_s + 0.0025
            assert abs(state.line.t_s_at(index * FRAMES) - mean_s) < 0.001
    assert state.resets == 0


def test_bursts_of_four_blocks_are_smoothed():
    period_s = FRAMES / RATE
    times_s = [100 + (i - i % 4) * period_s for i in range(4000)]
    for index, state in run(times_s):
        if index > 1500:
            assert abs(state.line.t_s_at(index * FRAMES) - (100 + (index - 1.5) * period_s)) < 0.003
    assert state.resets == 0


def test_a_start_that_stalls_for_over_a_second_is_forgotten():
    period_s = FRAMES / RATE
    times_s = [100.0, 100.001] + [101.7 + i * period_s for i in range(2000)]
    for index, state in run(times_s):
        if index >= 2:
            assert abs(state.line.t_s_at(index * FRAMES) - times_s[index]) < 1e-6
    assert state.resets == 1


def test_one_callback_80_ms_late_moves_the_line_by_less_than_a_millisecond_and_a_half():
    times_s = device_times(0.0, 4000, 0.0, seed=3)
    times_s[2500] += 0.08
    worst_s = max(
        abs(state.line.t_s_at(i * FRAMES) - (100 + i * FRAMES / RATE))
        for i, state in run(times_s)
        if i > 2400
    )
    assert 0 < worst_s < 0.0015


def test_a_lasting_shift_too_small_to_be_a_stall_is_followed_within_half_a_second():
    times_s = device_times(0.0, 3000, 0.0, seed=4)
    times_s = times_s[:2000] + [t_s + 0.1 for t_s in times_s[2000:]]
    states = list(run(times_s))
    index, state = states[2040]
    assert state.resets == 1
    assert state.line.t_s_at(index * FRAMES) == pytest.approx(times_s[index], abs=1e-3)


def rushed(times_s):
    """Callbacks that come late let those after them come in a rush: none comes before the one before it."""
    came_s = 0.0
    for t_s in times_s:
        came_s = max(t_s, came_s + 0.0002)
        yield came_s


def now_and_then(chance, t_s):
    return t_s + (chance.uniform(0.01, 0.06) if chance.random() < 0.02 else chance.uniform(0, 0.001))


def in_bouts(chance, t_s):
    busy = (t_s - 100) % 20 > 17
    return t_s + (chance.expovariate(1 / 0.006) if busy else chance.uniform(0, 0.001))


JITTERS = {
    "up to five ms": lambda chance, t_s, i: t_s + chance.uniform(0, 0.005),
    "a bell curve's half": lambda chance, t_s, i: t_s + abs(chance.gauss(0, 0.003)),
    "a few very late": lambda chance, t_s, i: t_s + chance.expovariate(1 / 0.002),
    "four at a time": lambda chance, t_s, i: 100 + (i - i % 4) * FRAMES / RATE + 0.0003 * (i % 4),
    "eight at a time": lambda chance, t_s, i: 100 + (i - i % 8) * FRAMES / RATE + 0.0003 * (i % 8),
    "by a timer of 25 ms": lambda chance, t_s, i: 100 + math.ceil((t_s - 100) / 0.025) * 0.025,
    "a slow wave": lambda chance, t_s, i: t_s + 0.003 * math.sin(2 * math.pi * 0.2 * (t_s - 100)),
    "one in fifty very late": lambda chance, t_s, i: now_and_then(chance, t_s),
    "bouts of load": lambda chance, t_s, i: in_bouts(chance, t_s),
}
"""Ways in which a sound that never breaks may be asked for."""


@pytest.mark.parametrize("jitter", JITTERS)
def test_however_a_steady_sound_is_asked_for_it_is_not_said_to_stumble(jitter):
    chance = random.Random(11)
    times_s = [JITTERS[jitter](chance, t_s, i) for i, t_s in enumerate(device_times(0.0, 12_000, 0.0, 1))]
    *_, (_, state) = run(rushed(times_s))
    assert (state.resets, state.stumbles) == (0, 0)


@pytest.mark.parametrize(("broken_s", "stumbles"), [(0.008, 0), (0.012, 1), (0.03, 1), (0.1, 1), (0.6, 1)])
def test_a_sound_that_broke_is_followed_within_a_fifth_of_a_second_and_told_where_it_is_heard(
    broken_s, stumbles
):
    times_s = device_times(0.0, 3000, 0.001, seed=4)
    times_s = times_s[:2000] + [t_s + broken_s for t_s in times_s[2000:]]
    states = list(run(times_s))
    index, state = states[2018]
    assert state.stumbles == stumbles
    assert state.line.t_s_at(index * FRAMES) == pytest.approx(times_s[index], abs=2e-3)
    assert not stumbles or state.stumbled_at == 2000 * FRAMES
    assert states[-1][1].stumbles == stumbles


@settings(max_examples=50)
@given(st.lists(st.floats(0, 3), min_size=1, max_size=300), st.sampled_from([64, 512, 4096]))
def test_whatever_the_callbacks_do_the_line_runs_forwards(gaps_s, frames):
    t_s, times_s = 0.0, []
    for gap_s in gaps_s:
        t_s += gap_s
        times_s.append(t_s)
    for _, state in run(times_s, frames):
        assert 0.9 / RATE - 1e-9 <= state.line.seconds_per_sample <= 1.1 / RATE + 1e-9
