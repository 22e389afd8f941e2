"""Lights on a real MIDI port: what a pedalboard hears, and that none is left burning, however we end."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from typing import Any

import pytest

from pedaltrainer.pedals.events import InputChange
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.input import status
from pedaltrainer.pedals.midi.lights import LightRow, Lights, Moment
from tests.devices.jack import ROOT, JackServer, wait_until

BOARD = "board:midi out"
ROWS = (
    LightRow(BOARD, Moment.PASS_, "note", 36, value=64),
    LightRow(BOARD, Moment.FAIL, "note", 37),
    LightRow(BOARD, Moment.LISTENING, "controller", 20, channel=2, value=100, off_value=1),
)
PASS_ON, PASS_OFF = "90 24 40", "90 24 00"
FAIL_ON, FAIL_OFF = "90 25 7f", "90 25 00"
LISTENING_ON, LISTENING_OFF = "b1 14 64", "b1 14 01"
ALL_OFF = [PASS_OFF, FAIL_OFF, LISTENING_OFF]

PROGRAM = """
import sys
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.lights import Lights, Moment
from tests.devices.test_lights import BOARD, ROWS
with InputHub(lambda edge: None, lambda status: None, wanted="board") as hub:
    lights = Lights(ROWS, hub.open_output)
    from pedaltrainer.pedals.events import InputChange
    from pedaltrainer.pedals.midi.input import status
    lights.input_changed(status(InputChange.FOUND, BOARD))
    lights.show(Moment.FAIL)
    print("lit", flush=True)
    if sys.stdin.readline() == "raise\\n":
        raise ValueError("trouble")
"""


class Board:
    """A board on JACK, in this process: an output we play as its input, and ears on its lights."""

    def __init__(self) -> None:
        import rtmidi

        self._heard: list[str] = []
        self._out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name="board")
        self._out.open_virtual_port("midi out")
        self._in = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name="board")
        self._in.open_virtual_port("midi in")

    @property
    def heard(self) -> list[str]:
        """All messages so far, in order. Fetched: a callback may not be let go while messages come."""
        while (event := self._in.get_message()) is not None:
            self._heard.append(bytes(event[0]).hex(" "))
        return self._heard

    def close(self) -> None:
        for client in (self._in, self._out):
            client.delete()


def plugged_in() -> Iterator[Board]:
    board = Board()
    try:
        yield board
    finally:
        board.close()


@pytest.fixture
def board(steady_jack: JackServer) -> Iterator[Board]:
    yield from plugged_in()


@pytest.fixture
def mortals_board(jack: JackServer) -> Iterator[Board]:
    """On a server that does not wait for a program that was ended."""
    yield from plugged_in()


@pytest.fixture
def hub(board: Board) -> Iterator[InputHub]:
    with InputHub(lambda edge: None, lambda status: None, wanted="board") as listening:
        assert listening.devices == (BOARD,)
        yield listening


def hears(board: Board, messages: list[str]) -> bool:
    return wait_until(lambda: board.heard == messages)


def test_each_moment_lights_its_own_light_and_puts_out_the_one_before(board: Board, hub: InputHub) -> None:
    with closing(Lights(ROWS, hub.open_output)) as lights:
        lights.input_changed(status(InputChange.FOUND, BOARD))
        lights.show(Moment.LISTENING)
        lights.show(Moment.LISTENING)
        lights.show(Moment.PASS_)
        lights.show(Moment.FAIL)
        lights.show(None)
        played = [LISTENING_ON, LISTENING_OFF, PASS_ON, PASS_OFF, FAIL_ON, FAIL_OFF]
        assert hears(board, [*ALL_OFF, *played])
    assert hears(board, [*ALL_OFF, *played, *ALL_OFF])


def test_a_light_that_stands_for_two_moments_does_not_blink_between_them(board: Board, hub: InputHub) -> None:
    rows = (
        LightRow(BOARD, Moment.PASS_, "note", 36, value=1),
        LightRow(BOARD, Moment.FAIL, "note", 36, value=2),
    )
    with closing(Lights(rows, hub.open_output)) as lights:
        lights.input_changed(status(InputChange.FOUND, BOARD))
        lights.show(Moment.PASS_)
        lights.show(Moment.FAIL)
        assert hears(board, ["90 24 00", "90 24 01", "90 24 02"])


def test_a_board_that_is_plugged_in_late_shows_the_present_moment(board: Board, hub: InputHub) -> None:
    with closing(Lights(ROWS, hub.open_output)) as lights:
        lights.show(Moment.PASS_)
        lights.input_changed(status(InputChange.FOUND, BOARD))
        assert hears(board, [*ALL_OFF, PASS_ON])
        lights.input_changed(status(InputChange.LOST, BOARD))
        lights.show(Moment.FAIL)
        lights.input_changed(status(InputChange.BACK, BOARD))
        assert hears(board, [*ALL_OFF, PASS_ON, *ALL_OFF, FAIL_ON])


def test_a_device_without_lights_is_left_alone(board: Board, hub: InputHub) -> None:
    opened: list[str] = []

    def open_output(device: str) -> Any:
        opened.append(device)
        raise OSError("it has none")

    with closing(Lights(ROWS, open_output)) as lights:
        lights.input_changed(status(InputChange.FOUND, "some other pedal"))
        assert opened == []
        lights.input_changed(status(InputChange.FOUND, BOARD))
        lights.show(Moment.PASS_)
    assert opened == [BOARD]


def lit_program() -> subprocess.Popen[str]:
    program = subprocess.Popen(
        [sys.executable, "-c", PROGRAM],
        cwd=ROOT,
        env=os.environ.copy(),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert program.stdout is not None
    assert program.stdout.readline() == "lit\n"
    return program


@pytest.mark.parametrize("ending", ["end", "raise"])
def test_no_light_is_left_on_however_the_program_ends(board: Board, ending: str) -> None:
    program = lit_program()
    assert hears(board, [*ALL_OFF, FAIL_ON])
    _, told = program.communicate(f"{ending}\n", timeout=20)
    assert ("trouble" in told) == (ending == "raise")
    assert hears(board, [*ALL_OFF, FAIL_ON, *ALL_OFF])


def test_no_light_is_left_on_when_the_program_is_terminated(mortals_board: Board) -> None:
    program = lit_program()
    assert hears(mortals_board, [*ALL_OFF, FAIL_ON])
    program.send_signal(signal.SIGTERM)
    assert program.wait(timeout=20) == -signal.SIGTERM
    program.communicate()
    assert hears(mortals_board, [*ALL_OFF, FAIL_ON, *ALL_OFF])


def test_what_was_to_happen_on_sigterm_still_happens() -> None:
    caught: list[int] = []
    before = signal.signal(signal.SIGTERM, lambda number, frame: caught.append(number))
    try:
        ours = signal.getsignal(signal.SIGTERM)
        with closing(Lights(ROWS, lambda device: pytest.fail("nothing to open"))):
            os.kill(os.getpid(), signal.SIGTERM)
            assert wait_until(lambda: bool(caught))
        assert signal.getsignal(signal.SIGTERM) == ours
    finally:
        signal.signal(signal.SIGTERM, before)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"kind": "lamp", "number": 1}, '"lamp"'),
        ({"kind": "note", "number": 128}, "number of a light is 0 to 127, not 128"),
        ({"kind": "note", "number": 1, "channel": 0}, "channel of a light is 1 to 16, not 0"),
        ({"kind": "controller", "number": 1, "value": -1}, "value of a light is 0 to 127, not -1"),
    ],
)
def test_a_light_that_cannot_be_sent_is_refused_with_its_value(row: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        LightRow(BOARD, Moment.PASS_, **row)
