"""The ear by a MIDI guitar: cut out a take's notes and have them judged. There is no click among notes."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from pedaltrainer.ear.from_notes import NotesHeard, hear_notes, hear_picked_notes, is_guitars
from pedaltrainer.ear.onsets import window_s
from pedaltrainer.ear.strokes import STROKE_S
from pedaltrainer.ear.verdicts import Unheard
from pedaltrainer.live.ear_source import BEFORE_THE_COUNT_S, Listened, TakeTogether, landings_told
from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.showing.heard import GONE, NO_INPUT
from pedaltrainer.timing.guitar import Guitar
from pedaltrainer.timing.stream import ClickStream

MOST_DELAY_S = 0.15
"""How late notes may come in, until clean takes have shown it."""
FEWEST_CLEAN = 2
POLL_S = 0.15
"""A port that has gone is seen so late at the most."""


class ByNotes:
    """tuning: of the guitar, with its capo."""

    patience_s = 0.0

    def __init__(self, guitar: Guitar, tuning: Tuning) -> None:
        self._guitar, self._tuning = guitar, tuning

    def until_t_s(self, take: Listened, clean: Sequence[TakeTogether]) -> float:
        delay_s = clean[-1].heard.delay_ms / 1000 if clean else MOST_DELAY_S
        _, last_s = window_s(take.expected.landings[-1].at_s, take.expected.beat_s)
        return take.start_t_s + last_s + max(POLL_S, STROKE_S / 2 + delay_s)

    def hear(self, take: Listened, until_t_s: float, clean: Sequence[TakeTogether]) -> NotesHeard | None:
        came = self._guitar.between(take.start_t_s - BEFORE_THE_COUNT_S, until_t_s)
        if came is None:
            return None
        notes = [replace(one, t_s=one.t_s - take.start_t_s) for one in came]
        if take.by_string:
            return hear_picked_notes(take.expected, notes)
        return hear_notes(take.expected, notes, [one for one in clean if isinstance(one, NotesHeard)])

    def told(self, take: Listened, one: TakeTogether) -> EarHeard:
        assert isinstance(one, NotesHeard)
        return told(take.run.serial, one, needs_clean=not take.by_string)

    def missed(self, take: Listened, why: str) -> EarHeard:
        return EarHeard(0.0, take.run.serial, why=why or self._not_there, by_notes=True)

    @property
    def _not_there(self) -> str:
        return GONE if self._guitar.name else NO_INPUT

    @property
    def lost(self) -> bool:
        return self._guitar.lost

    def begin_check(self, stream: ClickStream) -> float:
        return time.perf_counter()

    def checked(self) -> SoundChecked:
        guitar = self._guitar
        if guitar.lost:
            why = self._not_there
        elif not guitar.pitches:
            why = Unheard.SILENT.value
        elif not any(is_guitars(self._tuning, note) for note in guitar.pitches):
            why = Unheard.OTHER_INSTRUMENT.value
        else:
            why = ""
        return SoundChecked(0.0, guitar.name, why=why, by_notes=True)

    def level(self) -> None:
        return None

    def strings(self) -> tuple[str, ...]:
        tuning, pitches = self._tuning, self._guitar.pitches
        return tuple(
            called for string, called in enumerate(tuning.called) if tuning.note(string, 0) in pitches
        )

    def close(self) -> None:
        """The port is the pedalboard's."""


def told(serial: int, one: NotesHeard, needs_clean: bool = True) -> EarHeard:
    """What was heard of a take, as the session is told. needs_clean: it is held against clean takes.

    By one clean take alone a rough converter's lags are hardly known: it is no reference to answer by.
    """
    return EarHeard(
        0.0,
        serial,
        one.heard.take.value,
        True,
        not needs_clean or one.beside >= FEWEST_CLEAN,
        landings=landings_told(one.expected, one.heard),
        by_notes=True,
    )
