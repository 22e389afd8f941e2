"""The ear by a microphone: cut out a take's sound, have it judged, and listen to the click by itself."""

from __future__ import annotations

import time
from collections.abc import Sequence

from pedaltrainer.ear.checking import BEFORE_S, CHECK_CLICKS, CHECK_S, check_sound
from pedaltrainer.ear.hearing import HeardTogether, hear
from pedaltrainer.ear.picking import hear_picked
from pedaltrainer.ear.verdicts import Unheard, UnheardError
from pedaltrainer.live.ear_source import BEFORE_THE_COUNT_S, Listened, TakeTogether, landings_told
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.showing.heard import GONE, NO_INPUT
from pedaltrainer.timing.microphone import Hearing
from pedaltrainer.timing.stream import ClickStream

RINGS_S = 0.38
"""So much of the last chord is listened to."""
USUAL_DELAY_S, MOST_DELAY_S, A_LITTLE_S = 0.03, 0.25, 0.01
"""How late sound comes in, and may come in, until clean takes have shown it; and what is too little to wait
for."""
CUT_SHORT = {Unheard.SHORT, Unheard.OTHER_TEMPO, Unheard.NO_CHORDS}
"""What may be said of a take of which a part has not come in yet."""
LEAD_S = 0.3


class ByMicrophone:
    """microphone: None where no input could be opened."""

    patience_s = 1.0

    def __init__(self, microphone: Hearing | None) -> None:
        self._microphone = microphone
        self._check_t_s = 0.0
        self._late: tuple[int, float] = (0, 0.0)
        """A take whose sound is not all there yet, by its number, and how much later it comes in."""

    def until_t_s(self, take: Listened, clean: Sequence[TakeTogether]) -> float:
        if take.by_string:
            return take.last_t_s + RINGS_S
        delay_s = _delay_s(clean[-1]) if clean else USUAL_DELAY_S
        return take.last_t_s + RINGS_S + max(0.0, delay_s)

    def hear(self, take: Listened, until_t_s: float, clean: Sequence[TakeTogether]) -> HeardTogether | None:
        microphone, (serial, late_s) = self._microphone, self._late
        more_s = late_s if serial == take.run.serial else 0.0
        came = None if microphone is None else microphone.between(_begins_t_s(take), until_t_s + more_s)
        if came is None:
            return None
        if take.by_string:
            return hear_picked(take.expected, came)
        one: HeardTogether | None
        try:
            one = hear(take.expected, came, [one for one in clean if isinstance(one, HeardTogether)])
            missing_s = take.last_t_s + RINGS_S + _delay_s(one) - until_t_s
        except UnheardError as trouble:
            if clean or more_s or trouble.why not in CUT_SHORT:
                raise
            one, missing_s = None, MOST_DELAY_S
        if clean or more_s or missing_s < A_LITTLE_S:
            return one
        # The sound comes in later than it does as a rule: what is still to come of the last chord counts.
        self._late = take.run.serial, min(missing_s, MOST_DELAY_S)
        return None

    def told(self, take: Listened, one: TakeTogether) -> EarHeard:
        assert isinstance(one, HeardTogether)
        return told(take.run.serial, one, take.backing)

    def missed(self, take: Listened, why: str) -> EarHeard:
        return EarHeard(0.0, take.run.serial, why=why or (GONE if self.lost else ""))

    @property
    def lost(self) -> bool:
        return self._microphone is None or self._microphone.lost

    def begin_check(self, stream: ClickStream) -> float:
        if self._microphone is None:
            return time.perf_counter()
        first_s = stream.heard_s(time.perf_counter()) + stream.latency_s + BEFORE_S + LEAD_S
        first = round(first_s * stream.rate)
        stream.play_clicks([(first + round(at_s * stream.rate), sound) for at_s, sound in CHECK_CLICKS])
        self._check_t_s = stream.t_s(first / stream.rate)
        return self._check_t_s + CHECK_S

    def checked(self) -> SoundChecked:
        microphone = self._microphone
        if microphone is None:
            return SoundChecked(0.0, "", why=NO_INPUT)
        came = microphone.between(self._check_t_s - BEFORE_S, self._check_t_s + CHECK_S)
        if came is None:
            return SoundChecked(0.0, microphone.name, why=GONE)
        found = check_sound(came)
        why = "" if found.why is None else found.why.value
        return SoundChecked(0.0, microphone.name, found.noise_db, found.click_db, found.delay_ms, why)

    def level(self) -> float | None:
        return None if self._microphone is None or self._microphone.lost else self._microphone.level()

    def strings(self) -> None:
        return None

    def close(self) -> None:
        if self._microphone is not None:
            self._microphone.close()


def _delay_s(one: TakeTogether) -> float:
    return one.heard.delay_ms / 1000 - BEFORE_THE_COUNT_S


def _begins_t_s(take: Listened) -> float:
    return take.start_t_s - BEFORE_THE_COUNT_S


def told(serial: int, one: HeardTogether, backing: bool = False) -> EarHeard:
    """What was heard of a take, as the session is told. backing: something played beneath the click.

    A backing that reaches the microphone sounds with every landing: then nothing is judged, as with a click
    that is too loud.
    """
    heard, clearness_db = one.heard, round(one.clearness_db, 1)
    if not heard.guard or (backing and one.measured.click):
        return EarHeard(0.0, serial, has_reference=heard.has_reference, clearness_db=clearness_db)
    return EarHeard(
        0.0,
        serial,
        heard.take.value,
        True,
        heard.has_reference,
        clearness_db,
        landings_told(one.expected, heard),
        click=one.measured.click,
    )
