"""The clock that gear follows: opened as it is wished, and what is said where it cannot be."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.live import gear_clock
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.gear_clock import GearClock
from pedaltrainer.timing.midi_clock import START, ClockMessage


class Looper:
    """An output that may be there or not. opened: how often it was."""

    def __init__(self) -> None:
        self.there, self.opened = True, 0

    def open(self, name: str) -> Looper:
        self.opened += 1
        if not self.there:
            raise InputError(f"The MIDI output “{name}” is not there.")
        return self

    def send(self, data: bytes) -> None:
        if not self.there:
            raise OSError("gone")

    def close(self) -> None: ...


@pytest.fixture
def looper(monkeypatch: pytest.MonkeyPatch) -> Looper:
    one = Looper()
    monkeypatch.setattr(gear_clock, "open_clock_port", one.open)
    return one


@pytest.fixture
def gear(looper: Looper) -> Iterator[GearClock]:
    one = GearClock()
    yield one
    one.close()


def test_what_could_not_be_opened_is_said_until_it_follows_or_is_wished_for_no_more(gear, looper):
    looper.there = False
    gear.by("looper", 0.0)
    assert gear.notices == ("The MIDI output “looper” is not there.",)
    looper.there = True
    gear.by("looper", 0.0)
    assert (gear.notices, gear.clock is not None) == ((), True)
    looper.there = False
    gear.by("drums", 0.0)
    assert gear.notices
    gear.by("", 0.0)
    assert gear.notices == ()


def test_another_offset_is_taken_and_the_same_wish_opens_nothing_anew(gear, looper):
    gear.by("looper", 0.0)
    first = gear.clock
    gear.by("looper", 0.0)
    assert (gear.clock, looper.opened) == (first, 1)
    gear.by("looper", -0.015)
    assert (gear.clock is first, looper.opened) == (False, 2)


def test_a_looper_that_goes_is_said_and_followed_again_when_it_is_back(gear, looper):
    gear.by("looper", 0.0)
    looper.there = False
    gear.clock.follow((ClockMessage(0, START),), 0.0, 48_000, SimulatedStream())
    while not gear.notices:
        time.sleep(0.005)
    assert gear.notices == ("“looper” takes no MIDI clock any more (OSError: gone)",)
    looper.there = True
    gear.by("looper", 0.0)
    assert gear.notices == ()
