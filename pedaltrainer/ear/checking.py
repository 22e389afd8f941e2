"""The sound check: the click by itself, through loudspeaker, room and microphone. Pure."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pedaltrainer.ear.expected import Expected, ExpectedLanding
from pedaltrainer.ear.leak import HEARD_FROM, Samples, find_click
from pedaltrainer.ear.verdicts import Unheard
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.grid import RATE

BEAT_S = 0.5
CHECK_CLICKS = tuple(
    (number * BEAT_S, sound) for number, sound in enumerate([Sound.COUNT] * 3 + [Sound.ACCENT] * 3)
)
"""Three of each: (seconds from the first, sound)."""
CHECK_S = 3.7
"""From the first click until what comes of the last has died away."""
BEFORE_S = 0.5
"""So long before the first click the room alone is listened to."""
DEAD = 1e-4
"""A microphone that is there gives at least the noise of its own amplifier: -80 dB."""
FULL = 0.999


class CheckHeard(NamedTuple):
    """noise_db: the room, of full scale. click_db: of the click above it; None, with delay_ms, where it is
    not heard. why: why nothing can be heard; None where it can."""

    noise_db: float
    click_db: float | None
    delay_ms: float | None
    why: Unheard | None


def check_sound(samples: Samples) -> CheckHeard:
    """What a sound check heard. samples: (n,) at 48 kHz, from BEFORE_S before the first click on."""
    peak = float(np.abs(samples).max(initial=0.0))
    quiet = samples[: round(BEFORE_S * RATE)]
    noise_db = _db(quiet)
    if peak < DEAD:
        return CheckHeard(noise_db, None, None, Unheard.SILENT)
    if peak >= FULL:
        return CheckHeard(noise_db, None, None, Unheard.CLIPPED)
    after = round(BEFORE_S * RATE)
    # The clicks are looked for as a take's are: before a first landing that never comes.
    nothing = ExpectedLanding(len(CHECK_CLICKS) * BEAT_S, "", Shape((), ()))
    found = find_click(samples[after:], Expected((nothing,), CHECK_CLICKS, BEAT_S))
    if found.likeness < HEARD_FROM:
        return CheckHeard(noise_db, None, None, None)
    starts = [after + round((at_s + found.delay_s) * RATE) for at_s, _ in CHECK_CLICKS]
    loud = max(_db(samples[start : start + round(0.03 * RATE)]) for start in starts)
    return CheckHeard(noise_db, loud - noise_db, 1000 * found.delay_s, None)


def _db(samples: Samples) -> float:
    return 10 * float(np.log10(float((samples**2).mean()) + 1e-12)) if len(samples) else -120.0
