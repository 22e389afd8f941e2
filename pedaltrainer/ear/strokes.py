"""Notes of a MIDI guitar, gathered into the strokes of a take. Pure.

One channel a string is Mode 4 of MIDI 1.0 (omni off, mono): neighbouring strings on neighbouring channels; at
which end they begin is found out. A stroke is the fullest cluster of a landing's notes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import Enum

import numpy as np

from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.onsets import window_s
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.timing.played_notes import PlayedNote

STROKE_S = 0.100
"""A strum of 55 ms, and 45 ms by which one string's note comes later than another's."""
MOST_NOTES = 120
"""More within the window of a landing are no guitar's."""
NEARLY_FULL = 0.7
STEP_S, AROUND_S = 0.005, (-0.020, 0.080)
HARMONICS = frozenset((-24, -12, 12, 19, 24))
"""Semitones by which a converter errs: octaves, and the third partial taken for the first."""
CHANNELS = 16


class Came(Enum):
    """What came of a string that should sound. HARMONIC: its note by one of HARMONICS off."""

    RIGHT = "right"
    HARMONIC = "harmonic"
    OTHER = "other"
    NOTHING = "nothing"


Stroke = Mapping[int, tuple[Came, float]]
"""String (0-based) -> what came, and how long after the landing's place in s (nan: nothing). Every string
that should sound is in it."""

FITS: tuple[tuple[Came, Callable[[int], bool]], ...] = (
    (Came.RIGHT, lambda off: off == 0),
    (Came.HARMONIC, lambda off: off in HARMONICS),
    (Came.OTHER, lambda off: True),
)


def strings_of(expected: Expected, notes: Sequence[PlayedNote]) -> Mapping[int, int] | None:
    """Channel -> string; None where the channels do not tell the strings."""
    if len({one.channel for one in notes}) < 2:
        return None
    shapes = {landing.chord: landing.shape for landing in expected.landings}.values()
    count = len(expected.landings[0].shape.frets)
    fretted = {
        (string, shape.tuning.note(string, fret))
        for shape in shapes
        for string, fret in enumerate(shape.frets)
        if fret is not None
    }
    ways = [
        {first + step * string: string for string in range(count)}
        for step in (1, -1)
        for first in range(CHANNELS)
        if 0 <= first + step * (count - 1) < CHANNELS
    ]
    fitting = [sum((way.get(one.channel), one.note) in fretted for one in notes) for way in ways]
    best = int(np.argmax(fitting))
    return ways[best] if fitting[best] >= len(notes) / 2 else None


def came_of(shape: Shape, notes: Sequence[PlayedNote], strings: Mapping[int, int] | None) -> Stroke:
    """What came of each string, of notes that are one stroke; their times as they are."""
    wanted = {
        string: shape.tuning.note(string, fret) for string, fret in enumerate(shape.frets) if fret is not None
    }
    came = {string: (Came.NOTHING, float("nan")) for string in wanted}
    left = list(notes)
    for what, fits in FITS:
        for string, pitch in wanted.items():
            if came[string][0] is not Came.NOTHING:
                continue
            for one in left:
                if (strings is None or strings.get(one.channel) == string) and fits(one.note - pitch):
                    came[string] = (what, one.t_s)
                    left.remove(one)
                    break
        if what is Came.HARMONIC and strings is None:
            # Sent twice; it is no other string's.
            left = [one for one in left if one.note not in wanted.values()]
    return came


def fullness(stroke: Stroke) -> float:
    """How many strings came, those beside their note by a quarter."""
    return sum({Came.RIGHT: 1.0, Came.NOTHING: 0.0}.get(came, 0.25) for came, _ in stroke.values())


def stroke_at(
    shape: Shape, at_s: float, beat_s: float, notes: Sequence[PlayedNote], strings: Mapping[int, int] | None
) -> Stroke:
    """The stroke of the landing that should be at `at_s`: the first of the fullest clusters near it."""
    first, last = window_s(at_s, beat_s)
    near = [one for one in notes if first <= one.t_s < last + STROKE_S / 2][:MOST_NOTES]
    starts = [one.t_s for one in near if one.t_s < last] or [at_s]
    clusters = [
        came_of(shape, [one for one in near if start <= one.t_s <= start + STROKE_S], strings)
        for start in starts
    ]
    full = [fullness(one) for one in clusters]
    begins = next(start for start, one in zip(starts, full, strict=True) if one >= NEARLY_FULL * max(full))
    # Within that stroke the fullest, and of those the one with the least before it.
    _, _, best = max(
        (one, start, number)
        for number, (one, start) in enumerate(zip(full, starts, strict=True))
        if begins <= start <= begins + STROKE_S
    )
    return {string: (came, t_s - at_s) for string, (came, t_s) in clusters[best].items()}


def strokes_of(
    expected: Expected, notes: Sequence[PlayedNote], strings: Mapping[int, int] | None, delay_s: float
) -> tuple[Stroke, ...]:
    """The stroke of each landing."""
    return tuple(
        stroke_at(one.shape, one.at_s + delay_s, expected.beat_s, notes, strings) for one in expected.landings
    )


def lag_s(stroke: Stroke, of_strings: Mapping[int, float]) -> float:
    """How long after its place a stroke is, by its middle string, the strings' own lags taken off; nan
    without notes."""
    lags = [after - of_strings.get(string, 0.0) for string, (_, after) in stroke.items() if after == after]
    return float(np.median(lags)) if lags else float("nan")


def delay_of(
    expected: Expected, notes: Sequence[PlayedNote], within_s: tuple[float, float] | None = None
) -> float:
    """When the count-in's first beat is: where chords stand at the landings and nothing in the count-in.

    within_s: between which bounds, where a clock has told.
    """
    times = np.array([one.t_s for one in notes])
    first, last = expected.landings[0].at_s, expected.landings[-1].at_s
    # The count-in may have been cut off; the last chord not.
    delays = np.arange(times[0] - last, times[-1] - first + 2 * STEP_S, STEP_S)
    delays = delays[delays >= -first - expected.beat_s]
    if within_s is not None:
        delays = np.arange(within_s[0], within_s[1], STEP_S)

    def beside(at_s: float, pitches: Sequence[int]) -> np.ndarray:
        own = np.array([one.t_s for one in notes if one.note in pitches])
        ends = (np.searchsorted(own, delays + at_s + around) for around in AROUND_S)
        begin, end = ends
        return np.minimum(1.0, (end - begin) / len(pitches))

    score = sum((beside(one.at_s, one.shape.midi) for one in expected.landings), np.zeros(len(delays)))
    every = sorted({one.note for one in notes})
    for at_s in np.arange(0, first - expected.beat_s / 2, expected.beat_s):
        score = score - 0.6 * beside(float(at_s), every)
    best = np.flatnonzero(score >= score.max() - 1e-9)
    return float(delays[best[len(best) // 2]])
