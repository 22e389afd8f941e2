"""What makes one candidate better than another, counted for all of them at once.

Each column has a row in the table of costs, `SEARCH_COSTS`, by the same name.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.neck.candidates import UNPLAYED, Candidates
from pedaltrainer.neck.chords.spelling import Spelling
from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.neck.repertoire import SILENT, Repertoire, degree_numbers

Column = NDArray[np.integer | np.bool_ | np.floating]

_NO_NOTE = 999
_FULL_SOUND = 4
_TWO_TONES, _FULL_OF_TWO = 2, 3
"""A root and its fifth are struck on three strings and stopped there."""
_FAR_FROM_OPEN = 3
"""With the hand at this fret or above, open strings ring apart from the rest (common practice)."""
_WIDE = 4
_OCTAVE = 12
_ROOTS = 12
_ROOT, _FIFTH = 1, 5
_TRIAD = (1, 3, 5)


class Sounds:
    """The notes of candidates. midi: (candidates, strings), _NO_NOTE where silent; degree: the tone's number
    on the root's scale from 1 to 7 (a ninth is 2), SILENT where nothing sounds."""

    def __init__(self, found: Candidates, spelling: Spelling, tuning: Tuning) -> None:
        self.found = found
        self.heard = found.frets != UNPLAYED
        self.open = found.frets == 0
        self.pressed = found.frets > 0
        opened = np.array([tuning.note(string, 0) for string in range(tuning.strings)], np.int16)
        self.midi = np.where(self.heard, found.frets + opened, _NO_NOTE)
        self.pitch_class = self.midi % 12
        self.by_pitch = np.sort(self.midi, axis=1)
        self.degrees = degree_numbers(spelling)
        self.degree = np.where(self.heard, self.degrees[self.pitch_class], SILENT)
        self.first = self.heard.argmax(axis=1)
        self.last = tuning.strings - 1 - self.heard[:, ::-1].argmax(axis=1)
        self.count = self.heard.sum(axis=1)


def amounts_of(
    found: Candidates, spelling: Spelling, tuning: Tuning, repertoire: Repertoire
) -> Iterator[tuple[str, Column]]:
    """For each name in the table of search costs, how many units of it each candidate has."""
    sounds = Sounds(found, spelling, tuning)
    spanned = np.where(sounds.pressed, found.frets, 0).max(axis=1) - found.lowest_fret
    yield "fret spanned", spanned
    yield "four frets spanned", spanned >= _WIDE
    yield "fret along the neck", found.lowest_fret
    yield "beyond the octave", found.lowest_fret >= _OCTAVE
    if len(spelling.pitch_classes) > _TWO_TONES:
        yield from _silent_strings(sounds, tuning)
    else:
        yield "string beyond three of two tones", np.abs(sounds.count - _FULL_OF_TWO)
        yield "string skipped", sounds.last - sounds.first + 1 - sounds.count
    yield from _open_strings(sounds, spelling, tuning)
    if _has_bass_strings(tuning):
        yield from _bass(sounds, spelling)
    yield from _doublings(sounds, spelling)
    yield from _known(sounds, spelling, tuning, repertoire)


def _silent_strings(sounds: Sounds, tuning: Tuning) -> Iterator[tuple[str, Column]]:
    rows = np.arange(len(sounds.count))
    skipped = sounds.last - sounds.first + 1 - sounds.count
    beside = (skipped > 0) & ~sounds.heard[rows, np.minimum(sounds.first + 1, tuning.strings - 1)]
    damped = beside & sounds.pressed[rows, sounds.first]
    yield "silent string", tuning.strings - sounds.count
    yield "string skipped", (skipped > 0) & ~damped
    yield "string skipped beside the bass", damped
    yield "string left out above", tuning.strings - 1 - sounds.last
    yield "thin sound", np.maximum(0, _FULL_SOUND - sounds.count)
    yield (
        "bass pressed on a high string",
        np.maximum(0, sounds.first - 1) * sounds.pressed[rows, sounds.first],
    )


def _open_strings(sounds: Sounds, spelling: Spelling, tuning: Tuning) -> Iterator[tuple[str, Column]]:
    opened = sounds.open.sum(axis=1)
    place = sounds.found.lowest_fret
    yield "open string", opened
    yield "open string far from the hand", opened * (place >= _FAR_FROM_OPEN)
    string = np.arange(tuning.strings)
    notes = np.array([tuning.note(each, 0) % 12 for each in range(tuning.strings)])
    unused_below = string < sounds.first[:, None]
    unused_above = string > sounds.last[:, None]
    by_the_nut = place < _FAR_FROM_OPEN
    bass = (unused_below & (notes == spelling.bass_pitch_class)).any(axis=1)
    yield "open bass left out", bass & by_the_nut
    if len(spelling.pitch_classes) > _TWO_TONES:
        yield (
            "open string left out above",
            (unused_above & np.isin(notes, list(spelling.pitch_classes))).sum(axis=1) * by_the_nut,
        )


def _bass(sounds: Sounds, spelling: Spelling) -> Iterator[tuple[str, Column]]:
    lowest, next_lowest = (sounds.degrees[sounds.by_pitch[:, place] % 12] for place in (0, 1))
    rooted = (lowest == _ROOT) | (spelling.symbol.bass is not None)
    fifth = (lowest == _FIFTH) & ~rooted
    yield "fifth under the root", fifth & (next_lowest == _ROOT)
    yield "fifth in the bass", fifth & (next_lowest != _ROOT)
    yield "another tone in the bass", ~fifth & ~rooted


def _has_bass_strings(tuning: Tuning) -> bool:
    """Not where the lowest string is tuned above another (re-entrant): the strum has no bass to hear."""
    return tuning.open_midi[0] == min(tuning.open_midi)


def _doublings(sounds: Sounds, spelling: Spelling) -> Iterator[tuple[str, Column]]:
    extra = [np.maximum(0, (sounds.degree == number).sum(axis=1) - 1) for number in range(1, 9)]
    yield "root doubled", extra[_ROOT - 1]
    yield (
        "colour doubled",
        np.sum([extra[number - 1] for number in range(1, 9) if number not in _TRIAD], axis=0),
    )
    optional = spelling.pitch_classes - spelling.needed_pitch_classes
    colours = [tone for tone in optional if spelling.degree_of(tone) != "5"]
    heard = [((sounds.pitch_class == tone) & sounds.heard).any(axis=1) for tone in colours]
    yield "optional colour heard", np.sum([np.zeros_like(sounds.count), *heard], axis=0)


def _known(
    sounds: Sounds, spelling: Spelling, tuning: Tuning, repertoire: Repertoire
) -> Iterator[tuple[str, Column]]:
    frets = sounds.found.frets
    roots = repertoire.roots_in_use(frets, spelling, tuning)
    yield "layout not in use", ~repertoire.has_layout(sounds.degree, tuning)
    yield "form not in use", ~repertoire.has_form(frets, tuning)
    yield "grip not in use", roots == 0
    yield "grip in use at fewer roots", np.log2(_ROOTS / np.clip(roots, 1, _ROOTS))
    new = not repertoire.knows_grips_in(tuning)
    yield "fret along a neck without known grips", sounds.found.lowest_fret * new
    yield "open string on a neck without known grips", sounds.open.sum(axis=1) * new
    order = repertoire.order_taught(frets, spelling, tuning)
    yield "form taught", repertoire.is_moved(frets, spelling, tuning)
    yield "a string from what is taught", repertoire.is_altered(frets, spelling, tuning)
    yield "bass under what is taught", repertoire.stands_on_a_bass(frets, spelling, tuning)
    yield "taught first", order == 1
    yield "taught beside the first", order == 2
