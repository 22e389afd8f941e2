"""Tapping along with a click: how late its sound comes, and how steady a foot is. Pure.

Who taps along with a click is early by 20 to 50 ms on the whole and spreads by 20 to 30 ms (B. H. Repp,
"Sensorimotor synchronization: a review of the tapping literature", Psychonomic Bulletin & Review 12, 2005).
So a sound whose delay is unknown can be found by foot, to within what people differ by; and a foot whose
sound is known has a steadiness of its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean, median, stdev

BEATS, TEMPO_BPM = 16, 75
DROPPED = 3
"""The first beats: until then the foot finds in."""
LEAST_TAPS = 8
USUAL_LEAD_S, LEADS_DIFFER_S = 0.035, 0.025
"""The middle of Repp's 20 to 50 ms, and how much people spread about it, as a standard deviation: twice that
leaves about two of three between 10 and 60 ms."""
MOST_SPREAD_S = 0.08
"""Of the middle of the taps: whoever spreads by more did not tap along."""
EARLIEST_S = -0.2
"""A tap belongs to the beat that it is at most so much before: sounds are late, not early."""
_MEDIAN_SE = math.sqrt(math.pi / 2)
"""The standard error of a median over that of a mean, of a normal distribution."""
_NORMAL_975 = 1.960


def asynchronies(
    beats_s: Sequence[float], taps_s: Sequence[float], earliest_s: float = EARLIEST_S
) -> tuple[float, ...]:
    """Tap less beat, in seconds, of every beat but the first DROPPED that was tapped, in order.

    The first tap counts of those from earliest_s on, until the next beat's begin. Beats at one distance.
    """
    beat_s = beats_s[1] - beats_s[0]
    late = (
        next((tap - beat for tap in taps_s if 0 <= tap - beat - earliest_s < beat_s), None)
        for beat in beats_s[DROPPED:]
    )
    return tuple(one for one in late if one is not None)


@dataclass(frozen=True, slots=True)
class SoundLate:
    """How late the sound reaches the ear. 95 % of all who tap so are within_s of the truth."""

    delay_s: float
    within_s: float
    taps: int

    def agrees(self, reckoned_s: float) -> bool:
        """Could it be as late as is reckoned?"""
        return abs(self.delay_s - reckoned_s) <= self.within_s


def sound_late(late_s: Sequence[float], reckoned_s: float) -> SoundLate | None:
    """From asynchronies to a sound that was reckoned to be late by reckoned_s; None of too few or too wild.

    Their median, with the usual lead taken off; its error is that of the median and of people's leads.
    """
    if len(late_s) < LEAST_TAPS:
        return None
    middle = median(late_s)
    spread = 1.4826 * median(abs(one - middle) for one in late_s)
    if spread > MOST_SPREAD_S:
        return None
    error_s = math.hypot(LEADS_DIFFER_S, _MEDIAN_SE * spread / math.sqrt(len(late_s)))
    return SoundLate(max(0.0, reckoned_s + middle + USUAL_LEAD_S), _NORMAL_975 * error_s, len(late_s))


@dataclass(frozen=True, slots=True)
class Steadiness:
    """A foot on the beat: mean and standard deviation of its asynchronies in ms, with 95 % intervals."""

    mean_ms: float
    mean_low_ms: float
    mean_high_ms: float
    sd_ms: float
    sd_low_ms: float
    sd_high_ms: float
    taps: int


@dataclass(frozen=True, slots=True)
class FootTrial:
    """A foot's trial that was tapped to its end. began: with its zone."""

    began: datetime
    found: Steadiness


_QUANTILES = {
    7: (2.365, 1.690, 16.013),
    8: (2.306, 2.180, 17.535),
    9: (2.262, 2.700, 19.023),
    10: (2.228, 3.247, 20.483),
    11: (2.201, 3.816, 21.920),
    12: (2.179, 4.404, 23.337),
}
"""By degrees of freedom: Student's t at 97.5 %, chi-square at 2.5 % and 97.5 % (the usual tables)."""


def steadiness(late_s: Sequence[float]) -> Steadiness | None:
    """From the asynchronies of one trial; None of too few.

    The intervals are those of independent, normal asynchronies. What follows each other in tapping is not
    quite independent: they are a little too narrow.
    """
    if len(late_s) < LEAST_TAPS:
        return None
    late_ms = [1000 * one for one in late_s]
    mean_ms, sd_ms, free = fmean(late_ms), stdev(late_ms), len(late_ms) - 1
    student, low, high = _QUANTILES[free]
    half_ms = student * sd_ms / math.sqrt(len(late_ms))
    return Steadiness(
        mean_ms,
        mean_ms - half_ms,
        mean_ms + half_ms,
        sd_ms,
        sd_ms * math.sqrt(free / high),
        sd_ms * math.sqrt(free / low),
        len(late_ms),
    )
