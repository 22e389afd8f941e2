"""The benchmark's thousands of players are measured as one player is: answer by answer."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from pedaltrainer.practice.ladders.rungs import LadderStart
from pedaltrainer.practice.ladders.seek import seek
from pedaltrainer.practice.trend import days_of
from tests.benchmarks.simulated import Players, lucky_logit, measure, past_results, smallest_rms
from tests.practice.answers import take


@pytest.mark.parametrize("speak_up", [False, True])
@pytest.mark.parametrize("known", [False, True])
def test_a_batch_goes_where_single_ladders_go(speak_up, known):
    start = LadderStart(60, speak_up=speak_up)
    players = Players.drawn(12, seed=6)
    history = past_results(players, 0.08, 7) if known else None
    trace: list = []
    found = measure(players, start, 60, history=history, trace=trace, keep_likelihood=True)
    assert sum(len(step[0]) for step in trace) > 40
    for who in range(12):
        ladder = seek(LadderStart(60, speak_up=speak_up, history=(history[who],) if history else ()))
        takes = []
        for active, tempo_bpm, passed, press_s in trace:
            if who not in active or len(takes) == found.takes[who]:
                continue
            at = int(np.flatnonzero(active == who)[0])
            # Single precision ranks near ties differently in a batch: one candidate (2 %) apart at most.
            assert ladder.tempo_bpm == pytest.approx(tempo_bpm[at], rel=0.03)
            beat = None
            if press_s is not None and not passed[at]:
                beat = press_s[at] * tempo_bpm[at] / 60
            takes.append(take(float(tempo_bpm[at]), bool(passed[at]), press_beat=beat))
            ladder = ladder.answered(takes[-1])
        assert len(ladder.takes) == found.takes[who]
        bpm, low_bpm, high_bpm = ladder.estimate
        assert math.log(bpm) == pytest.approx(found.estimate_log[who], abs=1e-6)
        assert math.log(low_bpm) == pytest.approx(found.low_log[who], abs=1e-6)
        assert math.log(high_bpm) == pytest.approx(found.high_log[who], abs=1e-6)
        when = datetime(2026, 3, 1, tzinfo=UTC)
        (day,) = days_of((when + timedelta(seconds=n), one) for n, one in enumerate(takes))
        told = np.exp(found.log_likelihood[who] - found.log_likelihood[who].max())
        assert day.likelihood == pytest.approx(told, abs=1e-4)


@pytest.mark.parametrize("truth", ["logistic", "probit", "correlated"])
def test_every_made_up_player_is_clean_four_times_in_five_at_the_clean_tempo(truth):
    players = Players.drawn(4000, 1, truth)
    chance = players.clean_chance(np.arange(4000), np.exp(players.clean_log), 0.0)
    assert chance.mean() == pytest.approx(0.8, abs=0.01)


def test_luck_that_a_take_shares_asks_for_more_than_the_plain_logit():
    assert lucky_logit() > math.log(4)


def test_no_measurement_beats_its_bound_and_more_seconds_lower_it():
    players = Players.drawn(300, 2)
    bounds = [smallest_rms(players, LadderStart(60), seconds) for seconds in (45, 90, 180)]
    assert bounds[0] == pytest.approx(2 * bounds[2])
    found = measure(players, LadderStart(60), 90)
    assert bounds[1] < np.sqrt(np.mean(found.error**2)) < 2.2 * bounds[1]
    assert smallest_rms(players, LadderStart(60, speak_up=True), 90) < bounds[1]
