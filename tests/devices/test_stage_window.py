"""A real window on a real (virtual) X screen: opened, drawn to, and read back from the screen itself."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from pedaltrainer.screen.layout import arrange
from pedaltrainer.screen.view import Sight
from tests.devices.window import Screen
from tests.screen import sample_views

PLAYER = """
import sys, time
from dataclasses import replace
import pygame
from pedaltrainer.screen.window import Stage
from pedaltrainer.screen.view import PlankView
from tests.screen import sample_views
stage = Stage(None if sys.argv[1] == "full" else (1280, 720), windowed=sys.argv[1] != "full")
print("driver", pygame.display.get_driver(), *stage.size, pygame.display.get_caption()[0], flush=True)
for command in sys.stdin:
    height = float(command)
    view = replace(sample_views.TAKE, plank=PlankView(height, 1, 4))
    for _ in range(10):
        for event in pygame.event.get():
            stage.note_event(event)
        stage.draw(view)
        time.sleep(0.02)
    print("drawn", flush=True)
"""


@pytest.fixture
def wide_screen(screen: Screen, tmp_path: Path) -> Iterator[Screen]:
    """A screen of 1920x1080; where `screen` is skipped, so is this."""
    opened = Screen(tmp_path, (1920, 1080))
    try:
        yield opened
    finally:
        opened.close()


def player(display: str, mode: str) -> subprocess.Popen[str]:
    environment = {k: v for k, v in os.environ.items() if k != "SDL_VIDEODRIVER"} | {"DISPLAY": display}
    environment["PYGAME_HIDE_SUPPORT_PROMPT"] = "1"
    root = Path(__file__).parents[2]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    return subprocess.Popen([sys.executable, "-c", PLAYER, mode], env=environment, cwd=root, **pipes)


def say(process: subprocess.Popen[str], height: float) -> None:
    process.stdin.write(f"{height}\n")
    process.stdin.flush()
    assert process.stdout.readline().strip() == "drawn"


def test_the_stage_fills_the_screen_and_the_screen_shows_the_plank_move(wide_screen):
    process = player(wide_screen.display, "full")
    try:
        assert process.stdout.readline().split() == ["driver", "x11", "1920", "1080", "pedaltrainer"]
        say(process, 0.0)
        down = wide_screen.picture()
        say(process, 1.0)
        up = wide_screen.picture()
    finally:
        process.stdin.close()
        process.wait(20)
    zones = arrange(sample_views.TAKE, 1920, 1080, Sight()).zones
    changed = np.flatnonzero((down != up).any(axis=(1, 2)))
    beat, track = zones["beat"], zones["track"]
    assert len(changed), "the screen did not change"
    assert min(changed) >= min(beat.y, track.y)
    assert max(changed) < max(beat.y + beat.h, track.y + track.h)
    assert len(changed) > track.h * 0.5
    assert process.returncode == 0


def test_a_windowed_stage_has_the_size_it_was_given(screen):
    process = player(screen.display, "window")
    try:
        assert process.stdout.readline().split() == ["driver", "x11", "1280", "720", "pedaltrainer"]
        say(process, 0.5)
    finally:
        process.stdin.close()
        process.wait(20)
    assert process.returncode == 0
