"""Which sound device is played to: the one asked for by a part of its name, else the system's own choice."""

from __future__ import annotations

import ctypes
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

FRAMES = 512
BUFFERS = (128, 256, 512, 1024, 2048)
"""Samples that a device can be asked to take at once: fewer are sooner heard, more outlast a busy machine."""
_STOPPED = 0


@dataclass(frozen=True, slots=True)
class SoundWish:
    """What sound is asked for. device: a part of its name, "" for the system's own; frames: in a block.

    delay_s: how late every device reaches the ear, None where that is not known. delays_s: by its name.
    """

    device: str = ""
    frames: int = FRAMES
    delay_s: float | None = None
    delays_s: Mapping[str, float] = field(default_factory=dict)

    def delay_of(self, name: str) -> float | None:
        """How late this device reaches the ear; None where nobody has said."""
        return self.delays_s.get(name, self.delay_s)


def device_names() -> list[str]:
    """The devices that sound can be played to; none where the system's sound cannot be used."""
    from pygame._sdl2 import audio, sdl2

    try:
        sdl2.init_subsystem(sdl2.INIT_AUDIO)
        return list(audio.get_audio_device_names(False))
    except RuntimeError:  # SDL's errors reach us as RuntimeErrors of two classes
        return []


def chosen(names: Sequence[str], wish: str, default: str) -> str:
    """Which of the devices to open: the one wished for, whole or in part, then the default, then the first.

    The environment's SDL_AUDIO_DEVICE_NAME is the wish of a player who has none.
    """
    wish = wish or os.environ.get("SDL_AUDIO_DEVICE_NAME", "")
    if wish in names:
        return wish
    parts = [name for name in names if wish and wish.casefold() in name.casefold()]
    return next(iter((*parts, *(name for name in names if name == default), *names)), "")


USUAL_SOUND = SoundWish()


@lru_cache(maxsize=1)
def _sdl() -> ctypes.CDLL | None:
    """The very SDL that pygame uses, for what pygame does not pass on; None where it is not found."""
    import pygame
    from pygame._sdl2 import audio

    windows_library = Path(pygame.__file__).parent / "SDL2.dll"
    try:
        library = ctypes.CDLL(str(windows_library if windows_library.exists() else audio.__file__))
        _ = library.SDL_GetDefaultAudioInfo, library.SDL_GetAudioDeviceStatus, library.SDL_free
    except (OSError, AttributeError):
        return None
    return library


def default_name() -> str:
    """SDL's name for the default output; empty where SDL or the system does not tell."""
    library = _sdl()
    if library is None:
        return ""
    # The second argument is an SDL_AudioSpec, of which nothing is used; 256 bytes are room enough.
    name, spec = ctypes.c_void_p(), ctypes.create_string_buffer(256)
    if library.SDL_GetDefaultAudioInfo(ctypes.byref(name), spec, 0) != 0 or not name.value:
        return ""
    found = ctypes.string_at(name.value).decode("utf-8", "replace")
    give_back = library.SDL_free
    give_back.argtypes = [ctypes.c_void_p]
    give_back(name)
    return found


def is_heard() -> bool:
    """Is sound played to somebody? SDL's dummy and disk drivers have no device whose queue could run dry: a
    callback that comes late there is all that is late."""
    return driver() not in {"dummy", "disk"}


def driver() -> str:
    """SDL's name for the system's sound: "pulseaudio", "alsa", …; empty where it does not tell."""
    library = _sdl()
    if library is None:
        return ""
    ask = library.SDL_GetCurrentAudioDriver
    ask.restype = ctypes.c_char_p
    return (ask() or b"").decode("ascii", "replace")


def has_gone(device: Any) -> bool:
    """Has the system taken an open device away? SDL goes on asking for sound then, and plays it nowhere."""
    library = _sdl()
    return library is not None and library.SDL_GetAudioDeviceStatus(device.deviceid) == _STOPPED
