"""A MIDI guitar: its notes as they come in, and whether all of a stretch of time are there.

The notes of the last MOST_S seconds are kept, stamped on the clock of presses by the callback that received
them; nothing of them is ever written to a file.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from typing import Any

from pedaltrainer.timing.microphone import MOST_S
from pedaltrainer.timing.played_notes import MOST_NOTES_A_SECOND, PlayedNote
from pedaltrainer.timing.smf import PERCUSSION_CHANNEL


class Guitar:
    """Filled from the threads of the MIDI library and read by the ear's. name: of its port, "" before that.

    pitches: every MIDI note number that has come.
    """

    def __init__(self) -> None:
        self.name = ""
        self.pitches: set[int] = set()
        self._kept: deque[PlayedNote] = deque(maxlen=MOST_S * MOST_NOTES_A_SECOND)
        self._whole_from_s: float | None = None
        """Since when nothing can have been missed; None while it is not plugged in."""
        self._lock = threading.Lock()

    def came(self, message: Any, t_s: float) -> None:
        """Take a mido message that arrived at t_s. Clicks are on the percussion channel: none of it."""
        if message.type != "note_on" or not message.velocity or message.channel == PERCUSSION_CHANNEL:
            return
        with self._lock:
            self.pitches.add(message.note)
            self._kept.append(PlayedNote(t_s, message.note, message.channel))

    def plugged_in(self, name: str) -> None:
        """It is listened to from now on."""
        self.name, self._whole_from_s = name, time.perf_counter()

    def pulled_out(self) -> None:
        """Its port has gone, or is a pedal's again."""
        self._whole_from_s = None

    @property
    def lost(self) -> bool:
        return self._whole_from_s is None

    def between(self, from_t_s: float, to_t_s: float) -> tuple[PlayedNote, ...] | None:
        """The notes of a stretch, in order of time, on the clock of presses; None where some may be amiss."""
        with self._lock:
            kept = tuple(self._kept)
        whole_from_s = self._whole_from_s
        if whole_from_s is None or from_t_s < whole_from_s:
            return None
        return tuple(one for one in kept if from_t_s <= one.t_s <= to_t_s)
