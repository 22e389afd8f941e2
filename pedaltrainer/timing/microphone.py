"""The microphone: one capture callback that copies and counts, and the line from its samples to instants.

Open for a whole session. The last MOST_S seconds are kept in one block of memory that is written round and
round; nothing of it is ever written to a file. When a sample was heard follows from the same loop as the
click's (`timing.clock`): no callback's own time decides anything.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from pedaltrainer.system.quiet import hush_alsa, quiet_stderr
from pedaltrainer.timing.clock import DelayLockedLoop, LoopState
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.sound_device import chosen, has_gone
from pedaltrainer.timing.stream import left_open

FRAMES = 512
MOST_S = 120
"""A take that lasts longer is left to the foot."""
LEVEL_S = 0.1
LOST_S, START_PATIENCE_S = 1.0, 3.0

Samples = npt.NDArray[np.float64]


class Hearing(Protocol):
    """What the ear needs of a microphone."""

    @property
    def name(self) -> str: ...
    @property
    def lost(self) -> bool: ...
    def between(self, from_t_s: float, to_t_s: float) -> Samples | None:
        """What came between two instants, (n,) at 48 kHz from -1 to 1; None where it is not there whole."""

    def level(self) -> float:
        """The highest of the last moment, 0-1."""

    def close(self) -> None: ...


class Microphone:
    """One SDL capture device, 48 kHz, 16 bit, mono. Raises RuntimeError when none can be opened.

    frames: samples that it hands over at once.
    """

    def __init__(self, wish: str = "", frames: int = FRAMES) -> None:
        from pygame._sdl2 import audio, sdl2

        sdl2.init_subsystem(sdl2.INIT_AUDIO)
        self._kept = np.zeros(MOST_S * RATE, dtype=np.int16)
        self._loop = DelayLockedLoop(RATE)
        self._state: LoopState | None = None
        self._written = 0
        self._last_s = self._opened_s = time.perf_counter()
        self._closed = self._closing = False
        self._quiet = threading.Event()
        self.trouble = ""
        self._frames = frames
        self.name = chosen(input_names(), wish, "")
        self._device = audio.AudioDevice(
            devicename=self.name,
            iscapture=True,
            frequency=RATE,
            audioformat=audio.AUDIO_S16,
            numchannels=1,
            chunksize=frames,
            allowed_changes=0,
            callback=self._callback,
        )
        self._device.pause(0)

    def _callback(self, device: Any, memory: Any) -> None:
        now_s = time.perf_counter()
        try:
            came = np.frombuffer(memory, dtype=np.int16)
            at, length = self._written % len(self._kept), len(came)
            fits = min(length, len(self._kept) - at)
            self._kept[at : at + fits] = came[:fits]
            self._kept[: length - fits] = came[fits:]
            self._state = self._loop.update(self._state, now_s, self._written)
            self._last_s, self._written = now_s, self._written + length
        except Exception as error:  # An exception cannot leave a callback; it is kept for the doctor.
            self.trouble = f"{type(error).__name__}: {error}"
        if self._closing:
            # As in `stream.AudioStream`: paused from another thread the two locks could wait for each other.
            device.pause(1)
            self._quiet.set()

    def between(self, from_t_s: float, to_t_s: float) -> Samples | None:
        state, written = self._state, self._written
        if state is None:
            return None
        # A block is handed over when it is full: its first sample came a block before.
        first = round(state.line.sample_at(from_t_s)) + self._frames
        end = first + round((to_t_s - from_t_s) * RATE)
        if not max(0, written - len(self._kept)) <= first < end <= written:
            return None
        came = self._kept.take(np.arange(first, end), mode="wrap")
        # What was written over meanwhile is not there any more.
        return came / 32768 if first >= self._written - len(self._kept) else None

    def level(self) -> float:
        end = self._written
        last = self._kept.take(np.arange(max(0, end - round(LEVEL_S * RATE)), end), mode="wrap")
        return float(np.abs(last / 32768).max(initial=0.0))

    @property
    def lost(self) -> bool:
        """True when the device has gone, or gives nothing for a second, at its start for three."""
        patience_s = LOST_S if self._state is not None else START_PATIENCE_S
        return not self._closed and (
            time.perf_counter() - self._last_s > patience_s or has_gone(self._device)
        )

    def close(self) -> None:
        """Let the device go; may be called twice. Call it before pygame.quit()."""
        if self._closed:
            return
        was_lost, self._closed, self._closing = self.lost, True, True
        if was_lost or not self._quiet.wait(START_PATIENCE_S):
            left_open.append(self._device)
            return
        # The callback has paused the device but may still be on its way out of SDL's lock.
        time.sleep(0.002)
        self._device.close()


def input_names() -> Sequence[str]:
    """The devices that sound can come from; none where the system's sound cannot be used."""
    from pygame._sdl2 import audio, sdl2

    try:
        sdl2.init_subsystem(sdl2.INIT_AUDIO)
        return list(audio.get_audio_device_names(True))
    except RuntimeError:  # SDL's errors reach us as RuntimeErrors of two classes
        return []


def open_microphone(wish: str = "") -> Microphone | None:
    """The input that is wished for, by a part of its name, else the system's first; None without one."""
    try:
        with quiet_stderr():
            return Microphone(wish)
    except (RuntimeError, ImportError):
        return None
    finally:
        hush_alsa()
