"""A whole session played on a game controller, the window never in front.

The program runs in a process of its own, with SDL's virtual joystick in it:
lines on standard input plug it in, press it and pull it out. Nobody gives the
window the focus, so every press also shows that controllers work without it.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow
from tests.devices.jack import ROOT, wait_until
from tests.devices.window import Screen

PROGRAM = """
import ctypes, sys, threading, time
import pygame
from pedaltrainer.cli import main

sdl = ctypes.CDLL(pygame.joystick.__file__)
sdl.SDL_JoystickFromInstanceID.restype = ctypes.c_void_p

def obey():
    while not pygame.joystick.get_init():
        time.sleep(0.01)
    print("ready", file=sys.stderr, flush=True)
    for line in sys.stdin:
        word = line.strip()
        if word == "plug":
            index = sdl.SDL_JoystickAttachVirtual(1, 2, 4, 1)
            instance = sdl.SDL_JoystickGetDeviceInstanceID(index)
        elif word == "pull":
            sdl.SDL_JoystickDetachVirtual(index)
        else:
            handle = ctypes.c_void_p(sdl.SDL_JoystickFromInstanceID(instance))
            sdl.SDL_JoystickSetVirtualButton(handle, 0, int(word == "down"))

threading.Thread(target=obey, daemon=True).start()
sys.exit(main(sys.argv[1:]))
"""
WORDS = ("play", "Am E", "--windowed", "--start", "280", "--landings", "4")


class ControlledSession:
    """The program, its controller and its log."""

    def __init__(self, display: str, folder: Path) -> None:
        self._folder = folder
        folder.mkdir()
        (folder / "settings.toml").write_text('cautions_seen_utc = "2026-01-01T00:00:00.000Z"\n')
        environment = {name: value for name, value in os.environ.items() if name != "SDL_VIDEODRIVER"}
        environment |= {"DISPLAY": display, "SDL_AUDIODRIVER": "dummy", "MIDO_BACKEND": "none.such"}
        self._process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, *WORDS, "--data", str(folder)],
            cwd=ROOT,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self._process.stderr is not None
        assert self._process.stderr.readline() == "ready\n"

    def do(self, *words: str) -> None:
        assert self._process.stdin is not None
        for word in words:
            self._process.stdin.write(f"{word}\n")
            self._process.stdin.flush()
            time.sleep(0.08)

    def takes(self) -> list[TakeRow]:
        with Log.open(self._folder, read_only=True) as log:
            return log.takes(newest_first=False, include_cancelled=True)

    def tap_until(self, happened: Callable[[], bool]) -> bool:
        """Tap as a player in no hurry does; a tap begins a take, and passes one that has ended."""
        for _ in range(24):
            self.do("down", "up")
            if wait_until(happened, within_s=1.0, step_s=0.05):
                return True
        return False

    def end(self) -> None:
        self._process.kill()
        self._process.communicate()


@pytest.fixture
def session(screen: Screen, tmp_path: Path) -> Iterator[ControlledSession]:
    played = ControlledSession(screen.display, tmp_path / "data")
    try:
        yield played
    finally:
        played.end()


def test_one_button_plays_takes_and_goes_on_after_a_replug(session: ControlledSession) -> None:
    session.do("plug")
    assert session.tap_until(lambda: len(session.takes()) >= 1)
    first = session.takes()[0]
    assert (first.outcome, first.judge) == ("pass", "foot")
    session.do("pull", "plug")
    assert session.tap_until(lambda: len(session.takes()) >= 2)
    assert {take.judge for take in session.takes()} == {"foot"}
