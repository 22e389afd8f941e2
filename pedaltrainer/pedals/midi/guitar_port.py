"""The MIDI input that the ear hears: a guitar's, and so no pedal. The hub's watcher keeps it alive."""

from __future__ import annotations

import time
from collections.abc import Iterable

from mido.messages.specs import SPEC_BY_TYPE

from pedaltrainer.pedals.midi.ports import Port, Ports
from pedaltrainer.pedals.midi.roster import Place
from pedaltrainer.timing.guitar import Guitar

NOTES = frozenset({SPEC_BY_TYPE["note_on"]["status_byte"]})
TRY_AGAIN_S = 0.5
"""How often a port that would not open is tried again."""


class GuitarPort:
    """part: of the input's name, in any case. Its notes go to `guitar`. Not for use from two threads at once.

    device: the input's name once it was found; it is the same one for good, whatever else is plugged in.
    """

    def __init__(self, part: str, guitar: Guitar) -> None:
        self._part, self._guitar = part.casefold(), guitar
        self.device: str | None = None
        self._port: Port | None = None
        self._not_before_s = float("-inf")

    def find(self, places: Iterable[Place], pedal: str | None) -> Place | None:
        """Where it is to be opened; None while it is open or away. pedal: the input that was named as one."""
        if self._port is not None:
            return None
        for place in places:
            fits = self.device is None and self._part in place.device.casefold() and place.device != pedal
            if place.here and (fits or place.device == self.device):
                self.device = place.device
                return place
        return None

    def open(self, ports: Ports, place: Place) -> None:
        """Listen to it, now or when it is tried again."""
        if time.perf_counter() < self._not_before_s:
            return
        try:
            self._port = ports.open(place.port, self._guitar.came, NOTES)
        except (OSError, RuntimeError):
            self._not_before_s = time.perf_counter() + TRY_AGAIN_S
            return
        self._guitar.plugged_in(place.device)

    def lose(self, device: str) -> None:
        """An input has gone."""
        if device == self.device:
            self.close()

    def close(self) -> None:
        """Listen no more. May be called twice."""
        if self._port is not None:
            self._guitar.pulled_out()
            self._port.close()
            self._port = None
