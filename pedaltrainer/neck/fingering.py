"""Which fingers hold given frets, best first.

Fingers are 1 (index) to 4 (little finger), 5 is the thumb over the top of the neck; 0 is none. Strings run
from the lowest (0) to the highest. What makes a hold hard is counted in `troubles` and weighed by the table
of costs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, combinations, product

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import FEWEST_STRINGS, MOST_STRINGS, STANDARD_TUNING, Tuning
from pedaltrainer.neck.costs import FINGERING_COSTS
from pedaltrainer.neck.geometry import USUAL_NECK, NeckSize
from pedaltrainer.neck.shapes import THUMB
from pedaltrainer.neck.troubles import (
    FOUR_FINGERS,
    INDEX,
    LITTLE,
    MIDDLE,
    RING,
    Grip,
    Hold,
    Press,
    Trouble,
    grip_of,
    grip_troubles,
    hold_troubles,
)

REACH_MM = {
    (INDEX, MIDDLE): 75.0,
    (INDEX, RING): 105.0,
    (INDEX, LITTLE): 110.0,
    (MIDDLE, RING): 72.0,
    (MIDDLE, LITTLE): 100.0,
    (RING, LITTLE): 72.0,
}
"""The widest that two fingers spread along the neck: two frets at the nut for neighbours, four frets from
the fourth on for the whole hand. Wide enough for every grip of the open data; the rest common practice, no
published source."""
THUMB_REACH_MM = 40.0
"""The thumb comes over the neck within a fret of the first finger (common practice, no published source)."""
MOST_STRINGS_FOR_A_THUMB = 6

_ROUNDING = 1e-9
_WEIGHTS = {name: cost.weight for name, cost in FINGERING_COSTS.items()}


@dataclass(frozen=True, slots=True)
class Barre:
    """One finger that holds several strings at a fret, and lies over all between them."""

    finger: int
    fret: int
    first_string: int
    last_string: int


@dataclass(frozen=True, slots=True)
class Fingering:
    """fingers: one entry a string, 0 where no finger presses. cost: in units of the table of costs, to be
    compared between any two fret lists."""

    fingers: tuple[int, ...]
    cost: float
    barres: tuple[Barre, ...]


def fingerings(
    frets: Sequence[int | None],
    tuning: Tuning = STANDARD_TUNING,
    neck: NeckSize = USUAL_NECK,
    limit: int | None = None,
) -> tuple[Fingering, ...]:
    """The fingerings that hold these frets, best first; none when no hand can.

    frets: one entry a string from the lowest, None not played, 0 open; counted from the capo. Of the tuning
    only the capo counts: it moves the hand along the neck. limit: no more than so many.
    Raises InputError for what is no list of frets.
    """
    _check(frets, tuning)
    if limit == 1:
        return _best(tuple(frets), tuning.capo, neck)
    return _ranked(tuple(frets), tuning.capo, neck)[:limit]


def costs_of(
    frets: Sequence[int | None],
    fingers: Sequence[int],
    tuning: Tuning = STANDARD_TUNING,
    neck: NeckSize = USUAL_NECK,
) -> dict[str, float] | None:
    """What one fingering costs, by the names of the table of costs; None when no hand can hold it."""
    _check(frets, tuning)
    for hold in _holds(grip_of(tuple(frets), tuning.capo, neck)):
        if _fingers(hold) == tuple(fingers):
            return _bill(hold)
    return None


def _check(frets: Sequence[int | None], tuning: Tuning) -> None:
    if not FEWEST_STRINGS <= len(frets) <= MOST_STRINGS:
        raise InputError(
            f"A list of {len(frets)} frets will not do; give one for each of {FEWEST_STRINGS} to "
            f"{MOST_STRINGS} strings."
        )
    for fret in frets:
        if fret is not None and (
            isinstance(fret, bool) or not isinstance(fret, int) or not 0 <= fret <= tuning.highest_fret
        ):
            raise InputError(
                f"There is no fret {fret!r} here; give a whole number from 0 to {tuning.highest_fret}."
            )


@lru_cache(maxsize=1 << 15)
def _ranked(frets: tuple[int | None, ...], capo: int, neck: NeckSize) -> tuple[Fingering, ...]:
    grip = grip_of(frets, capo, neck)
    of_the_grip = _cost(grip_troubles(grip))
    found = [
        Fingering(_fingers(hold), of_the_grip + _cost(hold_troubles(hold)), _barres(hold))
        for hold in _holds(grip)
    ]
    return tuple(sorted(found, key=lambda fingering: (fingering.cost, fingering.fingers)))


@lru_cache(maxsize=1 << 15)
def _best(frets: tuple[int | None, ...], capo: int, neck: NeckSize) -> tuple[Fingering, ...]:
    """The first of `_ranked`, without counting to the end what is dearer already: no trouble costs less than
    nothing."""
    grip = grip_of(frets, capo, neck)
    of_the_grip = _cost(grip_troubles(grip))
    best: tuple[float, tuple[int, ...], Hold] | None = None
    least = math.inf
    for holds, from_start in ((_holds_without_thumb, 0.0), (_holds_with_thumb, _WEIGHTS["thumb"])):
        if of_the_grip + from_start > least:
            break
        for hold in holds(grip):
            cost = of_the_grip + _cost(hold_troubles(hold), least - of_the_grip + _ROUNDING)
            if cost <= least and (best is None or (cost, _fingers(hold)) < best[:2]):
                best = cost, _fingers(hold), hold
                least = cost
    return () if best is None else (Fingering(best[1], best[0], _barres(best[2])),)


def _holds(grip: Grip) -> Iterator[Hold]:
    """Every way to hold the frets, the thumb's last."""
    yield from _holds_without_thumb(grip)
    yield from _holds_with_thumb(grip)


def _holds_without_thumb(grip: Grip) -> Iterator[Hold]:
    for presses in _in_order(grip.frets):
        if _within_reach(presses, grip):
            yield Hold(grip, presses, None)


def _holds_with_thumb(grip: Grip) -> Iterator[Hold]:
    frets = grip.frets
    if frets[0] and len(frets) <= MOST_STRINGS_FOR_A_THUMB:
        thumb = Press(THUMB, frets[0], (0,))
        for presses in _in_order((None, *frets[1:])):
            if presses and _beside(thumb, presses[0], grip) and _within_reach(presses, grip):
                yield Hold(grip, presses, thumb)


def _in_order(frets: tuple[int | None, ...]) -> Iterator[tuple[Press, ...]]:
    """The ways to press the frets with the fingers in anatomical order: a higher finger at a higher fret
    or, in one fret, on a higher string. Only index and middle finger may swap in their common fret."""
    places = sorted({fret for fret in frets if fret})
    by_fret = [tuple(_parts(_strings_at(frets, fret), fret, frets)) for fret in places]
    for parts in product(*by_fret):
        groups = [(fret, strings) for fret, part in zip(places, parts, strict=True) for strings in part]
        for fingers in combinations(FOUR_FINGERS, len(groups)):
            presses = tuple(
                Press(finger, fret, strings) for finger, (fret, strings) in zip(fingers, groups, strict=True)
            )
            yield presses
            if fingers[:2] == (INDEX, MIDDLE):
                yield from _swapped(*presses)


def _swapped(index: Press, middle: Press, *others: Press) -> Iterator[tuple[Press, ...]]:
    if index.fret == middle.fret and not index.flat and not middle.flat:
        yield index._replace(strings=middle.strings), middle._replace(strings=index.strings), *others


def _strings_at(frets: tuple[int | None, ...], fret: int) -> tuple[int, ...]:
    return tuple(string for string, held in enumerate(frets) if held == fret)


def _parts(
    strings: tuple[int, ...], fret: int, frets: tuple[int | None, ...]
) -> Iterator[tuple[tuple[int, ...], ...]]:
    """The ways to part the strings at one fret into runs that one finger each can hold: over no string that
    sounds lower."""
    if not strings:
        yield ()
    for size in range(1, len(strings) + 1):
        run = strings[:size]
        if any(held is not None and held < fret for held in frets[run[0] : run[-1]]):
            return
        for rest in _parts(strings[size:], fret, frets):
            if len(rest) < len(FOUR_FINGERS):
                yield (run, *rest)


def _within_reach(presses: tuple[Press, ...], grip: Grip) -> bool:
    return all(
        grip.span_mm(low.fret, high.fret) <= REACH_MM[low.finger, high.finger]
        for low, high in combinations(presses, 2)
    )


def _beside(thumb: Press, first: Press, grip: Grip) -> bool:
    return abs(grip.span_mm(thumb.fret, first.fret)) <= THUMB_REACH_MM


def _cost(troubles: Iterable[Trouble], most: float = math.inf) -> float:
    """What troubles cost; where that is more than most, perhaps only as far as that."""
    cost = 0.0
    for name, amount in troubles:
        cost += _WEIGHTS[name] * amount
        if cost > most:
            break
    return cost


def _bill(hold: Hold) -> dict[str, float]:
    bill: dict[str, float] = {}
    for name, amount in chain(grip_troubles(hold.grip), hold_troubles(hold)):
        if amount:
            bill[name] = bill.get(name, 0.0) + _WEIGHTS[name] * amount
    return bill


def _presses(hold: Hold) -> tuple[Press, ...]:
    return hold.presses if hold.thumb is None else (*hold.presses, hold.thumb)


def _fingers(hold: Hold) -> tuple[int, ...]:
    held = {string: press.finger for press in _presses(hold) for string in press.strings}
    return tuple(held.get(string, 0) for string in range(len(hold.grip.frets)))


def _barres(hold: Hold) -> tuple[Barre, ...]:
    return tuple(
        Barre(press.finger, press.fret, press.strings[0], press.strings[-1])
        for press in hold.presses
        if press.flat
    )
