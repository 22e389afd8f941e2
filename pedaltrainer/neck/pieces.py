"""Smaller pieces of a change: no travel, the shared fingers first, a known shape inside a new one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pedaltrainer.errors import InputError
from pedaltrainer.neck.geometry import USUAL_NECK, NeckSize
from pedaltrainer.neck.moves import Deed, check_same_tuning, move
from pedaltrainer.neck.pairs import FINGERS, held_by
from pedaltrainer.neck.shapes import Shape


def landing_order(shape: Shape) -> tuple[int, ...]:
    """The fingers in the order in which they are best put down: flat fingers first, then from the lowest
    string up (common practice, no published source)."""
    held = {finger: held_by(shape, finger)[0] for finger in FINGERS}
    return tuple(
        sorted(
            (finger for finger in FINGERS if held[finger]),
            key=lambda finger: (len(held[finger]) == 1, held[finger][0], finger),
        )
    )


def level(here: Shape, there: Shape) -> Shape:
    """The second shape moved along the neck to the first one's place, with the same fingers.

    Raises InputError when both lie at the same place already, when a string left open would not move along,
    or when the shape would run off the neck.
    """
    check_same_tuning(here, there)
    if not here.position or not there.position:
        raise InputError("A shape of open strings has no place on the neck; take two shapes with fingers.")
    frets = here.position - there.position
    if not frets:
        raise InputError(
            f"Both shapes lie at fret {here.position} already; practise the change as it is, "
            "there is no travel to take out."
        )
    if 0 in there.frets:
        raise InputError(
            f"The second shape has an open string, which stays where it is when the fingers move to fret "
            f"{here.position}; choose a shape of it without open strings."
        )
    moved = _along(there, frets)
    while moved.position != here.position:
        # The index finger's place, when it would be behind the nut, counted as fret 1: one more to go.
        moved = _along(moved, here.position - moved.position)
    highest = there.tuning.highest_fret
    if any(fret is not None and not 1 <= fret <= highest for fret in moved.frets):
        raise InputError(
            f"Moved to fret {here.position} the second shape would run off the neck, which has frets 1 to "
            f"{highest}; choose another shape of either chord."
        )
    return moved


def barred_at(shape: Shape, fret: int) -> Shape:
    """A barred shape moved along the neck, its index finger to a fret.

    Raises InputError for a shape without a barre of the index finger, or with an open string.
    """
    if shape.fingers.count(1) < 2 or 0 in shape.frets:
        raise InputError("this shape has no barre to move along the neck; take a barred one, such as F.")
    return _along(shape, fret - shape.position)


def _along(shape: Shape, by: int) -> Shape:
    return replace(shape, frets=tuple(None if fret is None else fret + by for fret in shape.frets))


@dataclass(frozen=True, slots=True)
class SharedStep:
    """One step of the shared drill: a change between two partial shapes. added: the finger that joins in
    this step, None in the first. A chord may be whole before the last step."""

    here: Shape
    there: Shape
    added: int | None


def shared(here: Shape, there: Shape, neck: NeckSize = USUAL_NECK) -> tuple[SharedStep, ...]:
    """The change with only the fingers that keep their pattern or stay, then with the others one by one in
    landing order of the second shape, up to the whole change.

    Strings without a finger yet are not played, unless they are open in the whole shape.
    Raises InputError when the two shapes share nothing.
    """
    change = move(here, there, neck)
    placed = set(change.pattern) | set(change.doing(Deed.STAYS, Deed.BLOCK))
    # A barre to be laid is no finger to hold on to; where there is no other, its tip shows the place.
    placed = placed or set(change.doing(Deed.ROLLS, Deed.UNROLLS))
    if not placed:
        raise InputError(
            "No finger stays and no two keep their pattern in this change; practise it whole, or choose "
            "another fingering of either chord."
        )
    steps = [SharedStep(only(here, placed), only(there, placed), None)]
    for finger in dict.fromkeys(landing_order(there) + landing_order(here)):
        if finger not in placed:
            placed.add(finger)
            steps.append(SharedStep(only(here, placed), only(there, placed), finger))
    return tuple(steps)


def only(shape: Shape, fingers: set[int]) -> Shape:
    """The part of a shape that these fingers hold, with its open strings."""
    keeps = [not fret or finger in fingers for fret, finger in zip(shape.frets, shape.fingers, strict=True)]
    return replace(
        shape,
        frets=tuple(fret if keep else None for fret, keep in zip(shape.frets, keeps, strict=True)),
        fingers=tuple(finger if keep else 0 for finger, keep in zip(shape.fingers, keeps, strict=True)),
    )


@dataclass(frozen=True, slots=True)
class Find:
    """A known shape inside a new one.

    strings, frets: how far the known shape's fingers are moved, towards the higher strings and up the neck.
    fingers: (finger in the known shape, finger in the new one) for each that is explained.
    added: the new shape's other fingers. laid_flat: explained fingers that hold more strings in the new
    shape than in the known one.
    """

    symbol: str
    known: Shape
    strings: int
    frets: int
    fingers: tuple[tuple[int, int], ...]
    added: tuple[int, ...]
    laid_flat: tuple[int, ...]

    @property
    def explained(self) -> int:
        """How many of the new shape's fingers hold what the known shape's fingers hold."""
        return len({now for _, now in self.fingers})

    @property
    def same_fingers(self) -> bool:
        return all(before == now for before, now in self.fingers)


def found_inside(new: Shape, known: Mapping[str, Shape], fewest_fingers: int = 2) -> tuple[Find, ...]:
    """The known shapes (by symbol) whose fretted strings, all moved alike, are part of a new shape.

    Best first: most of the new shape's fingers explained (so fewest added), then fewest laid flat, then the
    same fingers as before, then the least move in strings and frets. Open strings of the known shape do not
    count: what the fingers know is how they lie to one another. Finds that explain fewer than
    fewest_fingers (at least 1) are left out, and so is the new shape itself.
    """
    finds = (
        find
        for symbol, shape in known.items()
        if any(shape.fingers) and (shape.frets, shape.fingers) != (new.frets, new.fingers)
        for find in _finds(new, symbol, shape)
    )
    return tuple(sorted((find for find in finds if find.explained >= fewest_fingers), key=_goodness))


def _goodness(find: Find) -> tuple[object, ...]:
    return (
        -find.explained,
        len(find.laid_flat),
        not find.same_fingers,
        abs(find.strings) + abs(find.frets),
        find.symbol,
        find.strings,
        find.frets,
    )


def _finds(new: Shape, symbol: str, known: Shape) -> Iterator[Find]:
    there, pattern = _fretted(new), _fretted(known)
    lowest = min(pattern)
    for string, (fret, _) in there.items():
        strings, frets = string - lowest, fret - pattern[lowest][0]
        if all(
            at + strings in there and there[at + strings][0] == known_fret + frets
            for at, (known_fret, _) in pattern.items()
        ):
            before = {at + strings: finger for at, (_, finger) in pattern.items()}
            yield _find(symbol, known, strings, frets, before, {at: held[1] for at, held in there.items()})


def _find(
    symbol: str, known: Shape, strings: int, frets: int, before: Mapping[int, int], now: Mapping[int, int]
) -> Find:
    """before, now: the known shape's fingers by the string they are moved to, and the new shape's."""
    explained = {now[string] for string in before}
    flat = {finger for string, finger in now.items() if string not in before and finger in explained}
    return Find(
        symbol,
        known,
        strings,
        frets,
        tuple(sorted({(finger, now[string]) for string, finger in before.items()})),
        tuple(sorted(set(now.values()) - explained)),
        tuple(sorted(flat)),
    )


def _fretted(shape: Shape) -> dict[int, tuple[int, int]]:
    """(fret, finger) by string, for the strings that a finger presses."""
    return {
        string: (fret, finger)
        for string, (fret, finger) in enumerate(zip(shape.frets, shape.fingers, strict=True))
        if fret
    }


def worth_telling(find: Find) -> bool:
    """Is it a help: the same fingers lie as they are used to, elsewhere or with one finger's work more?"""
    new = len(find.added) + len(find.laid_flat)
    elsewhere = bool(find.strings or find.frets)
    return find.same_fingers and len(find.fingers) >= 2 and new <= 1 and (elsewhere or new == 1)
