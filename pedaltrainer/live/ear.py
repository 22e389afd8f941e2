"""The ear in a session: what was played of a take is judged in a thread of its own.

It is told which take is played and how it was answered, waits until its last chord has rung for long enough,
and hands back what it heard. The first two takes of a drill that were answered as clean, and that it did not
hear as missed, are what the others are held against. No sound leaves this room, and none is kept longer than
its take, but for the figures of those two.
"""

from __future__ import annotations

import threading
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.verdicts import HeardTake, UnheardError
from pedaltrainer.errors import InputError
from pedaltrainer.live.by_microphone import ByMicrophone
from pedaltrainer.live.by_notes import ByNotes
from pedaltrainer.live.ear_source import Listened, Source, TakeTogether
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.heard import can_be_heard, expected_take
from pedaltrainer.session.effects import Run
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.timing.guitar import Guitar
from pedaltrainer.timing.microphone import MOST_S, Hearing
from pedaltrainer.timing.stream import ClickStream

REFERENCES = 2
AFTER_THE_TAKE_S = 0.02
A_BLOCK_S = 0.011
"""How often it is looked for what has not come in yet."""

Said = Callable[[EarHeard | SoundChecked], None]


class Ear:
    """For one session. say: is handed what was heard, from a thread of its own. heard_by: None where no
    input could be opened. backing: does anything sound beside the click?"""

    def __init__(
        self, heard_by: Hearing | Guitar | None, shapes: ShapeBook, say: Said, capo: int = 0
    ) -> None:
        self.backing = False
        self._capo = capo
        tuning = replace(shapes.tuning, capo=capo)
        self._source: Source = (
            ByNotes(heard_by, tuning) if isinstance(heard_by, Guitar) else ByMicrophone(heard_by)
        )
        self._shapes, self._say = shapes, say
        self._wanted: Listened | ClickStream | None = None
        self._changed = threading.Condition()
        self._closing = False
        self._heard: dict[int, TakeTogether] = {}
        self._clean: dict[str, list[int]] = defaultdict(list)
        self._sound = ("", 0.0)
        self.trouble = ""
        self._thread = threading.Thread(target=self._run, name="ear", daemon=True)
        self._thread.start()

    # --- what it is told ----------------------------------------------------------------

    def listen_to(self, run: Run, stream: ClickStream) -> None:
        """A take begins."""
        expected = self._expected(run)
        if expected is None or run.end_s - run.start_s > MOST_S - 5:
            return
        if (sound := (stream.name, stream.latency_s)) != self._sound:
            # Clean takes beside another delay of the click show nothing of these.
            self._sound = sound
            self._clean.clear()
        start_t_s, end_t_s = map(stream.t_s, (run.start_s, run.end_s))
        last_t_s = start_t_s + expected.landings[-1].at_s
        if run.drill.row.by_string:
            # After the last strum there is nothing more to hear, and the strings are asked for at the end.
            end_t_s = last_t_s
        self._want(Listened(run, expected, start_t_s, last_t_s, end_t_s, self.backing))

    def stop(self) -> None:
        """The take that is on is none, or has been answered before its end."""
        with self._changed:
            if isinstance(self._wanted, Listened) and time.perf_counter() < self._wanted.last_t_s:
                self._wanted = None
                self._changed.notify()

    def answered(self, run: Run, clean: bool) -> None:
        """The foot has answered."""
        serials = self._clean[run.drill.key]
        heard = self._heard.get(run.serial)
        fits = heard is not None and heard.heard.guard and heard.heard.take is not HeardTake.MISSED
        if clean and fits and len(serials) < REFERENCES:
            serials.append(run.serial)
        kept = {serial for each in self._clean.values() for serial in each}
        # The last one may be answered anew.
        self._heard = {serial: one for serial, one in self._heard.items() if serial in kept | {run.serial}}

    def taken_back(self, serial: int) -> None:
        for serials in self._clean.values():
            if serial in serials:
                serials.remove(serial)

    def check(self, stream: ClickStream) -> None:
        """A sound check is asked for."""
        self._want(stream)

    def close(self) -> None:
        """End the thread and let the microphone go; may be called twice."""
        with self._changed:
            self._closing, self._wanted = True, None
            self._changed.notify()
        self._thread.join(timeout=2)
        self._source.close()

    def level(self) -> float | None:
        """The highest that came in the last moment, 0-1; None without a microphone."""
        return self._source.level()

    def strings(self) -> tuple[str, ...] | None:
        """The open strings that a MIDI guitar has sent so far; None where none is listened to."""
        return self._source.strings()

    # --- its thread -----------------------------------------------------------------------

    def _want(self, wanted: Listened | ClickStream) -> None:
        with self._changed:
            self._wanted = wanted
            self._changed.notify()

    def _run(self) -> None:
        while True:
            with self._changed:
                while self._wanted is None and not self._closing:
                    self._changed.wait()
                wanted = self._wanted
            if self._closing or wanted is None:
                return
            try:
                said = self._listen(wanted) if isinstance(wanted, Listened) else self._check(wanted)
            except Exception as trouble:  # the foot goes on alone; the doctor tells
                self.trouble, said = f"{type(trouble).__name__}: {trouble}", None
            with self._changed:
                still_wanted = self._wanted is wanted
                self._wanted = None if still_wanted else self._wanted
            if said is not None and still_wanted:
                self._say(said)

    def _wait_until(self, t_s: float, wanted: object) -> bool:
        """Wait; False where something else is wanted by then."""
        with self._changed:
            while self._wanted is wanted and (left_s := t_s - time.perf_counter()) > 0:
                self._changed.wait(left_s)
            return self._wanted is wanted

    def _listen(self, asked: Listened) -> EarHeard | None:
        source, serial = self._source, asked.run.serial
        clean = [self._heard[number] for number in self._clean[asked.run.drill.key] if number in self._heard]
        until_t_s = source.until_t_s(asked, clean)
        if not self._wait_until(max(until_t_s, asked.end_t_s) + AFTER_THE_TAKE_S, asked):
            return None
        one = None
        try:
            while not source.lost and (one := source.hear(asked, until_t_s, clean)) is None:
                if time.perf_counter() > until_t_s + source.patience_s:
                    break
                # A busy machine hands over late.
                if not self._wait_until(time.perf_counter() + A_BLOCK_S, asked):
                    return None
        except UnheardError as trouble:
            return source.missed(asked, trouble.why.value)
        if one is None:
            return source.missed(asked, "")
        self._heard[serial] = one
        return source.told(asked, one)

    def _check(self, stream: ClickStream) -> SoundChecked | None:
        known_t_s = self._source.begin_check(stream)
        return self._source.checked() if self._wait_until(known_t_s + AFTER_THE_TAKE_S, stream) else None

    def _expected(self, run: Run) -> Expected | None:
        """What is to be heard in a take; None for one that the ear has nothing to say of."""
        if not can_be_heard(run.drill) or not run.count_in_beats:
            return None
        try:
            return expected_take(
                run.drill, run.tempo_bpm, run.landings, run.count_in_beats, self._shape_of, run.metre
            )
        except InputError:
            return None

    def _shape_of(self, chord: str) -> Shape:
        shape = usual_shape(parse_chosen(chord), Setup(self._shapes.tuning), self._shapes)
        return replace(shape, tuning=replace(shape.tuning, capo=self._capo))
