"""What players hold already: which candidates are grips in use for a quality, or lie on strings as they do.

A grip is a shape without its place: the same frets, seen from the lowest of them, over the same degree of
the chord. Open E, F with a barre and all that follows up the neck are one grip. A layout is only which
degree of the chord each string sounds, whatever its alteration; 151351 is the layout of that grip and of all
its neighbours, minor, augmented or with another fifth. A form is only how the hand looks, whatever sounds.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, takewhile
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.neck.chords.spelling import Spelling, spell
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.neck.grips import FORMS, GRIPS_ON_C, TAUGHT

Frets = tuple[int | None, ...]
Whole = NDArray[np.int64]
Frets16 = NDArray[np.int16]
Flags = NDArray[np.bool_]

SILENT = 0
"""The digit of a silent string in a layout."""
_STRINGS = 6
_FEWEST_ALIKE = 4
_FEWEST_ABOVE_A_BASS = 3
_BY_THE_NUT = 4
_UNPLAYED = -1
_BASE = 32
"""Above every fret: a grip is told apart by a number with a digit of this base for each string."""
_DEGREE_OF_NONE = 8


class Quality(NamedTuple):
    """A chord without its root: semitones of its tones, and of its bass, above the root."""

    tones: frozenset[int]
    bass: int


PLAIN_QUALITIES = tuple(
    Quality(frozenset(tones), 0) for tones in ((0, 4, 7), (0, 3, 7), (0, 4, 7, 10), (0, 3, 7, 10))
)
"""Major, minor and their sevenths: what other open chords are made from by a finger more or less."""


@dataclass(frozen=True, slots=True, eq=False)
class Repertoire:
    """grips: for each quality the grips by their numbers (`grip_numbers`) and at how many roots players use
    each. layouts: by `layout_numbers`. forms: by `form_numbers`. taught: as grips with their place, and
    whether that is the first (1) or another way (2) taught for the chord. moved: the grips that are taught to
    be moved along the neck. at_home: the frets that are taught, by the pitch class of the root; the moved
    ones at their lowest place."""

    grips: Mapping[Quality, Mapping[int, int]]
    layouts: frozenset[int]
    forms: frozenset[int]
    taught: Mapping[Quality, Mapping[int, int]]
    moved: Mapping[Quality, frozenset[int]]
    at_home: Mapping[tuple[int, Quality], tuple[Frets, ...]]

    def knows_grips_in(self, tuning: Tuning) -> bool:
        return strings_alike(tuning) >= _STRINGS

    def roots_in_use(self, frets: Frets16, spelling: Spelling, tuning: Tuning) -> Whole:
        """For each candidate at how many roots its grip is in use; 0 where none is known."""
        known = self.grips.get(quality_of(spelling), {})
        if not self.knows_grips_in(tuning):
            return np.zeros(len(frets), np.int64)
        numbers = grip_numbers(frets[:, -_STRINGS:], spelling.root_pitch_class, tuning)
        return np.where(_on_a_guitars_strings(frets), _looked_up(numbers, known), 0)

    def order_taught(self, frets: Frets16, spelling: Spelling, tuning: Tuning) -> Whole:
        """For each candidate 1 where it is the shape that teachers show first for its chord, at its very
        place, 2 where it is another that beginners learn, 0 elsewhere."""
        known = self.taught.get(quality_of(spelling), {})
        if not self.knows_grips_in(tuning):
            return self._order_on_fewer(frets, spelling, tuning)
        numbers = _placed_numbers(frets[:, -_STRINGS:], spelling.root_pitch_class, tuning)
        return np.where(_on_a_guitars_strings(frets), _looked_up(numbers, known), 0)

    def _order_on_fewer(self, frets: Frets16, spelling: Spelling, tuning: Tuning) -> Whole:
        """The same where four or five strings lie as a guitar's highest, in whatever octave each: what is
        taught there is what the guitar's shape leaves on them (a ukulele's G is the upper part of D)."""
        orders = np.zeros(len(frets), np.int64)
        if tuning.strings >= _STRINGS or not _lies_as_upper_strings(tuning):
            return orders
        there = self._taught_there(spelling, quality_of(spelling), tuning)[:, -tuning.strings :]
        for order, one in reversed(list(enumerate(there))):
            if one.max() <= _BY_THE_NUT:
                orders[(frets == one).all(axis=1)] = 1 if order == 0 else 2
        return orders

    def is_moved(self, frets: Frets16, spelling: Spelling, tuning: Tuning) -> Flags:
        """Whether each candidate is a form that is taught to be moved along the neck."""
        if not self.knows_grips_in(tuning):
            return np.zeros(len(frets), np.bool_)
        numbers = grip_numbers(frets[:, -_STRINGS:], spelling.root_pitch_class, tuning)
        known = self.moved.get(quality_of(spelling), frozenset())
        return _on_a_guitars_strings(frets) & _among(numbers, known)

    def is_altered(self, frets: Frets16, spelling: Spelling, tuning: Tuning) -> Flags:
        """Whether each candidate is a taught triad or seventh of the same root but for one string, and sounds
        no fewer."""
        found = np.zeros(len(frets), np.bool_)
        if not self.knows_grips_in(tuning) or spelling.symbol.bass is not None:
            return found
        six = frets[:, -_STRINGS:]
        for plain in PLAIN_QUALITIES:
            for one in self._taught_there(spelling, plain, tuning):
                fewer = ((six == _UNPLAYED) & (one != _UNPLAYED)).any(axis=1)
                found |= ((six != one).sum(axis=1) == 1) & ~fewer
        return found & _on_a_guitars_strings(frets)

    def stands_on_a_bass(self, frets: Frets16, spelling: Spelling, tuning: Tuning) -> Flags:
        """Whether each candidate of a chord with another bass is a taught shape of the chord itself, over a
        bass below it; a string between them may be silent, and the highest."""
        found = np.zeros(len(frets), np.bool_)
        if not self.knows_grips_in(tuning) or spelling.symbol.bass is None:
            return found
        six = frets[:, -_STRINGS:]
        sounds = six != _UNPLAYED
        string = np.arange(_STRINGS)
        above = string > sounds.argmax(axis=1)[:, None]
        between = string == sounds.argmax(axis=1)[:, None] + 1
        may_be_silent = ~above | between | (string == _STRINGS - 1)
        enough = (above & sounds).sum(axis=1) >= _FEWEST_ABOVE_A_BASS
        itself = Quality(frozenset(tone.semitones for tone in spelling.tones), 0)
        for one in self._taught_there(spelling, itself, tuning):
            as_taught = (six == one) | ~above | (~sounds & (may_be_silent | (one == _UNPLAYED)))
            found |= as_taught.all(axis=1) & enough
        return found & _on_a_guitars_strings(frets)

    def _taught_there(self, spelling: Spelling, quality: Quality, tuning: Tuning) -> Frets16:
        """The taught frets of a quality on this chord's root, where the hand has it: (shapes, strings)."""
        up = tuning.note(tuning.strings - 1, 0) - STANDARD_TUNING.note(_STRINGS - 1, 0)
        return _frets_array(self.at_home.get(((spelling.root_pitch_class - up) % 12, quality), ()))

    def has_layout(self, degrees: Frets16, tuning: Tuning) -> Flags:
        """Whether each candidate's layout is in use, on the strings that lie as a guitar's; all are where
        fewer than four do. degrees: (candidates, strings), SILENT or 1 to 8."""
        alike = min(strings_alike(tuning), _STRINGS)
        if alike < _FEWEST_ALIKE:
            return np.ones(len(degrees), np.bool_)
        known = {layout % 10**alike for layout in self.layouts}
        return _among(layout_numbers(degrees[:, -alike:]), known)

    def has_form(self, frets: Frets16, tuning: Tuning) -> Flags:
        """Whether each candidate's form is in use; all are where strings do not lie as a guitar's, and hands
        take other forms."""
        if not self.knows_grips_in(tuning):
            return np.ones(len(frets), np.bool_)
        return _among(form_numbers(frets[:, -_STRINGS:]), self.forms)


def _lies_as_upper_strings(tuning: Tuning) -> bool:
    usual = STANDARD_TUNING.open_midi[-tuning.strings :]
    return len({(here - there) % 12 for here, there in zip(tuning.open_midi, usual, strict=True)}) == 1


def _on_a_guitars_strings(frets: Frets16) -> Flags:
    return np.asarray((frets[:, :-_STRINGS] == _UNPLAYED).all(axis=1), np.bool_)


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


def grip_numbers(frets: Frets16, root_pitch_class: int, tuning: Tuning) -> Whole:
    """A number for each grip: equal where one is the other moved along the neck with its chord.

    frets: (candidates, six strings), -1 unplayed.
    """
    lowest = _lowest_sounding(frets)
    digits = np.where(frets != _UNPLAYED, frets - lowest[:, None], _BASE - 1).astype(np.int64)
    over_root = (lowest + tuning.note(tuning.strings - _STRINGS, 0) - root_pitch_class) % 12
    return np.asarray(digits @ _BASE ** np.arange(_STRINGS) * 12 + over_root, np.int64)


def _placed_numbers(frets: Frets16, root_pitch_class: int, tuning: Tuning) -> Whole:
    return grip_numbers(frets, root_pitch_class, tuning) * _BASE + _lowest_sounding(frets)


def _lowest_sounding(frets: Frets16) -> Frets16:
    return np.asarray(np.where(frets != _UNPLAYED, frets, _BASE).min(axis=1), np.int16)


def form_numbers(frets: Frets16) -> Whole:
    """A number for each form of the hand: equal where one is the other moved along the same six strings,
    with the same ones open or unplayed."""
    pressed = frets > 0
    lowest = np.where(pressed, frets, _BASE).min(axis=1)
    digits = np.where(pressed, frets - lowest[:, None], _BASE - 1 + np.minimum(frets, 0)).astype(np.int64)
    return np.asarray(digits @ _BASE ** np.arange(_STRINGS), np.int64)


def layout_numbers(degrees: Frets16) -> Whole:
    """A decimal digit for each string from the lowest."""
    return np.asarray(degrees.astype(np.int64) @ 10 ** np.arange(degrees.shape[1] - 1, -1, -1), np.int64)


def degree_numbers(spelling: Spelling) -> Frets16:
    """By pitch class: the degree's number from 1 to 7 (a ninth is 2); 8 for what is not in the chord."""
    numbers = np.full(12, _DEGREE_OF_NONE, np.int16)
    for pitch_class in spelling.pitch_classes:
        number = int(spelling.degree_of(pitch_class).lstrip("b#"))
        numbers[pitch_class] = (number - 1) % 7 + 1
    return numbers


class KnownGrip(NamedTuple):
    """frets: in the standard tuning, for the chord of the symbol. roots: at how many roots it is in use.
    opened: whether players hold it at the nut alone, with open strings at its lowest fret."""

    symbol: str
    frets: Frets
    roots: int = 1
    opened: bool = False


def repertoire_of(
    grips: Sequence[KnownGrip], taught: Sequence[KnownGrip] = (), moved: Sequence[KnownGrip] = ()
) -> Repertoire:
    """From grips in use, those taught, of each chord the first before the others, and those that are moved
    along the neck; layouts and forms are drawn from the first two, layouts not from slash chords.

    Raises InputError for what is no chord symbol.
    """
    in_use: defaultdict[Quality, Counter[int]] = defaultdict(Counter)
    orders: defaultdict[Quality, dict[int, int]] = defaultdict(dict)
    layouts: set[int] = set()
    for spelling, known in _by_chord(grips):
        numbers = grip_numbers(_rows(known), spelling.root_pitch_class, STANDARD_TUNING).tolist()
        for number, grip in zip(numbers, known, strict=True):
            in_use[quality_of(spelling)][number] += grip.roots
        layouts.update(_layouts(known, spelling))
    for spelling, known in _by_chord(taught):
        numbers = _placed_numbers(_rows(known), spelling.root_pitch_class, STANDARD_TUNING).tolist()
        orders[quality_of(spelling)] |= {number: min(order, 2) for order, number in enumerate(numbers, 1)}
        layouts.update(_layouts(known, spelling))
    moves: defaultdict[Quality, set[int]] = defaultdict(set)
    at_home: defaultdict[tuple[int, Quality], dict[Frets, None]] = defaultdict(dict)
    for spelling, known in _by_chord(taught):
        at_home[spelling.root_pitch_class, quality_of(spelling)] |= {grip.frets: None for grip in known}
    for spelling, known in _by_chord(moved):
        numbers = grip_numbers(_rows(known), spelling.root_pitch_class, STANDARD_TUNING).tolist()
        moves[quality_of(spelling)].update(numbers)
        for root in range(12):
            there = {_up(grip.frets, (root - spelling.root_pitch_class) % 12): None for grip in known}
            at_home[root, quality_of(spelling)] |= there
    return Repertoire(
        in_use,
        frozenset(layouts),
        frozenset(_forms([*grips, *taught])),
        orders,
        {quality: frozenset(numbers) for quality, numbers in moves.items()},
        {place: tuple(shapes) for place, shapes in at_home.items()},
    )


def _up(frets: Frets, by: int) -> Frets:
    """Frets so much further up the neck."""
    return tuple(None if fret is None else fret + by for fret in frets)


@lru_cache(maxsize=1)
def usual_repertoire() -> Repertoire:
    """The grips of grips.py."""
    grips = [read_grip(symbol, word) for symbol, words in GRIPS_ON_C.items() for word in words.split()]
    return repertoire_of(grips, taught_grips(), moved_grips())


def taught_grips() -> list[KnownGrip]:
    return _grips_of(TAUGHT)


def moved_grips() -> list[KnownGrip]:
    return _grips_of(FORMS)


def _grips_of(table: Mapping[str, str]) -> list[KnownGrip]:
    return [
        KnownGrip(symbol, read_frets(word), opened="0" in word)
        for symbol, words in table.items()
        for word in words.split()
    ]


def read_grip(symbol: str, word: str) -> KnownGrip:
    """A word of `GRIPS_ON_C`: `x32010*2`, or `x32010~2` where the strings at its lowest fret are open."""
    opened = "~" in word
    frets, _, roots = word.partition("~" if opened else "*")
    return KnownGrip(symbol, read_frets(frets), int(roots or 1), opened)


def read_frets(word: str) -> Frets:
    """`x32010`: a sign a string from the lowest, x not played, a for the tenth fret, b for the next."""
    return tuple(None if sign == "x" else int(sign, _BASE) for sign in word)


def _by_chord(grips: Sequence[KnownGrip]) -> Iterator[tuple[Spelling, list[KnownGrip]]]:
    chords: dict[str, list[KnownGrip]] = {}
    for grip in grips:
        chords.setdefault(grip.symbol, []).append(grip)
    return ((spell(symbol), known) for symbol, known in chords.items())


def _rows(grips: Sequence[KnownGrip]) -> Frets16:
    return _frets_array([grip.frets for grip in grips])


def _frets_array(frets: Sequence[Frets]) -> Frets16:
    rows = [[_UNPLAYED if fret is None else fret for fret in one] for one in frets]
    return np.array(rows, np.int16).reshape(-1, _STRINGS)


def _layouts(grips: Sequence[KnownGrip], spelling: Spelling) -> list[int]:
    if spelling.symbol.bass is not None:
        return []
    frets = _rows(grips)
    notes = np.array([STANDARD_TUNING.note(string, 0) for string in range(_STRINGS)], np.int16) + frets
    degrees = np.where(frets == _UNPLAYED, SILENT, degree_numbers(spelling)[notes % 12])
    return [int(number) for number in layout_numbers(degrees)]


def _forms(grips: Sequence[KnownGrip]) -> list[int]:
    frets = _rows(grips)
    base = _lowest_sounding(frets) - np.array([not grip.opened for grip in grips], np.int16)
    moved = np.where(frets == _UNPLAYED, frets, frets - base[:, None])
    return [int(number) for number in form_numbers(moved)]


def _looked_up(numbers: Whole, known: Mapping[int, int]) -> Whole:
    return np.array([known.get(number, 0) for number in numbers.tolist()], np.int64)


def _among(numbers: Whole, known: Set[int]) -> Flags:
    return np.array([number in known for number in numbers.tolist()], np.bool_)
