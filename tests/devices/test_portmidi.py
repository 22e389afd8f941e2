"""The way through PortMidi (no callbacks, no hot-plug), which Python 3.13+ takes.

PortMidi needs the ALSA sequencer, a CoreMIDI or a Windows MIDI device, which
test machines lack: the module `pygame.midi` is replaced by a stand-in with its
documented functions. Everything above it, mido's backend included, is real.
"""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType

import pytest

from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import InputChange, InputStatus
from pedaltrainer.pedals.midi import backend as backend_module
from pedaltrainer.pedals.midi.backend import PORTMIDI, BackendChoice, choose_backend
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.input import list_inputs
from tests.devices.jack import wait_until

Word = list[int]


class Devices(ModuleType):
    """pygame.midi's documented surface; like PortMidi it reads its devices when it starts."""

    def __init__(self) -> None:
        super().__init__("pygame.midi")
        self.plugged: list[str] = []
        self.words: list[Word] = []
        self.starts = 0
        self.pulled_out = False
        self._known: list[str] | None = None
        self._opened: set[int] = set()
        outer = self

        class Input:
            def __init__(self, number: int) -> None:
                self._number = number
                outer._opened.add(number)

            def poll(self) -> bool:
                if outer.pulled_out:
                    raise OSError("the device has gone")
                return bool(outer.words)

            def read(self, count: int) -> list[list[object]]:
                return [[outer.words.pop(0), 0] for _ in range(count)]

            def close(self) -> None:
                outer._opened.discard(self._number)

        self.Input = Input

    def init(self) -> None:
        if self._known is None:
            self._known = list(self.plugged)
            self.starts += 1

    def quit(self) -> None:
        assert not self._opened, "restarted while a port is open: its owner would read freed memory"
        self._known = None

    def get_count(self) -> int:
        return len(self._known or ())

    def get_device_info(self, number: int) -> tuple[bytes, bytes, int, int, int]:
        assert self._known is not None
        return b"ALSA", self._known[number].encode(), 1, 0, int(number in self._opened)


@pytest.fixture
def devices(monkeypatch: pytest.MonkeyPatch) -> Devices:
    import pygame

    stand_in = Devices()
    monkeypatch.setitem(sys.modules, "pygame.midi", stand_in)
    monkeypatch.setattr(pygame, "midi", stand_in, raising=False)
    monkeypatch.delitem(sys.modules, PORTMIDI, raising=False)
    monkeypatch.setenv("MIDO_BACKEND", PORTMIDI)
    monkeypatch.setattr(backend_module, "ALSA_SEQUENCER", Path("/dev/null"))
    return stand_in


def test_presses_arrive_though_the_port_must_be_asked(devices: Devices) -> None:
    devices.plugged = ["Foot MIDI 1"]
    edges: list[BoundEdge] = []
    with InputHub(edges.append, lambda status: None) as midi_input:
        assert midi_input.devices == ("Foot MIDI 1",)
        devices.words += [[0xB0, 64, 127, 0], [0xF8, 0, 0, 0], [0xB0, 64, 0, 0]]
        assert wait_until(lambda: len(edges) == 2)
    assert [(edge.switch, edge.down) for edge in edges] == [
        ("controller 64 on channel 1", True),
        ("controller 64 on channel 1", False),
    ]


def test_a_pedal_plugged_in_later_is_seen_by_starting_portmidi_afresh(devices: Devices) -> None:
    statuses: list[InputStatus] = []
    with InputHub(lambda edge: None, statuses.append, poll_s=0.02) as midi_input:
        assert midi_input.devices == ()
        devices.plugged.append("Foot MIDI 1")
        assert wait_until(lambda: len(statuses) == 2)
        starts = devices.starts
        assert not wait_until(lambda: devices.starts > starts, within_s=0.2)
    assert [status.change for status in statuses] == [InputChange.NONE, InputChange.FOUND]


def test_where_new_pedals_cannot_be_seen_the_stage_is_told_so(devices: Devices) -> None:
    devices.plugged = ["Foot MIDI 1"]
    statuses: list[InputStatus] = []
    with InputHub(lambda edge: None, statuses.append):
        pass
    assert statuses[0].words.startswith("Listening to Foot MIDI 1.")
    assert "not seen" in statuses[0].words


def test_a_pedal_whose_reading_fails_is_lost_and_taken_again(devices: Devices) -> None:
    devices.plugged = ["Foot MIDI 1"]
    statuses: list[InputStatus] = []
    edges: list[BoundEdge] = []
    with InputHub(edges.append, statuses.append, poll_s=0.02):
        devices.pulled_out = True
        assert wait_until(lambda: len(statuses) == 2)
        devices.pulled_out = False
        assert wait_until(lambda: len(statuses) == 3)
        devices.words += [[0xB0, 64, 127, 0]]
        assert wait_until(lambda: len(edges) == 1)
    assert [status.change for status in statuses] == [InputChange.FOUND, InputChange.LOST, InputChange.BACK]


def test_listing_leaves_nothing_open(devices: Devices) -> None:
    devices.plugged = ["Foot MIDI 1", "Keys MIDI 1"]
    assert list_inputs() == ["Foot MIDI 1", "Keys MIDI 1"]
    assert list_inputs(BackendChoice(PORTMIDI, None, "")) == ["Foot MIDI 1", "Keys MIDI 1"]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux has the ALSA sequencer")
def test_portmidi_without_the_alsa_sequencer_is_no_midi(
    devices: Devices, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(backend_module, "ALSA_SEQUENCER", tmp_path / "seq")
    choice = choose_backend()
    assert choice.module is None
    assert "ALSA sequencer" in choice.reason


def test_a_python_without_rtmidi_takes_portmidi(devices: Devices, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("MIDO_BACKEND")
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    monkeypatch.delitem(sys.modules, "mido.backends.rtmidi", raising=False)
    assert choose_backend().module == PORTMIDI
