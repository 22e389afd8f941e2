"""The ear in a session: what the microphone caught of a take is judged in a thread of its own.

It is told which take is played and how it was answered, waits until its last chord has rung for long enough,
and hands back what it heard. The first two takes of a drill that were answered as clean, and that it did not
hear as missed, are what the others are held against. No sound leaves this module, and none is kept longer
than its take, but for the figures of those two.
"""

from __future__ import annotations

import threading
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from pedaltrainer.ear.checking import BEFORE_S, CHECK_CLICKS, CHECK_S, check_sound
from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.hearing import HeardTogether, hear
from pedaltrainer.ear.verdicts import HeardTake, UnheardError
from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.heard import HEARD_KINDS, expected_take
from pedaltrainer.session.effects import Run
from pedaltrainer.session.events import EarHeard, LandingTold, SoundChecked
from pedaltrainer.showing.heard import GONE, NO_INPUT
from pedaltrainer.timing.microphone import MOST_S, Hearing
from pedaltrainer.timing.stream import ClickStream

REFERENCES = 2
BEFORE_THE_COUNT_S = 0.3
RINGS_S = 0.38
"""So much of the last chord is listened to."""
MOST_DELAY_S = 0.25
"""How late sound may come in, until clean takes have shown it."""
AFTER_THE_TAKE_S = 0.02
A_BLOCK_S, PATIENCE_S = 0.011, 1.0
"""How often, and for how long, it is looked for what has not come in yet."""
LEAD_S = 0.3

Said = Callable[[EarHeard | SoundChecked], None]


@dataclass(frozen=True, slots=True, eq=False)
class _Listened:
    """A take that is to be judged: what is expected, and from when to when it lasts, on the clock of
    presses."""

    run: Run
    expected: Expected
    start_t_s: float
    last_t_s: float
    end_t_s: float
    backing: bool


class Ear:
    """For one session. say: is handed what was heard, from a thread of its own. microphone: None where no
    input could be opened. backing: does anything sound beside the click?"""

    def __init__(self, microphone: Hearing | None, shapes: ShapeBook, say: Said, capo: int = 0) -> None:
        self.microphone, self.backing = microphone, False
        self._capo = capo
        self._shapes, self._say = shapes, say
        self._wanted: _Listened | ClickStream | None = None
        self._changed = threading.Condition()
        self._closing = False
        self._heard: dict[int, HeardTogether] = {}
        self._clean: dict[str, list[int]] = defaultdict(list)
        self.trouble = ""
        self._thread = threading.Thread(target=self._run, name="ear", daemon=True)
        self._thread.start()

    # --- what it is told ----------------------------------------------------------------

    def listen_to(self, run: Run, stream: ClickStream) -> None:
        """A take begins."""
        expected = self._expected(run)
        if expected is None or run.end_s - run.start_s > MOST_S - 5:
            return
        start_t_s, last_t_s, end_t_s = map(stream.t_s, (run.start_s, run.last_landing_s, run.end_s))
        self._want(_Listened(run, expected, start_t_s, last_t_s, end_t_s, self.backing))

    def stop(self) -> None:
        """The take that is on is none, or has been answered before its end."""
        with self._changed:
            if isinstance(self._wanted, _Listened) and time.perf_counter() < self._wanted.last_t_s:
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
        if self.microphone is not None:
            self.microphone.close()

    def level(self) -> float | None:
        """The highest that came in the last moment, 0-1; None without an input."""
        gone = self.microphone is None or self.microphone.lost
        return None if gone or self.microphone is None else self.microphone.level()

    # --- its thread -----------------------------------------------------------------------

    def _want(self, wanted: _Listened | ClickStream) -> None:
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
                said = self._listen(wanted) if isinstance(wanted, _Listened) else self._check(wanted)
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

    def _listen(self, asked: _Listened) -> EarHeard | None:
        serial = asked.run.serial
        clean = [self._heard[number] for number in self._clean[asked.run.drill.key] if number in self._heard]
        delay_s = clean[-1].heard.delay_ms / 1000 - BEFORE_THE_COUNT_S if clean else MOST_DELAY_S
        end_t_s = asked.last_t_s + RINGS_S + max(0.0, delay_s)
        if not self._wait_until(max(end_t_s, asked.end_t_s) + AFTER_THE_TAKE_S, asked):
            return None
        microphone, came = self.microphone, None
        while microphone is not None and not microphone.lost and came is None:
            came = microphone.between(asked.start_t_s - BEFORE_THE_COUNT_S, end_t_s)
            if time.perf_counter() > end_t_s + PATIENCE_S:
                break
            # A busy machine hands blocks over late.
            if came is None and not self._wait_until(time.perf_counter() + A_BLOCK_S, asked):
                return None
        if came is None:
            return EarHeard(0.0, serial, why=GONE if microphone is None or microphone.lost else "")
        try:
            one = hear(asked.expected, came, clean)
        except UnheardError as trouble:
            return EarHeard(0.0, serial, why=trouble.why.value)
        self._heard[serial] = one
        return told(serial, one, asked.backing)

    def _check(self, stream: ClickStream) -> SoundChecked | None:
        microphone = self.microphone
        if microphone is None:
            return SoundChecked(0.0, "", why=NO_INPUT)
        first_s = stream.heard_s(time.perf_counter()) + stream.latency_s + BEFORE_S + LEAD_S
        first = round(first_s * stream.rate)
        stream.play_clicks([(first + round(at_s * stream.rate), sound) for at_s, sound in CHECK_CLICKS])
        first_t_s = stream.t_s(first / stream.rate)
        if not self._wait_until(first_t_s + CHECK_S + AFTER_THE_TAKE_S, stream):
            return None
        came = microphone.between(first_t_s - BEFORE_S, first_t_s + CHECK_S)
        if came is None:
            return SoundChecked(0.0, microphone.name, why=GONE)
        found = check_sound(came)
        why = "" if found.why is None else found.why.value
        return SoundChecked(0.0, microphone.name, found.noise_db, found.click_db, found.delay_ms, why)

    def _expected(self, run: Run) -> Expected | None:
        """What is to be heard in a take; None for one that is not of whole chords with known shapes."""
        if run.drill.kind not in HEARD_KINDS or not run.count_in_beats:
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


def told(serial: int, one: HeardTogether, backing: bool = False) -> EarHeard:
    """What was heard of a take, as the session is told. backing: something played beneath the click.

    A backing that reaches the microphone sounds with every landing: then nothing is judged, as with a click
    that is too loud.
    """
    heard = one.heard
    if not heard.guard or (backing and one.measured.click):
        return EarHeard(
            0.0, serial, has_reference=heard.has_reference, clearness_db=round(one.clearness_db, 1)
        )
    landings: Sequence[LandingTold] = [
        LandingTold(
            landing.verdict.value,
            None if landing.late_ms is None else round(landing.late_ms, 1),
            tuple(wanted.shape.tuning.called[string] for string in landing.strings),
        )
        for wanted, landing in zip(one.expected.landings, heard.landings, strict=True)
    ]
    return EarHeard(
        0.0,
        serial,
        heard.take.value,
        True,
        heard.has_reference,
        round(one.clearness_db, 1),
        tuple(landings),
        click=one.measured.click,
    )
