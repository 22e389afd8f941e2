"""Sound that breaks, and sound devices that go: a real session's conductor over real PulseAudio sinks.

Each stream lives in a process of its own: SDL picks its driver once.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

PRELUDE = """
import json, subprocess, sys, time
from pathlib import Path
from pedaltrainer.history.desk import Desk
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.options import Options
from pedaltrainer.live.sounding import LOOK_AGAIN_S, Sounding, open_as_wished
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.session.events import Given
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin
from pedaltrainer.timing.sound_device import SoundWish, device_names
now = time.perf_counter
def tell(**words): print("\\n" + json.dumps(words))
folder = Path(sys.argv[1])
settings = Settings(drills=(parse_drill("Am E"),), starts_bpm=(240,), landings=4)
options = Options(settings, Desk(folder, "Robin"), sound=SoundWish(*json.loads(sys.argv[2])))
stream, notice = open_as_wished(options)
log = Log.open(folder).__enter__()
act = Conductor(begin(settings), stream, open_book(log, options))
sounding = Sounding()
def go_on(holds, most_s=20):
    until = now() + most_s
    while not holds() and now() < until:
        time.sleep(0.02); act.advance(now()); sounding.look_after(act, options, now())
    return holds()
def say(control):
    heard_s = act.stream.heard_s(now())
    act._happen(Given(heard_s, heard_s, now(), control, "foot"))
def tap(): say(Control.PASS_)
def pactl(*words): return subprocess.run(["pactl", *words], capture_output=True, text=True).stdout
go_on(lambda: act.stream.heard_s(now()) > 0.3)
act.open(now())
"""


def in_a_process(code, tmp_path, driver, *wish, **more):
    done = subprocess.run(
        [sys.executable, "-c", PRELUDE + code, str(tmp_path), json.dumps(wish)],
        env=dict(os.environ, SDL_AUDIODRIVER=driver, SDL_VIDEODRIVER="dummy", **more),
        capture_output=True,
        text=True,
        timeout=90,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout.strip().splitlines()[-1])


BREAKS = """
tap(); go_on(lambda: act.state.phase is Phase.TAKE); time.sleep(0.3)
before, mix, broke = act.state.run.serial, stream._mixer.mix, len(act.state.stumbled)
def slow(start, frames):
    stream._mixer.mix = mix; time.sleep(0.3); return mix(start, frames)
stream._mixer.mix = slow
go_on(lambda: len(act.state.stumbled) > broke)
said = act.state.ack.kind.name
again = go_on(lambda: act.state.phase is Phase.ASKING)
health = act.stream.health(); act.stream.close()
tell(said=said, stumbled=act.state.stumbled[broke], before=before, again=again, serial=act.state.run.serial,
     rows=[(row.outcome, row.judge) for row in act.book.takes])
"""


def test_a_take_whose_sound_breaks_is_void_and_the_next_one_is_whole(tmp_path, sound_server):
    seen = in_a_process(BREAKS, tmp_path, "pulseaudio", PULSE_SERVER=sound_server)
    assert seen["said"] == "STUMBLED"
    assert seen["stumbled"] == seen["before"]
    # On a busy machine the sound may break of itself too.
    assert ["void", "sound stumbled"] in seen["rows"]
    assert seen["again"]
    assert seen["serial"] > seen["before"]


GOES = """
names, first = sorted(device_names()), act.stream.name
tap(); go_on(lambda: act.state.phase is Phase.TAKE)
modules = [line.split()[0] for line in pactl("list", "short", "modules").splitlines() if "shed" in line]
pactl("unload-module", modules[0])
gone_s = now()
lost = go_on(lambda: act.stream.silent)
phase, heard_s = act.state.phase.name, act.stream.heard_s(now())
back = go_on(lambda: not act.stream.silent)
took_s, then, said = now() - gone_s, act.stream.name, act.state.ack.kind.name
here_s = act.stream.heard_s(now())
say(Control.PAUSE); go_on(lambda: act.state.phase is Phase.ASKING)
missed, outcomes = act.stream.health().missed_clicks, [row.judge for row in act.book.takes]
pactl("load-module", "module-null-sink", "rate=48000", "sink_name=shed",
      "sink_properties=device.description=Shed")
waits = go_on(lambda: act.stream.name == first, LOOK_AGAIN_S + 0.5)
tap(); again = go_on(lambda: act.stream.name == first)
act.stream.close()
tell(names=names, first=first, lost=lost, phase=phase, back=back, took_s=took_s, then=then, said=said,
     on=here_s - heard_s, missed=missed, judges=outcomes, notices=list(act.state.notices), waits=waits,
     again=again)
"""


def test_a_device_that_goes_is_followed_by_another_and_followed_back_when_it_was_named(
    tmp_path, sound_server
):
    seen = in_a_process(GOES, tmp_path, "pulseaudio", "shed", PULSE_SERVER=sound_server)
    assert seen["names"] == ["Lamp", "Shed"]
    assert (seen["first"], seen["then"]) == ("Shed", "Lamp")
    assert (seen["lost"], seen["back"]) == (True, True)
    assert seen["phase"] == "PAUSED"
    assert seen["judges"] == ["sound lost"]
    assert seen["said"] == "SOUND_BACK"
    assert 0 <= seen["on"] < 10
    assert seen["missed"] == 0
    assert seen["notices"] == []
    assert not seen["waits"], "no device takes the place of another one while a take is on"
    assert seen["again"]


def test_a_larger_buffer_is_taken_while_nothing_is_played(tmp_path):
    code = """
from dataclasses import replace
before = act.stream.heard_s(now())
options = replace(options, sound=SoundWish(frames=1024))
taken = go_on(lambda: act.stream.frames == 1024)
runs = go_on(lambda: act.stream.heard_s(now()) > before + 0.5)
latency = act.stream.latency_s; act.stream.close()
tell(taken=taken, runs=runs, latency=latency)
"""
    seen = in_a_process(code, tmp_path, "dummy")
    assert seen == {"taken": True, "runs": True, "latency": pytest.approx(2 * 1024 / 48000)}


def test_what_the_system_tells_of_its_latency_is_taken_unless_the_player_knows_better(tmp_path, sound_server):
    code = """
before = act.stream.latency_s
told = go_on(lambda: act.stream.told_s is not None)
latency = act.stream.latency_s; act.stream.close()
tell(before=before, told=told, latency=latency, lead=act.state.settings.lead_s)
"""

    def seen(folder, *wish):
        return in_a_process(code, tmp_path / folder, "pulseaudio", *wish, PULSE_SERVER=sound_server)

    with ThreadPoolExecutor() as at_once:
        known = at_once.submit(seen, "known", "", 512, 0.18)
        usual, known = seen("usual"), known.result()
    assert usual["before"] == pytest.approx(2 * 512 / 48_000)
    assert usual["told"]
    # PulseAudio's null sink takes 5 to 13 ms, and half a block is added.
    assert 0.005 < usual["latency"] < 0.03
    assert (known["latency"], known["lead"]) == (0.18, pytest.approx(0.38))
