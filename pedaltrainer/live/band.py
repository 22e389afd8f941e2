"""The band: renders a backing in a thread of its own, and hands it to the stream piece by piece.

What is asked for last is what is played: a take that is stopped, or another one, leaves the rest unmade. The
first piece has the whole count-in to be ready; one that is late begins in its place.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass

from pedaltrainer.timing.backing.feels import Backing
from pedaltrainer.timing.backing.mix import render
from pedaltrainer.timing.backing.parts import notes_of
from pedaltrainer.timing.stream import ClickStream
from pedaltrainer.timing.track import Track, click_samples

PIECE_S = 8
"""Seconds that are made at once: a song begins before all of it is made."""


@dataclass(frozen=True, slots=True, eq=False)
class _Wanted:
    track: Track
    at_sample: int
    plan: int
    stream: ClickStream
    backing: Backing


class Band:
    """Plays beneath what the stream plays, while there is a backing. backing: None for the click alone."""

    def __init__(self, backing: Backing | None = None) -> None:
        self.backing = backing
        self._asked: _Wanted | None = None
        self._changed = threading.Condition()
        self._closing = False
        self._thread: threading.Thread | None = None
        self.trouble = ""

    def accompany(self, track: Track, at_sample: int, plan: int, stream: ClickStream) -> None:
        """Play beneath a plan of the stream, whose track begins at a sample."""
        backing = self.backing
        if backing is None or stream.silent or backing.level <= 0:
            return
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="band", daemon=True)
            self._thread.start()
        with self._changed:
            self._asked = _Wanted(track, at_sample, plan, stream, backing)
            self._changed.notify()

    def close(self) -> None:
        """End the thread; may be called twice."""
        with self._changed:
            self._closing, self._asked = True, None
            self._changed.notify()
        if self._thread is not None:
            self._thread.join(timeout=2)

    def _run(self) -> None:
        done: _Wanted | None = None
        while True:
            with self._changed:
                while self._asked is done and not self._closing:
                    self._changed.wait()
                asked = done = self._asked
            if self._closing or asked is None:
                return
            try:
                self._make(asked)
            except Exception as trouble:  # the click goes on; the doctor tells
                self.trouble = f"{type(trouble).__name__}: {trouble}"

    def _make(self, asked: _Wanted) -> None:
        rate = asked.stream.rate
        notes = notes_of(asked.track, asked.backing, rate)
        if not notes:
            return
        clicks = [sample for sample, _ in click_samples(asked.track, rate)]
        begin, end = notes[0].sample, round(asked.track.seconds * rate)
        for start in range(begin, end, PIECE_S * rate):
            if self._asked is not asked:
                return
            pcm = render(notes, clicks, start, min(end, start + PIECE_S * rate), rate)
            asked.stream.back(pcm, asked.at_sample + start, asked.plan)
