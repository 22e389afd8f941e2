"""Which fingers hold given frets, best first.

Fingers are 1 (index) to 4 (little finger), 5 is the thumb over the top of the neck; 0 is none. Strings run
from the lowest (0) to the highest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise, product

from pedaltrainer.errors import InputError
from pedaltrainer.neck.costs import FINGERING_COSTS
from pedaltrainer.neck.geometry import USUAL_NECK, NeckSize
from pedaltrainer.neck.tuning import STANDARD_TUNING, Tuning

FEWEST_STRINGS, MOST_STRINGS = 4, 8
FINGERS = (1, 2, 3, 4)

REACH_MM = {(1, 2): 75.0, (1, 3): 105.0, (1, 4): 118.0, (2, 3): 72.0, (2, 4): 100.0, (3, 4): 72.0}
"""The widest that two fingers spread along the neck (common practice, no published source)."""
HANG_MM = 24.0
"""From one finger's middle to the next one's when the hand hangs at ease (from memory)."""


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


@dataclass(frozen=True, slots=True)
class _Press:
    finger: int
    fret: int
    strings: tuple[int, ...]


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
    return _ranked(tuple(frets), tuning.capo, neck)[:limit]


def _check(frets: Sequence[int | None], tuning: Tuning) -> None:
    if not FEWEST_STRINGS <= len(frets) <= MOST_STRINGS:
        raise InputError(
            f"{len(frets)} strings will not do; give a fret for each of {FEWEST_STRINGS} to {MOST_STRINGS}."
        )
    for fret in frets:
        if fret is not None and (
            isinstance(fret, bool) or not isinstance(fret, int) or not 0 <= fret <= tuning.highest_fret
        ):
            raise InputError(f"There is no fret {fret!r} here; give 0 to {tuning.highest_fret}.")


@lru_cache(maxsize=1 << 16)
def _ranked(frets: tuple[int | None, ...], capo: int, neck: NeckSize) -> tuple[Fingering, ...]:
    found = [
        Fingering(_fingers(presses, len(frets)), _cost(presses, frets, capo, neck), _barres(presses))
        for presses in _holds(frets)
        if _within_reach(presses, capo, neck)
    ]
    return tuple(sorted(found, key=lambda fingering: (fingering.cost, fingering.fingers)))


def _holds(frets: tuple[int | None, ...]) -> Iterator[tuple[_Press, ...]]:
    """Every way to hold the frets with the fingers in anatomical order."""
    places = sorted({fret for fret in frets if fret})
    by_fret = [tuple(_parts(_strings_at(frets, fret), fret, frets)) for fret in places]
    for parts in product(*by_fret):
        groups = [(fret, strings) for fret, part in zip(places, parts, strict=True) for strings in part]
        for chosen in combinations(FINGERS, len(groups)):
            yield tuple(
                _Press(finger, fret, strings) for finger, (fret, strings) in zip(chosen, groups, strict=True)
            )


def _strings_at(frets: tuple[int | None, ...], fret: int) -> tuple[int, ...]:
    return tuple(string for string, held in enumerate(frets) if held == fret)


def _parts(
    strings: tuple[int, ...], fret: int, frets: tuple[int | None, ...]
) -> Iterator[tuple[tuple[int, ...], ...]]:
    """The ways to part the strings at one fret into runs that one finger each can hold."""
    if not strings:
        yield ()
    for size in range(1, len(strings) + 1):
        run = strings[:size]
        under = frets[run[0] : run[-1] + 1]
        if any(held is not None and held < fret for held in under):
            return
        for rest in _parts(strings[size:], fret, frets):
            if len(rest) < len(FINGERS):
                yield (run, *rest)


def _within_reach(presses: tuple[_Press, ...], capo: int, neck: NeckSize) -> bool:
    return all(
        _along_mm(low.fret + capo, high.fret + capo, neck) <= REACH_MM[low.finger, high.finger]
        for low, high in combinations(presses, 2)
    )


@lru_cache(maxsize=1 << 14)
def _along_mm(low: int, high: int, neck: NeckSize) -> float:
    return neck.finger_mm(0, high)[0] - neck.finger_mm(0, low)[0]


def _cost(presses: tuple[_Press, ...], frets: tuple[int | None, ...], capo: int, neck: NeckSize) -> float:
    return sum(FINGERING_COSTS[name].weight * amount for name, amount in _counted(presses, frets, capo, neck))


def _counted(
    presses: tuple[_Press, ...], frets: tuple[int | None, ...], capo: int, neck: NeckSize
) -> Iterator[tuple[str, float]]:
    for press in presses:
        yield "finger", 1
        if press.finger == 4:
            yield "little finger", 1
        if len(press.strings) > 1:
            yield "barre", 1
            yield "barre string", len(press.strings)
            if press.finger != 1:
                yield "barre not by the index", 1
            under = frets[press.strings[0] : press.strings[-1]]
            yield "muted under a barre", sum(held is None for held in under)
    for low, high in pairwise(presses):
        along = _along_mm(low.fret + capo, high.fret + capo, neck)
        spare = along - HANG_MM * (high.finger - low.finger)
        yield ("stretch" if spare > 0 else "squeeze"), abs(spare) / 10


def _fingers(presses: tuple[_Press, ...], strings: int) -> tuple[int, ...]:
    held = {string: press.finger for press in presses for string in press.strings}
    return tuple(held.get(string, 0) for string in range(strings))


def _barres(presses: tuple[_Press, ...]) -> tuple[Barre, ...]:
    return tuple(
        Barre(press.finger, press.fret, press.strings[0], press.strings[-1])
        for press in presses
        if len(press.strings) > 1
    )
