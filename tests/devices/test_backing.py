"""A backing through the real audio callback: on its samples, beneath the clicks, gone when it stops."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import take_track
from pedaltrainer.timing.backing.feels import Backing, Feel
from pedaltrainer.timing.backing.mix import render
from pedaltrainer.timing.backing.parts import notes_of
from pedaltrainer.timing.click import Mixer, SoundBank
from pedaltrainer.timing.sound_device import USUAL_SOUND
from pedaltrainer.timing.track import click_samples
from tests.timing.hearing import onset_samples

VOLUME, LEVEL = 0.4, 0.6
FRAMES = USUAL_SOUND.frames
WORDS, TEMPO_BPM = "Am E", 183.5

CHILD = """
import sys, time
from pedaltrainer.live.band import Band
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import take_track
from pedaltrainer.timing.backing.feels import Backing, Feel
from pedaltrainer.timing.stream import AudioStream
from pedaltrainer.timing.track import click_samples
tempo_bpm, stop_s = float(sys.argv[1]), float(sys.argv[2])
stream = AudioStream(0.4)
stream.set_as(0.4, True, None, 0.6)
band = Band(Backing(Feel.SHUFFLE, 0.6))
track = take_track(parse_drill("Am E"), tempo_bpm, 8, 4)
start = round(stream.health().seconds * stream.rate) + 96_000 + 137
plan = stream.play_clicks([(start + sample, sound) for sample, sound in click_samples(track)])
band.accompany(track, start, plan, stream)
until_s = start / stream.rate + (stop_s or float(track.seconds))
while stream.health().seconds < until_s:
    time.sleep(0.005)
if stop_s:
    stream.stop_plan()
    stopped = round(stream.health().seconds * stream.rate)
    time.sleep(0.3)
else:
    stopped = 0
    time.sleep(0.2)
health = stream.health()
band.close()
stream.close()
assert not health.trouble and not health.missed_clicks and not band.trouble, (health, band.trouble)
print(start, stopped)
"""


def heard(folder: Path, tempo_bpm: float, stop_s: float = 0.0) -> tuple[int, int, np.ndarray]:
    out = folder / "heard.raw"
    # In the device's own time: the band has the count-in to be ready, as on the stage.
    environment = os.environ | {"SDL_AUDIODRIVER": "disk", "SDL_DISKAUDIOFILE": str(out)}
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(tempo_bpm), str(stop_s)],
        env=environment, capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    start, stopped = map(int, done.stdout.split()[-2:])
    pcm = np.fromfile(out, np.int16).reshape(-1, 2)[:, 0]
    # The device writes whole buffers of silence until it is told to ask for sound: none on an idle machine.
    unasked = int(np.argmax(pcm != 0)) - start
    assert unasked >= 0
    assert unasked % FRAMES == 0
    return start, stopped, pcm[unasked:]


def test_every_sample_is_where_the_track_has_it(tmp_path):
    start, _, pcm = heard(tmp_path, TEMPO_BPM)
    track = take_track(parse_drill(WORDS), TEMPO_BPM, 8, 4)
    clicks, end = click_samples(track), round(track.seconds * 48_000)
    mixer = Mixer(SoundBank(48_000, VOLUME))
    mixer.backing_gain = VOLUME * LEVEL
    mixer.schedule(clicks)
    mixer.back(
        render(notes_of(track, Backing(Feel.SHUFFLE, LEVEL)), [sample for sample, _ in clicks], 0, end), 0
    )
    assert np.array_equal(pcm[start : start + end], mixer.mix(0, end))


def test_it_fades_where_the_take_is_stopped(tmp_path):
    _, stopped, pcm = heard(tmp_path, 120, stop_s=3.15)
    # Within a block or two of the stop, 40 ms of fade and the ring of a click that had begun.
    after = pcm[stopped - 4096 :]
    silent_from = len(after) - int(np.argmax(after[::-1] != 0)) if after.any() else 0
    assert pcm[stopped - 9600 : stopped - 4096].any()
    assert silent_from <= 4096 + 48_000 * 0.15
    assert len(onset_samples(pcm)) > 4
