"""The samples of a backing: its notes added up, and ducked under every click. Pure."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

import numpy as np

from pedaltrainer.timing.backing.parts import BandNote
from pedaltrainer.timing.backing.voices import LONGEST_S, Wave, sound_of
from pedaltrainer.timing.click import FULL_SCALE, Pcm
from pedaltrainer.timing.grid import RATE

DUCKED = 0.5
BEFORE_S, AFTER_S = 0.005, 0.065
"""How long before a click the backing is ducked already, and how long after it still."""
DOWN_S, UP_S = 0.010, 0.040


def render(notes: Sequence[BandNote], clicks: Sequence[int], start: int, end: int, rate: int = RATE) -> Pcm:
    """The samples [start, end) of a backing at full level, int16 of shape (end - start,).

    notes and clicks (their samples) are in order of time. Any piece is as it is in the whole, so that a long
    song can be made section by section.
    """
    total = np.zeros(max(0, end - start), np.float32)
    longest = max((note.length for note in notes), default=0)
    longest = min(longest, max(round(LONGEST_S * rate), longest))
    first = bisect_left(notes, start - longest, key=lambda note: note.sample)
    for note in notes[first : bisect_left(notes, end, key=lambda note: note.sample)]:
        low, high = max(note.sample, start), min(note.sample + note.length, end)
        if high <= low:
            continue
        wave = sound_of(note, rate)[low - note.sample : high - note.sample]
        total[low - start : low - start + len(wave)] += wave
    total *= _ducking(clicks, start, end, rate)
    pcm: Pcm = np.round(total * FULL_SCALE).astype(np.int16)
    return pcm


def _ducking(clicks: Sequence[int], start: int, end: int, rate: int) -> Wave:
    """The gain at every sample: DUCKED around each click, on slopes that end and begin outside."""
    before, after = round(BEFORE_S * rate), round(AFTER_S * rate)
    down, up = round(DOWN_S * rate), round(UP_S * rate)
    dip = np.concatenate(
        (
            np.linspace(1, DUCKED, down, endpoint=False, dtype=np.float32),
            np.full(before + after, DUCKED, np.float32),
            np.linspace(DUCKED, 1, up, dtype=np.float32),
        )
    )
    gain = np.ones(max(0, end - start), np.float32)
    first = bisect_left(clicks, start - after - up)
    for click in clicks[first : bisect_right(clicks, end + before + down)]:
        at = click - before - down
        low, high = max(at, start), min(at + len(dip), end)
        if high > low:
            part = gain[low - start : high - start]
            np.minimum(part, dip[low - at : high - at], out=part)
    return gain
