"""From a chord symbol to playable shapes, best first.

Everything a hand could hold is listed (candidates.py), what speaks for and against each is counted
(columns.py) and added up by the table of costs, and the best are given fingers (fingering.py), whose cost
is added too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.errors import InputError
from pedaltrainer.neck.candidates import UNPLAYED, Candidates, candidates
from pedaltrainer.neck.chords.spelling import Spelling, spell
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning, standard_tuning
from pedaltrainer.neck.columns import amounts_of
from pedaltrainer.neck.costs import FIRST_COSTS, SEARCH_COSTS
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.geometry import HAND_SPAN_MM, USUAL_NECK, NeckSize, check_hand_span
from pedaltrainer.neck.repertoire import Repertoire, usual_repertoire
from pedaltrainer.neck.shapes import Shape

PROMISING = 36
"""How many candidates are given fingers: the best before fingers are counted. More bring no published
position more into the first twelve (tests/benchmarks/shapes.py)."""

LIKELY_FIRST = 8
"""How many are given fingers to find the first."""

_FIRST_ANYWHERE = {"fret along the neck", "taught first"}
_OCTAVE = 12
_SAME_PLACE = 1
"""Frets by which two shapes may lie apart and still be at one place for the hand."""


@dataclass(frozen=True, slots=True)
class FoundShape:
    """A shape with its cost in units of the table of costs, better shapes at the same place counted in.
    left_out: the degrees of the chord that do not
    sound, such as ("5",); never a needed one."""

    shape: Shape
    cost: float
    left_out: tuple[str, ...]


def search(
    symbol: str,
    tuning: Tuning = STANDARD_TUNING,
    *,
    near: int | None = None,
    neck: NeckSize = USUAL_NECK,
    span_mm: float = HAND_SPAN_MM,
    repertoire: Repertoire | None = None,
) -> tuple[FoundShape, ...]:
    """As `neck.shapes_for`, with what each shape costs and leaves out; costs never fall along the list.

    repertoire: the grips that players hold already, the usual ones by default.
    """
    return _search(symbol.strip(), tuning, near, neck, span_mm, repertoire or usual_repertoire())


@lru_cache(maxsize=4096)
def _search(
    symbol: str, tuning: Tuning, near: int | None, neck: NeckSize, span_mm: float, repertoire: Repertoire
) -> tuple[FoundShape, ...]:
    spelling = spell(symbol)
    _check(tuning, near, span_mm)
    places = min(max(_OCTAVE, near or 0), tuning.highest_fret)
    needed = needed_in(spelling, tuning)
    found = candidates(spelling.pitch_classes, needed, tuning, neck, span_mm, places)
    found = _with_right_bass(found, spelling, tuning)
    costs, first_costs = _costs(found, spelling, tuning, repertoire)
    away = np.zeros(len(costs)) if near is None else np.abs(found.lowest_fret - near)
    order = np.argsort(costs + SEARCH_COSTS["fret from the one asked for"].weight * away, kind="stable")
    for start in range(0, len(order), PROMISING):
        chosen = order[start : start + PROMISING]
        shapes = _with_fingers(found.where(chosen), costs[chosen], spelling, tuning, near, neck)
        if shapes and near is None:
            likely = np.argsort(first_costs, kind="stable")[:LIKELY_FIRST]
            firsts = _with_fingers(found.where(likely), first_costs[likely], spelling, tuning, near, neck)
            # Those that would be first may be too wide for any hand.
            return tuple(_in_front(firsts[0], shapes)) if firsts else shapes
        if shapes:
            return shapes
    raise InputError(
        f"{symbol} cannot be played in the tuning {tuning.name}: no hand holds all its notes at once; "
        "try another tuning, a wider hand span or a simpler chord."
    )


def needed_in(spelling: Spelling, tuning: Tuning) -> frozenset[int]:
    """The pitch classes that must sound: with more tones than strings the root need not, which others play
    then (common practice, no published source)."""
    needed = spelling.needed_pitch_classes
    if len(spelling.tones) <= tuning.strings or spelling.symbol.bass is not None:
        return needed
    return needed - {spelling.root_pitch_class}


def _check(tuning: Tuning, near: int | None, span_mm: float) -> None:
    standard_tuning(tuning.strings, tuning.capo)  # refuses a neck or a capo that is not known here
    check_hand_span(span_mm)
    if near is not None and not 0 <= near <= tuning.highest_fret:
        raise InputError(f"There is no fret {near} to be near to; give 0 to {tuning.highest_fret}.")


def _with_right_bass(found: Candidates, spelling: Spelling, tuning: Tuning) -> Candidates:
    """Only those whose lowest note is the bass that is written; all when none is written."""
    if spelling.symbol.bass is None:
        return found
    opened = np.array([tuning.note(string, 0) for string in range(tuning.strings)])
    notes = np.where(found.frets == UNPLAYED, np.iinfo(np.int16).max, found.frets + opened)
    return found.where(notes.min(axis=1) % 12 == spelling.bass_pitch_class)


def _costs(
    found: Candidates, spelling: Spelling, tuning: Tuning, repertoire: Repertoire
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What each candidate costs among the others, and as the first of all."""
    costs, first = np.zeros(len(found.frets)), np.zeros(len(found.frets))
    as_a_guitar = repertoire.knows_grips_in(tuning)
    for name, amounts in amounts_of(found, spelling, tuning, repertoire):
        if name in SEARCH_COSTS:
            costs += SEARCH_COSTS[name].weight * amounts
        if name in FIRST_COSTS and (as_a_guitar or name in _FIRST_ANYWHERE):
            first += FIRST_COSTS[name].weight * amounts
    return costs, costs + first


def _in_front(first: FoundShape, shapes: Sequence[FoundShape]) -> Iterator[FoundShape]:
    """The one that is meant, then the others in their order; it costs no more than they do."""
    others = [one for one in shapes if one.shape != first.shape]
    yield replace(first, cost=min(one.cost for one in shapes))
    yield from others


def _with_fingers(
    found: Candidates,
    costs: Sequence[float] | NDArray[np.float64],
    spelling: Spelling,
    tuning: Tuning,
    near: int | None,
    neck: NeckSize,
) -> tuple[FoundShape, ...]:
    shapes = []
    for row, cost in zip(found.frets.tolist(), costs, strict=True):
        frets = tuple(None if fret == UNPLAYED else fret for fret in row)
        held = fingerings(frets, tuning, neck, 1)
        if not held:
            continue
        shape = Shape(frets, held[0].fingers, tuning)
        away = 0 if near is None else abs(shape.position - near)
        total = (
            float(cost)
            + SEARCH_COSTS["hold"].weight * held[0].cost
            + SEARCH_COSTS["fret from the one asked for"].weight * away
        )
        shapes.append(FoundShape(shape, total, _left_out(shape, spelling)))
    return tuple(_spread(shapes) if near is None else sorted(shapes, key=lambda one: one.cost))


def _spread(shapes: Sequence[FoundShape]) -> Iterator[FoundShape]:
    """Best first, each the dearer for every better one at its place, so that other places get their turn.

    Greedy, as in maximal marginal relevance (Carbonell and Goldstein, 1998).
    """
    costs = np.array([one.cost for one in shapes])
    places = np.array([one.shape.position for one in shapes])
    for _ in shapes:
        best = int(costs.argmin())
        yield replace(shapes[best], cost=float(costs[best]))
        costs[np.abs(places - places[best]) <= _SAME_PLACE] += SEARCH_COSTS[
            "better shape at the same place"
        ].weight
        costs[best] = np.inf


def _left_out(shape: Shape, spelling: Spelling) -> tuple[str, ...]:
    heard = {note % 12 for note in shape.midi}
    return tuple(
        tone.degree
        for tone in spelling.tones
        if (spelling.root_pitch_class + tone.semitones) % 12 not in heard
    )
