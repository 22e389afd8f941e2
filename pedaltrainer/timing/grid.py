"""The beat grid: which sample a beat falls on.

A beat is computed from the start of its take each time it is needed, never
from the beat before it: one rounding, at most half a sample (10 microseconds
at 48 kHz), and no drift however long the take.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pedaltrainer.errors import InputError

RATE = 48_000
SLOWEST_BPM = 20
FASTEST_BPM = 300
COUNT_IN_BEATS = 4
"""A count-in is whole bars, and at least so many beats."""


def check_tempo(tempo_bpm: float) -> float:
    """The tempo itself, when it can be played.

    Raises InputError unless SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM.
    """
    if not SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM:
        raise InputError(
            f"A tempo of {tempo_bpm:g} BPM cannot be played; give one from {SLOWEST_BPM} to {FASTEST_BPM}."
        )
    return tempo_bpm


def count_in_bars(beats_per_bar: int) -> int:
    """How many bars of a metre are counted in."""
    return -(-COUNT_IN_BEATS // beats_per_bar)


def short_count_in(tempo_bpm: float) -> int:
    """Beats of the count-in of a take whose like has just been played: two tell the tempo.

    More at fast tempos, so that it never is less than a second.
    """
    return max(2, math.ceil(tempo_bpm / 60))


def beat_sample(start_sample: int, beat: float, tempo_bpm: float, rate: int = RATE) -> int:
    """The sample on which beat number `beat` (0-based, fractions allowed) begins.

    Raises InputError for a tempo outside 20-300 BPM.
    """
    check_tempo(tempo_bpm)
    return round(start_sample + beat * 60 * rate / tempo_bpm)


def nearest_sample_s(t_s: float, rate: int) -> float:
    """The second of the sample that is nearest to a second."""
    return round(t_s * rate) / rate


@dataclass(frozen=True, slots=True)
class BeatGrid:
    """Beats at one tempo; beat 0 is on start_sample. Raises InputError for a tempo outside 20-300 BPM."""

    start_sample: int
    tempo_bpm: float
    rate: int = RATE

    def __post_init__(self) -> None:
        check_tempo(self.tempo_bpm)

    def sample(self, beat: float) -> int:
        """The sample on which a beat begins."""
        return beat_sample(self.start_sample, beat, self.tempo_bpm, self.rate)

    def beat_at(self, sample: float) -> float:
        """The beat, with its fraction, at a sample; negative before the start."""
        return (sample - self.start_sample) * self.tempo_bpm / (60 * self.rate)
