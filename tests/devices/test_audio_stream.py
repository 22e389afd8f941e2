"""The real callback, on SDL's own drivers and on a sound server where one can be started.

Each stream lives in a process of its own: SDL picks its driver once, and a
hang in closing must fail a test, not the suite.
"""

import json
import os
import subprocess
import sys
import time

import pytest

from pedaltrainer.timing.click import ClickPlan, Sound
from pedaltrainer.timing.stream import NO_DEVICE, SilentStream, StreamHealth

PRELUDE = """
import dataclasses, json, sys, time
from pedaltrainer.timing.click import ClickPlan, Sound
from pedaltrainer.timing.sound_device import SoundWish
from pedaltrainer.timing.stream import AudioStream, SilentStream, open_stream
now = time.perf_counter
def tell(**words): print("\\n" + json.dumps(words))
"""


def in_a_process(code, driver, **more):
    env = dict(os.environ, SDL_AUDIODRIVER=driver, **more)
    done = subprocess.run(
        [sys.executable, "-c", PRELUDE + code],
        env=env,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout.strip().splitlines()[-1])


WATCH = """
stream = AudioStream(0.4, SoundWish(frames=480))
until = now() + 5
while stream.heard_s(now()) < 0.5 and now() < until: time.sleep(0.005)
reads, end, first = [], now() + 2, stream.health().seconds
while now() < end:
    t = now(); reads.append((t, stream.heard_s(t))); time.sleep(0.004)
health, handed_over = stream.health(), stream.health().seconds - first
back = stream.t_s(stream.heard_s(reads[-1][0])) - reads[-1][0]
old = stream.heard_s(reads[100][0])
lost = stream.lost; stream.close(); stream.close()
took = reads[-1][0] - reads[0][0]
tell(pace=handed_over / took, rate=(reads[-1][1] - reads[0][1]) / took, lost=lost, back=back,
     forwards=all(a[1] <= b[1] for a, b in zip(reads, reads[1:])), health=dataclasses.asdict(health),
     latency=stream.latency_s, older=old <= reads[-1][1] - 1)
"""


def hold_steady(seen):
    # Heard time keeps the device's own pace: one per cent of it, in two seconds of 10 ms blocks.
    assert seen["rate"] == pytest.approx(seen["pace"], rel=0.01)
    assert seen["forwards"]
    assert not seen["lost"]
    assert abs(seen["back"]) < 0.01
    assert seen["older"]
    assert seen["health"]["callbacks"] > 150
    assert seen["health"]["trouble"] == ""
    assert seen["latency"] == 0.02


def test_heard_time_runs_with_the_clock_and_never_backwards():
    # SDL's dummy driver sleeps a block's length and then does its work: no crystal, several per cent slow.
    hold_steady(in_a_process(WATCH, "dummy"))


def test_a_sound_server_that_stalls_as_it_starts_only_makes_heard_time_wait(sound_server):
    seen = in_a_process(WATCH, "pulseaudio", PULSE_SERVER=sound_server)
    hold_steady(seen)
    # A null sink is paced by the system's clock, as a card is by its crystal.
    assert seen["rate"] == pytest.approx(1, abs=0.01)


def test_streams_close_without_hanging_however_busy_the_program_is():
    code = """
for turn in range(15):
    stream = AudioStream(0.0)
    end = now() + 0.03 + turn * 0.0007
    while now() < end: sum(range(500))
    stream.close()
tell(closed=turn + 1)
"""
    assert in_a_process(code, "dummy") == {"closed": 15}


def test_streams_close_even_when_the_callback_never_rests(tmp_path):
    code = """
for turn in range(15):
    stream = AudioStream(0.0); time.sleep(0.03); stream.close()
tell(closed=turn + 1)
"""
    seen = in_a_process(code, "disk", SDL_DISKAUDIOFILE=str(tmp_path / "x.raw"), SDL_DISKAUDIODELAY="0")
    assert seen == {"closed": 15}


def test_an_exception_in_the_callback_is_kept_and_the_stream_goes_on():
    code = """
stream = AudioStream(0.4)
time.sleep(0.3)
mix = stream._mixer.mix
stream._mixer.mix = lambda start, frames: 1 / 0
time.sleep(0.2); stream._mixer.mix = mix
before = stream.health().callbacks; time.sleep(0.3)
health = stream.health(); stream.close()
tell(trouble=health.trouble, more=health.callbacks - before)
"""
    seen = in_a_process(code, "dummy")
    assert "ZeroDivisionError" in seen["trouble"]
    assert seen["more"] > 5


def test_a_driver_that_plays_to_nobody_never_stumbles(tmp_path):
    code = """
stream = AudioStream(0.4); mix, broke = stream._mixer.mix, []
def slow(start, frames):
    if len(broke) < 3: broke.append(start); time.sleep(0.05)
    return mix(start, frames)
until = now() + 10
while stream.heard_s(now()) < 1 and now() < until: time.sleep(0.01)
stream._mixer.mix = slow
time.sleep(1)
health = stream.health(); stream.close()
tell(broke=len(broke), stumbles=health.stumbles, afresh=health.underruns > 0)
"""
    seen = in_a_process(code, "disk", SDL_DISKAUDIOFILE=str(tmp_path / "x.raw"))
    assert seen == {"broke": 3, "stumbles": 0, "afresh": True}


def test_acknowledgements_can_be_turned_off_and_a_stopped_plan_is_silent(tmp_path):
    code = """
stream = AudioStream(0.4, acks=False)
stream.play(ClickPlan(round(stream.health().seconds * 48000) + 24000, 240, 4, 8))
stream.stop_plan(); stream.sound(Sound.PASS)
end = now() + 1.2
while now() < end: time.sleep(0.02)
health = stream.health(); stream.close()
tell(seconds=health.seconds)
"""
    raw = tmp_path / "x.raw"
    assert in_a_process(code, "disk", SDL_DISKAUDIOFILE=str(raw))["seconds"] > 0.8
    assert raw.stat().st_size > 0
    assert not raw.read_bytes().strip(b"\0")


def test_without_a_device_the_program_runs_silent_and_says_so():
    code = """
stream, notice = open_stream(0.4)
t = now(); tell(notice=notice, silent=stream.silent, gone=stream.heard_s(t + 1) - stream.heard_s(t))
"""
    seen = in_a_process(code, "no-such-driver")
    assert seen == {"notice": NO_DEVICE, "silent": True, "gone": pytest.approx(1)}


def test_a_silent_stream_carries_on_from_where_the_lost_one_stopped():
    stream = SilentStream(start_s=12.5)
    t_s = time.perf_counter()
    assert 12.5 <= stream.heard_s(t_s) < 13.5
    assert stream.t_s(stream.heard_s(t_s)) == pytest.approx(t_s)
    stream.play(ClickPlan(0, 60, 4, 8))
    stream.stop_plan()
    stream.sound(Sound.PASS)
    assert stream.health() == StreamHealth(seconds=pytest.approx(0, abs=1))
    assert not stream.lost
    stream.close()
