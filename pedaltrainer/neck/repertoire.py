"""What players hold already: which candidates are grips in use for a quality, or lie on strings as they do.

A grip is a shape without its place: the same frets, seen from the lowest of them, over the same degree of
the chord. Open E, F with a barre and all that follows up the neck are one grip. A layout is only which
degree of the chord each string sounds, whatever its alteration; 151351 is the layout of that grip and of all
its neighbours, minor, augmented or with another fifth. A form is only how the hand looks, whatever sounds.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, takewhile
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.neck.grips import GRIPS_ON_C, TAUGHT_FIRST
from pedaltrainer.neck.spelling import Spelling, spell
from pedaltrainer.neck.tuning import STANDARD_TUNING, Tuning

Frets = tuple[int | None, ...]
Whole = NDArray[np.int64]

SILENT = 0
"""The digit of a silent string in a layout."""
_STRINGS = 6
_FEWEST_ALIKE = 4
_UNPLAYED = -1
_BASE = 32
"""Above every fret: a grip is told apart by a number with a digit of this base for each string."""
_DEGREE_OF_NONE = 8


class Quality(NamedTuple):
    """A chord without its root: semitones of its tones, and of its bass, above the root."""

    tones: frozenset[int]
    bass: int


@dataclass(frozen=True, slots=True, eq=False)
class Repertoire:
    """grips: for each quality the grips by their numbers (`grip_numbers`) and at how many roots players use
    each. layouts: by `layout_numbers`. forms: by `form_numbers`. taught_first: as grips, with their place."""

    grips: Mapping[Quality, Mapping[int, int]]
    layouts: Whole
    forms: Whole
    taught_first: Mapping[Quality, frozenset[int]]

    def roots_in_use(self, frets: NDArray[np.int16], spelling: Spelling, tuning: Tuning) -> Whole:
        """For each candidate at how many roots its grip is in use; 0 where none is known."""
        known = self.grips.get(quality_of(spelling), {})
        if strings_alike(tuning) < _STRINGS:
            return np.zeros(len(frets), np.int64)
        return _looked_up(known, grip_numbers(frets[:, -_STRINGS:], spelling.root_pitch_class, tuning)) * (
            frets[:, :-_STRINGS] == _UNPLAYED
        ).all(axis=1)

    def is_taught_first(
        self, frets: NDArray[np.int16], spelling: Spelling, tuning: Tuning
    ) -> NDArray[np.bool_]:
        """Whether each candidate is the shape that teachers show first for its chord, at its very place."""
        known = self.taught_first.get(quality_of(spelling), frozenset())
        if tuning.strings != _STRINGS or strings_alike(tuning) < _STRINGS:
            return np.zeros(len(frets), np.bool_)
        return np.isin(_placed_numbers(frets, spelling.root_pitch_class, tuning), list(known))

    def has_layout(self, degrees: NDArray[np.int16], tuning: Tuning) -> NDArray[np.bool_]:
        """Whether each candidate's layout is in use, on the strings that lie as a guitar's; all are where
        fewer than four do. degrees: (candidates, strings), SILENT or 1 to 8."""
        alike = min(strings_alike(tuning), _STRINGS)
        if alike < _FEWEST_ALIKE:
            return np.ones(len(degrees), np.bool_)
        return np.isin(layout_numbers(degrees[:, -alike:]), np.unique(self.layouts % 10**alike))

    def has_form(self, frets: NDArray[np.int16]) -> NDArray[np.bool_]:
        """Whether each candidate's form is in use, in any tuning of six strings; all are on others."""
        if frets.shape[1] != _STRINGS:
            return np.ones(len(frets), np.bool_)
        return np.isin(form_numbers(frets), self.forms)


def strings_alike(tuning: Tuning) -> int:
    """How many of the highest strings are as far from one another as a guitar's, seven and eight strings
    too: grips and layouts hold there, in a tuning that is a whole tone lower or has another bass."""
    usual, here = (
        [high - low for low, high in pairwise(notes)][::-1]
        for notes in (STANDARD_TUNING.open_midi, tuning.open_midi)
    )
    return 1 + sum(1 for _ in takewhile(lambda gaps: gaps[0] == gaps[1], zip(usual, here, strict=False)))


def quality_of(spelling: Spelling) -> Quality:
    tones = frozenset(tone.semitones for tone in spelling.tones)
    return Quality(tones, (spelling.bass_pitch_class - spelling.root_pitch_class) % 12)


def grip_numbers(frets: NDArray[np.int16], root_pitch_class: int, tuning: Tuning) -> Whole:
    """A number for each grip: equal where one is the other moved along the neck with its chord.

    frets: (candidates, six strings), -1 unplayed.
    """
    lowest = _lowest_sounding(frets)
    digits = np.where(frets != _UNPLAYED, frets - lowest[:, None], _BASE - 1).astype(np.int64)
    over_root = (lowest + tuning.note(tuning.strings - _STRINGS, 0) - root_pitch_class) % 12
    return digits @ _BASE ** np.arange(_STRINGS) * 12 + over_root


def _placed_numbers(frets: NDArray[np.int16], root_pitch_class: int, tuning: Tuning) -> Whole:
    return grip_numbers(frets, root_pitch_class, tuning) * _BASE + _lowest_sounding(frets)


def _lowest_sounding(frets: NDArray[np.int16]) -> NDArray[np.int16]:
    return np.where(frets != _UNPLAYED, frets, _BASE).min(axis=1).astype(np.int16)


def form_numbers(frets: NDArray[np.int16]) -> Whole:
    """A number for each form of the hand: equal where one is the other moved along the same six strings,
    with the same ones open or unplayed."""
    pressed = frets > 0
    lowest = np.where(pressed, frets, _BASE).min(axis=1)
    digits = np.where(pressed, frets - lowest[:, None], _BASE - 1 + np.minimum(frets, 0)).astype(np.int64)
    return digits @ _BASE ** np.arange(_STRINGS)


def layout_numbers(degrees: NDArray[np.int16]) -> Whole:
    """A decimal digit for each string from the lowest."""
    return degrees.astype(np.int64) @ 10 ** np.arange(degrees.shape[1] - 1, -1, -1)


def degree_numbers(spelling: Spelling) -> NDArray[np.int16]:
    """By pitch class: the degree's number from 1 to 7 (a ninth is 2); 8 for what is not in the chord."""
    numbers = np.full(12, _DEGREE_OF_NONE, np.int16)
    for pitch_class in spelling.pitch_classes:
        number = int(spelling.degree_of(pitch_class).lstrip("b#"))
        numbers[pitch_class] = (number - 1) % 7 + 1
    return numbers


class Grip(NamedTuple):
    """frets: in the standard tuning, for the chord of the symbol. roots: at how many roots it is in use.
    opened: whether players hold it at the nut alone, with open strings at its lowest fret."""

    symbol: str
    frets: Frets
    roots: int = 1
    opened: bool = False


def repertoire_of(grips: Sequence[Grip], taught_first: Sequence[Grip] = ()) -> Repertoire:
    """Layouts and forms are drawn from both, layouts not from slash chords.

    Raises InputError for what is no chord symbol.
    """
    counted: defaultdict[Quality, Counter[int]] = defaultdict(Counter)
    for grip in grips:
        counted[_quality(grip)][_number(grip_numbers, grip)] += grip.roots
    taught: defaultdict[Quality, set[int]] = defaultdict(set)
    for grip in taught_first:
        taught[_quality(grip)].add(_number(_placed_numbers, grip))
    every = (*grips, *taught_first)
    return Repertoire(
        grips=dict(counted),
        layouts=np.unique([_layout(grip) for grip in every if "/" not in grip.symbol]),
        forms=np.unique([_form(grip) for grip in every]),
        taught_first={quality: frozenset(numbers) for quality, numbers in taught.items()},
    )


@lru_cache(maxsize=1)
def usual_repertoire() -> Repertoire:
    """The grips of grips.py."""
    return repertoire_of(
        [read_grip(symbol, word) for symbol, words in GRIPS_ON_C.items() for word in words.split()],
        [Grip(symbol, read_frets(word), opened="0" in word) for symbol, word in TAUGHT_FIRST.items()],
    )


def read_grip(symbol: str, word: str) -> Grip:
    """A word of `GRIPS_ON_C`: `x32010*2`, or `x32010~2` where the strings at its lowest fret are open."""
    opened = "~" in word
    frets, _, roots = word.partition("~" if opened else "*")
    return Grip(symbol, read_frets(frets), int(roots or 1), opened)


def read_frets(word: str) -> Frets:
    """`x32010`: a sign a string from the lowest, x not played, a for the tenth fret, b for the next."""
    return tuple(None if sign == "x" else int(sign, _BASE) for sign in word)


def _row(frets: Frets) -> NDArray[np.int16]:
    return np.array([[_UNPLAYED if fret is None else fret for fret in frets]], np.int16)


def _quality(grip: Grip) -> Quality:
    return quality_of(spell(grip.symbol))


def _number(numbers: Callable[[NDArray[np.int16], int, Tuning], Whole], grip: Grip) -> int:
    return int(numbers(_row(grip.frets), spell(grip.symbol).root_pitch_class, STANDARD_TUNING)[0])


def _layout(grip: Grip) -> int:
    row = _row(grip.frets)
    notes = np.array([STANDARD_TUNING.note(string, 0) for string in range(_STRINGS)], np.int16) + row
    degrees = np.where(row == _UNPLAYED, SILENT, degree_numbers(spell(grip.symbol))[notes % 12])
    return int(layout_numbers(degrees)[0])


def _form(grip: Grip) -> int:
    row = _row(grip.frets)
    lowest = min(fret for fret in grip.frets if fret is not None)
    at_the_nut = 0 if grip.opened else 1
    return int(form_numbers(np.where(row == _UNPLAYED, row, row - lowest + at_the_nut))[0])


def _looked_up(known: Mapping[int, int], numbers: Whole) -> Whole:
    return np.array([known.get(number, 0) for number in numbers.tolist()], np.int64)
