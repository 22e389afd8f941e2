"""The click as it is heard: one audio callback, and a silent stand-in.

Session time in the whole program is `heard_s`: seconds of the stream that
have reached the ear. The callback does nothing but note the time, mix and
copy; it takes no lock. What it knows it publishes as one tuple, replaced
whole, so a reader never sees half of an update.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import numpy as np

from pedaltrainer.system.quiet import hush_alsa, quiet_stderr
from pedaltrainer.timing.click import BEAT_SOUNDS, ClickPlan, Mixer, Pcm, Sound, SoundBank, onsets
from pedaltrainer.timing.clock import ClockMap, DelayLockedLoop, LoopState
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.sound_device import (
    USUAL_SOUND,
    SoundWish,
    chosen,
    default_name,
    device_names,
    has_gone,
    is_heard,
)
from pedaltrainer.timing.strum import strum

CHANNELS = 2
BUFFERS_TO_THE_EAR = 2
STARTING_CALLBACKS = 16
LOST_S = 1.0
START_PATIENCE_S = 3.0
NO_DEVICE = "No sound device was found: the click is silent."

_PLAN = "plan"
# Devices that died are kept: letting one go makes SDL wait for a thread that never ends.
left_open: list[Any] = []


@dataclass(frozen=True, slots=True)
class StreamHealth:
    """How steadily the device asked for sound.

    Lateness is the gap between two callbacks less one buffer, once the stream
    has started (STARTING_CALLBACKS); late_callbacks were late by more than one
    buffer. underruns counts stalls after which the clock was found afresh;
    stumbles those of them that can be heard, stumbled_s is the second of the
    stream at which the last one was. trouble is the last exception in the
    callback, in words.
    """

    callbacks: int = 0
    worst_late_ms: float = 0.0
    late_callbacks: int = 0
    underruns: int = 0
    stumbles: int = 0
    stumbled_s: float = 0.0
    seconds: float = 0.0
    missed_clicks: int = 0
    trouble: str = ""


class ClickStream(Protocol):
    """What the program needs of a stream, heard or silent."""

    @property
    def rate(self) -> int: ...
    @property
    def latency_s(self) -> float: ...
    @property
    def name(self) -> str: ...
    @property
    def frames(self) -> int:
        """Samples that the device takes at once; 0 without one."""

    @property
    def silent(self) -> bool: ...
    @property
    def lost(self) -> bool: ...
    def heard_s(self, t_s: float) -> float:
        """Seconds of the stream heard at an instant; never less for a later instant."""

    def t_s(self, heard_s: float) -> float:
        """The instant at which a second of the stream is (or will be) heard."""

    def play(self, plan: ClickPlan) -> int:
        """Play a plan, in place of the one that was playing. The number is its own: `back` asks for it."""

    def play_clicks(self, clicks: Sequence[tuple[int, Sound]]) -> int:
        """The same for clicks on the given samples, in order of time."""

    def back(self, pcm: Pcm, at_sample: int, plan: int) -> None:
        """Let a piece of a backing sound beneath a plan; nothing comes of it when another one is playing."""

    def stop_plan(self) -> None:
        """Drop the clicks not yet written; what sounds rings out."""

    def sound(self, sound: Sound) -> None:
        """Let a sound be heard as soon as possible."""

    def set_as(
        self, volume: float, acks: bool, sound_delay_s: float | None, backing_level: float = 1.0
    ) -> None:
        """How loud it is, whether it acknowledges, how late it reaches the ear, and how loud a backing is
        beside the click, from now on."""

    def strum(self, chords: Sequence[Sequence[int]]) -> None:
        """Let chords, each as MIDI note numbers, be heard one after the other, as loud as the click."""

    def health(self) -> StreamHealth: ...
    def close(self) -> None: ...


class _Seen(NamedTuple):
    """What the callback publishes: its line, samples handed over, and when it last ran."""

    line: ClockMap
    written: int
    at_s: float


def _latency_s(frames: int, sound_delay_s: float | None, told_s: float | None = None) -> float:
    if sound_delay_s is not None:
        return sound_delay_s
    return BUFFERS_TO_THE_EAR * frames / RATE if told_s is None else told_s


class AudioStream:
    """One SDL audio device, 48 kHz, 16 bit, stereo. Raises RuntimeError when none can be opened.

    start_s: its first second, where it goes on from another stream.

    latency_s is the time from a callback to the ear. Unless the player has
    measured it (sound_delay_s) or the system has told it (told_s) it is taken
    as two buffers, 21 ms: while SDL asks for one, another is playing and one
    is queued before it.
    """

    silent = False

    def __init__(
        self,
        volume: float,
        wish: SoundWish = USUAL_SOUND,
        acks: bool = True,
        start_s: float = 0.0,
    ) -> None:
        from pygame._sdl2 import audio, sdl2

        self.rate = RATE
        self.frames = wish.frames
        self.told_s: float | None = None
        self._acks, self._volume = acks, volume
        self._mixer = Mixer(SoundBank(RATE, volume))
        self._mixer.backing_gain = volume
        self._plan = 0
        self._loop = DelayLockedLoop(RATE)
        self._loop_state: LoopState | None = None
        self._seen: _Seen | None = None
        self._first_s = start_s
        self._written = round(start_s * RATE)
        self._callbacks = 0
        self._worst_late_s = 0.0
        self._late_callbacks = 0
        self._trouble = ""
        self._last_read = (float("-inf"), 0.0)
        self._reading = threading.Lock()
        self._closing = False
        self._quiet = threading.Event()
        self._closed = False
        sdl2.init_subsystem(sdl2.INIT_AUDIO)
        self.name = chosen(device_names(), wish.device, default_name())
        self.latency_s = _latency_s(wish.frames, wish.delay_of(self.name))
        self._device = audio.AudioDevice(
            devicename=self.name,
            iscapture=False,
            frequency=RATE,
            audioformat=audio.AUDIO_S16,
            numchannels=CHANNELS,
            chunksize=wish.frames,
            allowed_changes=0,
            callback=self._callback,
        )
        self._is_heard = is_heard()
        self._opened_s = time.perf_counter()
        self._device.pause(0)

    def _callback(self, device: Any, memory: Any) -> None:
        now_s = time.perf_counter()
        try:
            out = np.frombuffer(memory, dtype=np.int16).reshape(-1, CHANNELS)
            out[:] = self._mixer.mix(self._written, len(out))[:, np.newaxis]
            self._note(now_s, len(out))
        except Exception as error:  # An exception cannot leave a callback; it is kept for the doctor.
            self._trouble = f"{type(error).__name__}: {error}"
        if self._closing:
            # Pausing from the main thread can deadlock: it would hold Python's lock and want SDL's
            # while this thread holds SDL's and wants Python's. SDL's is re-entrant, so do it here.
            device.pause(1)
            self._quiet.set()

    def _note(self, now_s: float, frames: int) -> None:
        if self._seen is not None and self._callbacks >= STARTING_CALLBACKS:
            late_s = now_s - self._seen.at_s - frames / self.rate
            self._worst_late_s = max(self._worst_late_s, late_s)
            self._late_callbacks += late_s > frames / self.rate
        self._loop_state = self._loop.update(self._loop_state, now_s, self._written)
        self._written += frames
        self._callbacks += 1
        self._seen = _Seen(self._loop_state.line, self._written, now_s)

    def heard_s(self, t_s: float) -> float:
        """Seconds heard at t_s. It waits (and never guesses ahead) while the device stalls."""
        seen = self._seen
        if seen is None:
            return self._first_s
        # No more can be heard than was handed over; the buffers on their way cover a late callback.
        most = seen.written + BUFFERS_TO_THE_EAR * self.frames
        heard = max(self._first_s, min(seen.line.sample_at(t_s), most) / self.rate - self.latency_s)
        with self._reading:
            last_t_s, last_heard = self._last_read
            if t_s < last_t_s:
                return min(heard, last_heard)
            heard = max(heard, last_heard)
            self._last_read = (t_s, heard)
        return heard

    def t_s(self, heard_s: float) -> float:
        """The instant at which a second is heard; before the device has asked for sound, a forecast."""
        seen = self._seen
        if seen is None:
            return time.perf_counter() + self.latency_s + heard_s - self._first_s
        return seen.line.t_s_at((heard_s + self.latency_s) * self.rate)

    def play(self, plan: ClickPlan) -> int:
        return self.play_clicks(onsets(plan, self.rate))

    def play_clicks(self, clicks: Sequence[tuple[int, Sound]]) -> int:
        self.stop_plan()
        self._mixer.schedule(clicks, _PLAN)
        return self._plan

    def stop_plan(self) -> None:
        self._plan += 1
        self._mixer.drop_after(0, _PLAN)
        self._mixer.let_back(str(self._plan))

    def back(self, pcm: Pcm, at_sample: int, plan: int) -> None:
        self._mixer.back(pcm, at_sample, str(plan))

    def sound(self, sound: Sound) -> None:
        if self._acks or sound in BEAT_SOUNDS:
            self._mixer.soon(sound)

    def set_as(
        self, volume: float, acks: bool, sound_delay_s: float | None, backing_level: float = 1.0
    ) -> None:
        self._acks = acks
        self._mixer.backing_gain = volume * backing_level
        if volume != self._volume:
            self._volume = volume
            self._mixer.sound_as(SoundBank(RATE, volume))
        self.latency_s = _latency_s(self.frames, sound_delay_s, self.told_s)

    def strum(self, chords: Sequence[Sequence[int]]) -> None:
        # Asked for by itself: heard even where answers are not acknowledged. The callback renders nothing.
        self._mixer.strum(strum(chords, self.rate, self._volume))

    def health(self) -> StreamHealth:
        state = self._loop_state
        return StreamHealth(
            callbacks=self._callbacks,
            worst_late_ms=round(self._worst_late_s * 1000, 3),
            late_callbacks=self._late_callbacks,
            underruns=state.resets if state else 0,
            stumbles=state.stumbles if state and self._is_heard else 0,
            stumbled_s=state.stumbled_at / self.rate if state else 0.0,
            seconds=self._written / self.rate - self._first_s,
            missed_clicks=self._mixer.missed,
            trouble=self._trouble,
        )

    @property
    def lost(self) -> bool:
        """True when the device has gone, or asks for nothing for a second, at its start for three."""
        last_s = self._opened_s if self._seen is None else self._seen.at_s
        starting = self._callbacks < STARTING_CALLBACKS
        waited_s = time.perf_counter() - last_s
        silent = waited_s > (START_PATIENCE_S if starting else LOST_S)
        return not self._closed and (silent or has_gone(self._device))

    def close(self) -> None:
        """Let the device go; may be called twice. Call it before pygame.quit()."""
        if self._closed:
            return
        was_lost = self.lost
        self._closed = True
        self._closing = True
        if was_lost or not self._quiet.wait(START_PATIENCE_S):
            left_open.append(self._device)
            return
        # The callback has paused the device but may still be on its way out of SDL's lock.
        time.sleep(0.002)
        self._device.close()


class SilentStream:
    """A stream that is never heard: its time is perf_counter's, from start_s on."""

    rate = RATE
    latency_s = 0.0
    name = "no sound"
    frames = 0
    silent = True
    lost = False

    def __init__(self, start_s: float = 0.0) -> None:
        self._offset_s = start_s - time.perf_counter()
        self._start_s = start_s

    def heard_s(self, t_s: float) -> float:
        return t_s + self._offset_s

    def t_s(self, heard_s: float) -> float:
        return heard_s - self._offset_s

    def play(self, plan: ClickPlan) -> int:
        """Nothing is played; the plan's beats still have their places in heard time."""
        return 0

    def play_clicks(self, clicks: Sequence[tuple[int, Sound]]) -> int:
        """Nothing is played."""
        return 0

    def back(self, pcm: Pcm, at_sample: int, plan: int) -> None:
        """Nothing is heard."""

    def stop_plan(self) -> None:
        """Nothing was playing."""

    def sound(self, sound: Sound) -> None:
        """Nothing is heard."""

    def set_as(
        self, volume: float, acks: bool, sound_delay_s: float | None, backing_level: float = 1.0
    ) -> None:
        """Nothing is heard."""

    def strum(self, chords: Sequence[Sequence[int]]) -> None:
        """Nothing is heard."""

    def health(self) -> StreamHealth:
        return StreamHealth(seconds=self.heard_s(time.perf_counter()) - self._start_s)

    def close(self) -> None:
        """Nothing to let go."""


def open_stream(
    volume: float, wish: SoundWish = USUAL_SOUND, acks: bool = True, start_s: float = 0.0
) -> tuple[ClickStream, str | None]:
    """The sound device, or a silent stream with one sentence for the player when there is none.

    Raises InputError for a volume outside 0-1.
    """
    try:
        with quiet_stderr():
            return AudioStream(volume, wish, acks, start_s), None
    except (RuntimeError, ImportError):  # SDL's errors reach us as RuntimeErrors of two classes
        return SilentStream(start_s), NO_DEVICE
    finally:
        hush_alsa()
