"""What the ear is to hear: when each chord lands and on which strings, and the clicks beneath it."""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.neck.shapes import Shape
from pedaltrainer.timing.click import Sound


@dataclass(frozen=True, slots=True)
class ExpectedLanding:
    """A chord as it is to sound. at_s: seconds from the first beat of the count-in."""

    at_s: float
    chord: str
    shape: Shape


@dataclass(frozen=True, slots=True)
class Expected:
    """A take as it is to sound, at least one landing. beat_s: how long a beat lasts.

    clicks: (seconds from the first beat, sound), in order of time; what of them reaches the microphone is
    found out.
    """

    landings: tuple[ExpectedLanding, ...]
    clicks: tuple[tuple[float, Sound], ...]
    beat_s: float
