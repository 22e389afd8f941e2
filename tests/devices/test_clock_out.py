"""A MIDI clock on a real port: all of it arrives, in order and in time, and a follower finds the tempo."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from statistics import median

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.midi.clock_port import open_clock_port, output_names
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import take_track
from pedaltrainer.timing.clock_out import ClockOut
from pedaltrainer.timing.midi_clock import CLOCK, START, STOP, clock_of
from pedaltrainer.timing.stream import SilentStream
from tests.devices.jack import ROOT, JackServer, wait_until

FOLLOWER = """
import sys, time
import rtmidi
port = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name="looper")
port.ignore_types(timing=False)
def hear(event, data):
    print(time.perf_counter(), bytes(event[0]).hex(), flush=True)
port.set_callback(hear)
port.open_virtual_port("in")
print("here", flush=True)
sys.stdin.readline()
port.close_port()
port.delete()
"""


@contextmanager
def follower(server: JackServer) -> Iterator[subprocess.Popen[str]]:
    """Another program with an input of its own, that notes what it is sent."""
    done = subprocess.Popen(
        [sys.executable, "-c", FOLLOWER], cwd=ROOT, env=os.environ | server.environment,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert done.stdout is not None
        assert done.stdout.readline().strip() == "here"
        yield done
    finally:
        if done.poll() is None:
            done.communicate("\n", timeout=20)


def test_a_follower_hears_every_clock_once_in_order_and_finds_the_tempo(steady_jack: JackServer):
    track = take_track(parse_drill("Am E"), 160, 8, 4)
    messages = clock_of(track)
    with follower(steady_jack) as other:
        assert wait_until(lambda: "looper:in" in output_names())
        port = open_clock_port("looper")
        out, stream = ClockOut(port.send), SilentStream()
        out.follow(messages, stream.heard_s(time.perf_counter()) + 0.2, 48_000, stream)
        assert wait_until(lambda: out.lateness().messages == len(messages), within_s=30)
        time.sleep(0.3)
        out.close()
        port.close()
        told, _ = other.communicate("\n", timeout=20)
    heard = [(float(at_s), bytes.fromhex(data)) for at_s, data in map(str.split, told.splitlines())]
    assert [data for _, data in heard] == [message.data for message in messages]
    clocks = [at_s for at_s, data in heard if data == CLOCK]
    beats_s = [there - here for here, there in zip(clocks[:73], clocks[24:97], strict=True)]
    assert 60 / median(beats_s) == pytest.approx(160, abs=0.2)
    assert [data for _, data in heard if data in (START, STOP)] == [START, STOP]


def test_an_output_that_is_not_there_is_told_with_those_that_are(steady_jack: JackServer):
    with follower(steady_jack):
        assert wait_until(lambda: "looper:in" in output_names())
        with pytest.raises(InputError, match=r"“drums” is not there; there are: .*“looper:in”"):
            open_clock_port("drums")


def test_a_port_of_our_own_can_be_made_where_the_system_has_such(steady_jack: JackServer):
    port = open_clock_port("virtual")
    port.send(CLOCK)
    port.close()
    assert port.name == "virtual"
