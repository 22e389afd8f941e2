"""Tap tempo: the beats a minute of taps, by a straight line through all of them. Pure.

Each tap is given the number of its beat, and the line of least squares through (number, second) has the
seconds of a beat for its slope. Where every tap is off by its own error (the delay of the limb in Wing &
Kristofferson 1973, Perception & Psychophysics 14, 5-12), nothing unbiased and linear is closer (Gauss and
Markov). A beat that was missed leaves its number out; of two taps for one beat the nearer to the line counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean, median

FEWEST_TAPS = 4
"""A tempo is told from here on."""
_MOST_OFF = 0.3
"""A tap that is further than so many beats from the line is none of its beats."""


def tapped_bpm(taps_s: Sequence[float]) -> float | None:
    """Beats a minute of taps at these seconds, in order; None of fewer than `FEWEST_TAPS`.

    None as well where they are all at one moment.
    """
    gaps_s = [there - here for here, there in pairwise(taps_s)]
    if len(taps_s) < FEWEST_TAPS or not any(gap_s > 0 for gap_s in gaps_s):
        return None
    beat_s = _usual(gaps_s)
    on_beat = _numbered(taps_s, beat_s)
    for _ in range(2):
        if len(on_beat) < 2:
            return 60 / beat_s
        on_beat = _nearest(taps_s, *_line(on_beat)) or on_beat
    return 60 / _line(on_beat)[1]


def _nearest(taps_s: Sequence[float], first_s: float, beat_s: float) -> dict[int, float]:
    """The taps near the beats of a line, one a beat; none where they are of fewer than two beats."""
    places = sorted(((tap_s - first_s) / beat_s, tap_s) for tap_s in taps_s)
    near: dict[int, tuple[float, float]] = {}
    for place, tap_s in places:
        off = abs(place - round(place))
        if off <= _MOST_OFF:
            near[round(place)] = min(near.get(round(place), (off, tap_s)), (off, tap_s))
    return {number: tap_s for number, (_, tap_s) in near.items()} if len(near) > 1 else {}


def _usual(gaps_s: Sequence[float]) -> float:
    """The gap that most others are like: those much shorter belong to one beat, twice tapped."""
    middle = median(gaps_s)
    whole = [gap_s for gap_s in gaps_s if gap_s > middle / 2]
    return median(whole)


def _numbered(taps_s: Sequence[float], beat_s: float) -> dict[int, float]:
    """The taps by the numbers of their beats, each counted from the one before."""
    numbered = {0: taps_s[0]}
    number, last_s = 0, taps_s[0]
    for tap_s in taps_s[1:]:
        beats = round((tap_s - last_s) / beat_s)
        if beats:
            number, last_s = number + beats, tap_s
            numbered[number] = tap_s
    return numbered


def _line(on_beat: dict[int, float]) -> tuple[float, float]:
    """The second of beat 0 and the seconds of a beat, by least squares."""
    middle, middle_s = fmean(on_beat), fmean(on_beat.values())
    spread = sum((number - middle) ** 2 for number in on_beat)
    beat_s = sum((number - middle) * (tap_s - middle_s) for number, tap_s in on_beat.items()) / spread
    return middle_s - middle * beat_s, beat_s
