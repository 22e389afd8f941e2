"""Every list of frets that one hand could hold for a set of notes: what the search for shapes ranks.

Arrays: one row a candidate, one column a string from the lowest; UNPLAYED marks a string that is silent.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.neck.geometry import NeckSize

UNPLAYED = -1
_FINGERS = 4
_FRETS_IN_REACH = 5
"""A finger a fret and one stretch (common practice, no published source); the span in mm narrows it."""
_MOST_SKIPPED = 1
"""Unplayed strings between sounding ones: one a neighbouring finger can damp, more are left to plucking."""
_FEWEST_SOUNDING = 3

Ints = NDArray[np.int16]
_COUNT_OF_BITS = np.array([bits.bit_count() for bits in range(1 << 12)], np.int16)


@dataclass(frozen=True, slots=True)
class Candidates:
    """frets: (candidates, strings). lowest_fret: the lowest one pressed, 0 where all is open. fingers: the
    fewest that could hold it."""

    frets: Ints
    lowest_fret: Ints
    fingers: Ints

    def where(self, chosen: NDArray[np.bool_] | NDArray[np.signedinteger]) -> Candidates:
        return Candidates(self.frets[chosen], self.lowest_fret[chosen], self.fingers[chosen])


class _Begun(NamedTuple):
    """Candidates as far as some string. Its rows stand for one hand place each: lowest fret `base`.

    lying: a bit for each fret above the base (the base is bit 0) on which a finger lies that can reach over
    to the next string. waiting: unplayed strings since the last that sounded. wanted: a bit for each needed
    pitch class not yet heard.
    """

    frets: Ints
    base: Ints
    reach: Ints
    lying: Ints
    fingers: Ints
    waiting: Ints
    skipped: Ints
    wanted: Ints

    def where(self, chosen: NDArray[np.bool_]) -> _Begun:
        return _Begun(*(column[chosen] for column in self))


def candidates(
    allowed: Set[int],
    needed: Set[int],
    tuning: Tuning,
    neck: NeckSize,
    span_mm: float,
    highest_place: int,
) -> Candidates:
    """All that can be held with the lowest pressed fret from 1 to highest_place (counted from the capo).

    Only the allowed pitch classes sound and all the needed ones, on three strings or more, on two where the
    chord has no more tones; at most one
    string between sounding ones is silent; the pressed frets lie within span_mm and, by barres where
    strings allow them, under four fingers.
    """
    begun = _start(needed, tuning, neck, span_mm, highest_place)
    for string in range(tuning.strings):
        notes = _notes_by_fret(allowed, tuning, string)
        left = tuning.strings - string - 1
        grown = [part.where(_COUNT_OF_BITS[part.wanted] <= left) for part in _grown(begun, notes)]
        begun = _Begun(*(np.concatenate(columns) for columns in zip(*grown, strict=True)))
    pressed = np.where(begun.frets > 0, begun.frets, tuning.highest_fret + 1).min(axis=1)
    open_only = pressed > tuning.highest_fret
    once = np.where(open_only, begun.base == 1, pressed == begun.base)
    fewest = min(_FEWEST_SOUNDING, len(allowed))
    kept = once & ((begun.frets != UNPLAYED).sum(axis=1) >= fewest)
    lowest = np.where(open_only, 0, pressed)
    return Candidates(begun.frets, lowest, begun.fingers).where(kept)


def _start(needed: Set[int], tuning: Tuning, neck: NeckSize, span_mm: float, highest_place: int) -> _Begun:
    places = range(1, min(highest_place, tuning.highest_fret) + 1)
    reach = [
        min(
            neck.highest_within(place + tuning.capo, span_mm) - tuning.capo - place,
            _FRETS_IN_REACH - 1,
            tuning.highest_fret - place,
        )
        for place in places
    ]
    wanted = np.full(len(places), sum(1 << pitch_class for pitch_class in needed), np.int16)
    none = np.zeros(len(places), np.int16)
    frets = np.zeros((len(places), 0), np.int16)
    return _Begun(
        frets, np.array(places, np.int16), np.array(reach, np.int16), none, none, none, none, wanted
    )


def _notes_by_fret(allowed: Set[int], tuning: Tuning, string: int) -> Ints:
    """By fret from the capo: the bit of the pitch class there; 0 where it is not allowed or off the neck."""
    notes = np.zeros(tuning.highest_fret + _FRETS_IN_REACH + 1, np.int16)
    for fret in range(tuning.highest_fret + 1):
        pitch_class = tuning.note(string, fret) % 12
        notes[fret] = (pitch_class in allowed) << pitch_class
    return notes


def _grown(begun: _Begun, notes: Ints) -> Iterator[_Begun]:
    """The begun candidates with one string more: unplayed, open, or at each fret in reach."""
    started = (begun.frets != UNPLAYED).any(axis=1)
    nothing = np.full(len(begun.base), UNPLAYED, np.int16)
    yield begun._replace(frets=np.column_stack([begun.frets, nothing]), waiting=begun.waiting + started)
    sounding = begun.where(begun.skipped + begun.waiting <= _MOST_SKIPPED)
    if notes[0]:
        none = np.zeros_like(sounding.base)
        yield _with_fret(sounding, none, notes, none, sounding.fingers)
    for above in range(_FRETS_IN_REACH):
        held = sounding.where((above <= sounding.reach) & (notes[sounding.base + above] > 0))
        new = 1 - (held.lying >> above & 1)
        held, new = held.where(held.fingers + new <= _FINGERS), new[held.fingers + new <= _FINGERS]
        # A finger lying at a higher fret cannot reach over this string: it would be heard here.
        lying = held.lying & ((1 << above) - 1) | 1 << above
        yield _with_fret(held, held.base + above, notes, lying, held.fingers + new)


def _with_fret(begun: _Begun, fret: Ints, notes: Ints, lying: Ints, fingers: Ints) -> _Begun:
    return begun._replace(
        frets=np.column_stack([begun.frets, fret]),
        lying=lying,
        fingers=fingers,
        skipped=begun.skipped + begun.waiting,
        waiting=np.zeros_like(begun.waiting),
        wanted=begun.wanted & ~notes[fret],
    )
