"""Presses in a flood of noise on a real port: each is a control, and nothing else is."""

from __future__ import annotations

import subprocess
import sys

import pytest

from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.midi import messages
from pedaltrainer.pedals.midi.hub import InputHub
from tests.benchmarks.pedal_flood import flood
from tests.devices.jack import JackServer, VirtualPedal, wait_until

SECONDS, RATE, PRESSES = 3.0, 10_000, 20


def test_every_press_in_a_flood_of_ten_thousand_messages_a_second_is_one_control(
    steady_jack: JackServer,
) -> None:
    flooded = flood(steady_jack.environment, SECONDS, RATE, PRESSES)
    assert flooded.presses == PRESSES
    assert flooded.controls == PRESSES
    assert flooded.messages >= 0.9 * SECONDS * RATE


def test_a_monitor_that_looks_on_misses_no_message_of_the_flood(steady_jack: JackServer) -> None:
    flooded = flood(steady_jack.environment, 2.0, RATE, 5, watch=True)
    assert flooded.controls == 5
    # A way down and a way up for each press.
    assert flooded.monitored == flooded.messages + 2 * 5


def test_clock_and_sensing_do_not_even_reach_the_switches(
    steady_pedal: VirtualPedal, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked_at: list[str] = []
    read = messages.read

    def spy(message):
        looked_at.append(message.type)
        return read(message)

    monkeypatch.setattr(messages, "read", spy)
    edges: list[BoundEdge] = []
    with InputHub(edges.append, lambda status: None):
        steady_pedal.send(*["f8", "fe"] * 50, "f1 00", "ff", "fa", "b0 40 7f")
        assert wait_until(lambda: len(edges) == 1)
    assert looked_at == ["start", "control_change"]


CLOSES_IN_MID_FLOOD = """
import sys, threading, time
from pedaltrainer.pedals.midi.rtmidi import RtMidiPorts
sys.setswitchinterval(0.05)
ports = RtMidiPorts("UNIX_JACK")
(name,) = ports.names()
for _ in range(30):
    came = threading.Event()
    port = ports.open(name, lambda message, t_s: came.set())
    assert came.wait(10)
    # Nobody else gets the interpreter meanwhile: the next message waits for it as the port closes.
    until_s = time.perf_counter() + 0.004
    while time.perf_counter() < until_s:
        pass
    port.close()
    pairs = [(object(), object()) for _ in range(50)]
    assert all(dict(zip("ab", pair)) for pair in pairs)
ports.close()
"""


def test_a_port_may_close_while_a_message_waits(steady_pedal: VirtualPedal) -> None:
    program = subprocess.Popen([sys.executable, "-c", CLOSES_IN_MID_FLOOD], stderr=subprocess.PIPE, text=True)
    while program.poll() is None:
        steady_pedal.send(*["b0 40 7f", "@0.001", "b0 40 00", "@0.001"] * 10)
    assert program.returncode == 0, program.communicate()[1]
