import wave

import numpy as np
import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.timing.click import ClickPlan, onsets
from pedaltrainer.timing.wav import render_click, render_wav
from tests.timing.hearing import onset_samples


def read(path):
    with wave.open(str(path)) as track:
        shape = (track.getnchannels(), track.getsampwidth(), track.getframerate())
        return shape, np.frombuffer(track.readframes(track.getnframes()), np.int16)


def test_a_practice_track_is_48_khz_16_bit_pcm_with_every_click_on_its_sample(tmp_path):
    render_click(97, bars=50, out=tmp_path / "click.wav", beats_per_bar=3, count_in_beats=2)
    shape, pcm = read(tmp_path / "click.wav")
    assert shape == (1, 2, 48_000)
    assert list(onset_samples(pcm)) == [sample for sample, _ in onsets(ClickPlan(0, 97, 2, 150, 3))]
    assert len(pcm) == round(152 * 60 * 48_000 / 97)


def test_the_block_length_changes_nothing(tmp_path):
    plan = ClickPlan(300, 133.5, 4, 8)
    for block in (64, 512, 5000):
        render_wav(tmp_path / f"{block}.wav", plan, block=block)
    assert len({(tmp_path / f"{block}.wav").read_bytes() for block in (64, 512, 5000)}) == 1


def test_an_existing_track_is_replaced_whole_and_nothing_is_left_beside_it(tmp_path):
    (tmp_path / "a.wav").write_text("old")
    render_click(120, 1, tmp_path / "a.wav")
    assert [path.name for path in tmp_path.iterdir()] == ["a.wav"]
    assert (tmp_path / "a.wav").read_bytes()[:4] == b"RIFF"


def test_a_place_that_cannot_be_written_is_named_and_left_unharmed(tmp_path):
    (tmp_path / "folder").mkdir()
    for out in (tmp_path / "no" / "such.wav", tmp_path / "folder"):
        with pytest.raises(InputError, match=r"cannot be written .*; name another file"):
            render_click(120, 1, out)
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"tempo_bpm": 301},
        {"bars": 0},
        {"beats_per_bar": 0},
        {"count_in_beats": -1},
        {"volume": 1.5},
        {"bars": 10**7},
    ],
)
def test_a_track_that_makes_no_sense_is_refused_before_anything_is_written(tmp_path, wrong):
    with pytest.raises(InputError):
        render_click(**{"tempo_bpm": 100, "bars": 2, "out": tmp_path / "a.wav"} | wrong)
    assert not list(tmp_path.iterdir())
