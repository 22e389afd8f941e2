"""A real session seen and heard from outside: a virtual screen, its pixels, the recorded sound, the keys.

Nothing here looks into the program. The screen is the frame buffer of an X
server of our own, the sound is what SDL's disk driver wrote, the takes are
what is in the log.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path
from types import TracebackType

import numpy as np
import numpy.typing as npt

from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.screen.fit import Zone
from pedaltrainer.screen.view import StageView
from pedaltrainer.screen.window import render
from tests.devices.jack import ROOT, wait_until
from tests.timing.hearing import onset_samples

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3): red, green, blue."""
NEEDED = ("Xvfb", "xdotool")
ACKNOWLEDGED_S = 1.0
STILL_S = 0.8
RATE = 48_000


def missing_programs() -> list[str]:
    return [name for name in NEEDED if shutil.which(name) is None]


class Screen:
    """An X server of our own on a free display; its frame buffer is a file that can be read at any time."""

    def __init__(self, folder: Path, size: tuple[int, int] = (1280, 720)) -> None:
        self.size = size
        reading, writing = os.pipe()
        # Without -noreset it starts afresh as its last client leaves, and turns away who comes just then.
        options = ["-fbdir", str(folder), "-nolisten", "tcp", "-noreset"]
        geometry = f"{size[0]}x{size[1]}x24"
        self._server = subprocess.Popen(
            ["Xvfb", "-displayfd", str(writing), "-screen", "0", geometry, *options],
            pass_fds=[writing],
            stderr=subprocess.DEVNULL,
        )
        os.close(writing)
        with os.fdopen(reading) as pipe:
            number = pipe.readline().strip()
        if not number:
            raise RuntimeError("Xvfb did not start")
        self.display = f":{number}"
        self._frame_buffer = folder / "Xvfb_screen0"

    def picture(self) -> Picture:
        """What is on the whole screen now."""
        width, height = self.size
        # The X window dump ends with the picture, four bytes a pixel: blue, green, red, nothing.
        with self._frame_buffer.open("rb") as file:
            file.seek(-width * height * 4, os.SEEK_END)
            dump = np.frombuffer(file.read(), np.uint8).reshape(height, width, 4)
        return dump[:, :, 2::-1]

    def xdotool(self, *words: object) -> str:
        done = subprocess.run(
            ["xdotool", *map(str, words)],
            env=os.environ | {"DISPLAY": self.display},
            capture_output=True,
            text=True,
            check=True,
            timeout=20,
        )
        return done.stdout

    def close(self) -> None:
        self._server.terminate()
        self._server.wait(10)


class _ClientMessage(ctypes.Structure):
    """XClientMessageEvent of Xlib.h; the padding makes it the size of the union XEvent."""

    _fields_ = (
        ("type", ctypes.c_int),
        ("serial", ctypes.c_ulong),
        ("send_event", ctypes.c_int),
        ("display", ctypes.c_void_p),
        ("window", ctypes.c_ulong),
        ("message_type", ctypes.c_ulong),
        ("format", ctypes.c_int),
        ("data", ctypes.c_long * 5),
        ("padding", ctypes.c_long * 24),
    )


def ask_to_close(display: str, window: int) -> None:
    """Send a window the message that a window manager sends for its closing button."""
    client_message = 33  # X.h: ClientMessage
    xlib = ctypes.CDLL(ctypes.util.find_library("X11") or "libX11.so.6")
    xlib.XOpenDisplay.restype = ctypes.c_void_p
    xlib.XInternAtom.restype = ctypes.c_ulong
    connection = ctypes.c_void_p(xlib.XOpenDisplay(display.encode()))
    assert connection.value, f"no display {display}"
    protocols, delete = (
        xlib.XInternAtom(connection, name, 0) for name in (b"WM_PROTOCOLS", b"WM_DELETE_WINDOW")
    )
    message = _ClientMessage(
        type=client_message, window=window, message_type=protocols, format=32, data=(delete, 0, 0, 0, 0)
    )
    sent = xlib.XSendEvent(connection, ctypes.c_ulong(window), 0, ctypes.c_long(0), ctypes.byref(message))
    xlib.XCloseDisplay(connection)
    assert sent, "the X server would not pass the message on"


class Recording:
    """What SDL's disk driver has written so far: 16 bit stereo, both sides alike."""

    def __init__(self, path: Path) -> None:
        self._path = path

    @property
    def frames(self) -> int:
        return self._path.stat().st_size // 4 if self._path.exists() else 0

    def pcm(self) -> npt.NDArray[np.int16]:
        frames = self.frames
        with self._path.open("rb") as file:
            left, right = np.frombuffer(file.read(frames * 4), np.int16).reshape(-1, 2).T
        assert np.array_equal(left, right)
        return left

    def onsets(self) -> npt.NDArray[np.int64]:
        return onset_samples(self.pcm())

    def first_onset(self) -> int:
        """The first sample that is not silent, waited for."""
        assert wait_until(lambda: self.frames > 0 and bool(self.pcm().any()), within_s=20)
        return int(self.onsets()[0])

    def wait_for(self, frame: int) -> None:
        """Until so many frames have been handed over."""
        assert wait_until(lambda: self.frames >= frame, within_s=30, step_s=0.002)

    def takes(self, gap_s: float = 1.0) -> list[npt.NDArray[np.int64]]:
        """The onsets of each take: between two takes nothing sounds for gap_s or more."""
        onsets = self.onsets()
        return np.split(onsets, np.flatnonzero(np.diff(onsets) > gap_s * RATE) + 1)


class RealSession:
    """`python -m pedaltrainer ...` in a window of its own, its folder, its sound and its exit code."""

    def __init__(
        self, screen: Screen, folder: Path, *words: object, cautions_seen: bool = True, **environment: str
    ) -> None:
        self.screen, self.folder = screen, folder
        self.recording = Recording(folder / "heard.raw")
        folder.mkdir(parents=True, exist_ok=True)
        if cautions_seen:
            (folder / "settings.toml").write_text('cautions_seen_utc = "2026-01-01T00:00:00.000Z"\n')
        base = {name: value for name, value in os.environ.items() if name != "SDL_VIDEODRIVER"}
        base |= {
            "DISPLAY": screen.display,
            "SDL_AUDIODRIVER": "disk",
            "SDL_DISKAUDIOFILE": str(folder / "heard.raw"),
            "PYGAME_HIDE_SUPPORT_PROMPT": "1",
        }
        self._process = subprocess.Popen(
            [sys.executable, "-m", "pedaltrainer", *map(str, words), "--data", str(folder)],
            cwd=ROOT,
            env=base | environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.window_id = ""
        self._at = (0, 0)
        self.size = (0, 0)

    def __enter__(self) -> RealSession:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process.poll() is None:
            self._process.kill()
        self._process.communicate()

    # --- the window -----------------------------------------------------------

    def find_window(self) -> None:
        """Wait for the window, give it the keys, and learn where it lies."""
        # Our own waiting: xdotool's never ends when the program has.
        assert wait_until(self._sees_window, within_s=30, step_s=0.05), "no window came"
        shell = self.screen.xdotool("getwindowgeometry", "--shell", self.window_id)
        found = dict(line.split("=") for line in shell.split())
        self._at = int(found["X"]), int(found["Y"])
        self.size = int(found["WIDTH"]), int(found["HEIGHT"])
        # No window manager runs here to give the window the focus.
        self.screen.xdotool("windowfocus", "--sync", self.window_id)

    def _sees_window(self) -> bool:
        if self._process.poll() is not None:
            raise AssertionError(f"the program ended before its window came: {self.wait_for_end()}")
        try:
            found = self.screen.xdotool("search", "--onlyvisible", "--class", ".").split()
        except subprocess.CalledProcessError:  # none yet
            return False
        self.window_id = found[0] if found else ""
        return bool(found)

    def picture(self) -> Picture:
        (x, y), (width, height) = self._at, self.size
        return self.screen.picture()[y : y + height, x : x + width]

    def shows(self, view: StageView, within_s: float = 20) -> bool:
        """Whether the window comes to show exactly this view."""
        import pygame

        wanted = pygame.surfarray.array3d(render(view, self.size)).swapaxes(0, 1)
        return wait_until(lambda: np.array_equal(self.picture(), wanted), within_s, step_s=0.03)

    def _zone(self, zone: Zone | None) -> Picture:
        picture = self.picture()
        return picture if zone is None else picture[zone.y : zone.y + zone.h, zone.x : zone.x + zone.w]

    def wait_for_movement(self, zone: Zone | None = None, within_s: float = 20) -> None:
        """Until something changes in a zone (the whole window by default)."""
        before = self._zone(zone).copy()
        assert wait_until(lambda: not np.array_equal(self._zone(zone), before), within_s), "nothing moved"

    def wait_for_stillness(self, zone: Zone | None = None, still_s: float = STILL_S) -> None:
        """Until nothing has changed in a zone for a while."""
        end_s = time.perf_counter() + 60
        before, since_s = self._zone(zone).copy(), time.perf_counter()
        while time.perf_counter() - since_s < still_s:
            assert time.perf_counter() < end_s, "it never came to rest"
            time.sleep(0.02)
            now = self._zone(zone)
            if not np.array_equal(now, before):
                before, since_s = now.copy(), time.perf_counter()

    def keys(self, *words: object) -> None:
        """Keys through the X server, as from a keyboard: "keydown", "space", "sleep", 0.1, ..."""
        self.screen.xdotool(*words)

    def close_window(self) -> None:
        """Ask the window to close, as the cross in its corner does (ICCCM 4.2.8.1, WM_DELETE_WINDOW)."""
        ask_to_close(self.screen.display, int(self.window_id))

    def signal(self, number: int) -> None:
        """What Ctrl+C in the terminal sends (SIGINT), or a system that ends its programs."""
        self._process.send_signal(number)

    # --- what is left ---------------------------------------------------------

    def takes(self) -> list[TakeRow]:
        """Oldest first, with those that were taken back."""
        if not (self.folder / "log.sqlite3").exists():
            return []
        with Log.open(self.folder, read_only=True) as log:
            return log.takes(newest_first=False, include_cancelled=True)

    def wait_for_takes(self, number: int) -> list[TakeRow]:
        assert wait_until(lambda: len(self.takes()) >= number, within_s=30, step_s=0.02), self.takes()
        return self.takes()

    def wait_for_end(self) -> tuple[int, str, str]:
        """The exit code, and what was printed on both channels."""
        out, err = self._process.communicate(timeout=30)
        return self._process.returncode, out, err
