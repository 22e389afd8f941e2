"""Every click where the arithmetic says, in the file and in the live stream.

Checked twice: exactly, in samples, against round(k*60*rate/b); and with
mir_eval (C. Raffel et al., "mir_eval: a transparent implementation of common
MIR metrics", ISMIR 2014), which knows nothing of our grid. Its onset window is
set to half a sample. Live: SDL's disk driver writes what would be heard. The
ten-minute version is tests/benchmarks/click_placement.py.
"""

import wave

import mir_eval
import numpy as np
import pytest

from pedaltrainer.timing.wav import render_click
from tests.timing.hearing import TEMPOS_BPM, live_onsets, onset_samples

RATE = 48_000
SECONDS = 90
HALF_A_SAMPLE_S = 0.5 / RATE


def expected_samples(tempo_bpm, beats):
    return np.array([round(k * 60 * RATE / tempo_bpm) for k in range(beats)])


def hold_against_mir_eval(expected, found):
    reference_s, estimated_s = expected / RATE, found / RATE
    f, precision, recall = mir_eval.onset.f_measure(reference_s, estimated_s, window=HALF_A_SAMPLE_S)
    assert (f, precision, recall) == (1.0, 1.0, 1.0)
    reference_s, estimated_s = map(mir_eval.beat.trim_beats, (reference_s, estimated_s))
    assert mir_eval.beat.f_measure(reference_s, estimated_s, HALF_A_SAMPLE_S) == 1.0
    assert mir_eval.beat.continuity(reference_s, estimated_s) == (1.0, 1.0, 1.0, 1.0)


@pytest.mark.parametrize("tempo_bpm", TEMPOS_BPM)
def test_the_clicks_of_a_practice_track_are_on_their_samples(tmp_path, tempo_bpm):
    bars = round(SECONDS * tempo_bpm / 240)
    render_click(tempo_bpm, bars, tmp_path / "click.wav", offbeat=False, count_in_beats=4)
    with wave.open(str(tmp_path / "click.wav")) as track:
        found = onset_samples(np.frombuffer(track.readframes(track.getnframes()), np.int16))
    expected = expected_samples(tempo_bpm, bars * 4 + 4)
    assert (found == expected).all()
    hold_against_mir_eval(expected, found)


@pytest.mark.parametrize("tempo_bpm", TEMPOS_BPM)
def test_the_clicks_of_the_live_stream_are_on_their_samples(tmp_path, tempo_bpm):
    beats = round(SECONDS * tempo_bpm / 60)
    start, found = live_onsets(tempo_bpm, beats, tmp_path, offbeat=False)
    expected = expected_samples(tempo_bpm, beats + 4)
    assert (found - start == expected).all()
    hold_against_mir_eval(expected, found - start)


def test_the_live_off_beats_are_on_their_samples_too(tmp_path):
    start, found = live_onsets(97, 64, tmp_path, offbeat=True)
    halves = [*range(0, 8, 2), *range(7, 135)]
    assert (found - start == sorted({round(half * 30 * RATE / 97) for half in halves})).all()
