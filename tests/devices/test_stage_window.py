"""A real window on a real (virtual) X screen: opened, drawn to, and read back from the screen itself."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from pedaltrainer.screen.layout import arrange
from pedaltrainer.screen.view import Sight
from tests.screen import sample_views

XVFB = shutil.which("Xvfb")

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
def screen(tmp_path):
    """A virtual X screen of 1920x1080 whose frame buffer is a file, to be read as it is shown."""
    if XVFB is None:
        if os.environ.get("CI"):
            pytest.fail("Xvfb is missing: install it (Debian: xvfb)")
        pytest.skip("Xvfb is not installed")
    reading, writing = os.pipe()
    command = [XVFB, "-displayfd", str(writing), "-screen", "0", "1920x1080x24", "-fbdir", str(tmp_path)]
    server = subprocess.Popen(
        [*command, "-nolisten", "tcp", "-noreset"], pass_fds=[writing], stderr=subprocess.DEVNULL
    )
    os.close(writing)
    with os.fdopen(reading) as pipe:
        number = pipe.readline().strip()
    assert number, "Xvfb did not start"
    yield f":{number}", tmp_path / "Xvfb_screen0"
    server.terminate()
    server.wait(10)


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


def pixels(frame_buffer: Path) -> bytes:
    # The last 1920 x 1080 x 4 bytes of the X window dump are the picture.
    return frame_buffer.read_bytes()[-1920 * 1080 * 4 :]


def test_the_stage_fills_the_screen_and_the_screen_shows_the_plank_move(screen):
    display, frame_buffer = screen
    process = player(display, "full")
    try:
        assert process.stdout.readline().split() == ["driver", "x11", "1920", "1080", "pedaltrainer"]
        say(process, 0.0)
        down = pixels(frame_buffer)
        say(process, 1.0)
        up = pixels(frame_buffer)
    finally:
        process.stdin.close()
        process.wait(20)
    zones = arrange(sample_views.TAKE, 1920, 1080, Sight()).zones
    changed = [
        row
        for row in range(1080)
        if down[row * 7680 : row * 7680 + 7680] != up[row * 7680 : row * 7680 + 7680]
    ]
    beat, track = zones["beat"], zones["track"]
    assert changed, "the screen did not change"
    assert min(changed) >= min(beat.y, track.y)
    assert max(changed) < max(beat.y + beat.h, track.y + track.h)
    assert len(changed) > track.h * 0.5
    assert process.returncode == 0


def test_a_windowed_stage_has_the_size_it_was_given(screen):
    process = player(screen[0], "window")
    try:
        assert process.stdout.readline().split() == ["driver", "x11", "1280", "720", "pedaltrainer"]
        say(process, 0.5)
    finally:
        process.stdin.close()
        process.wait(20)
    assert process.returncode == 0
