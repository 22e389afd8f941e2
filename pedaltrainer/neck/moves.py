"""What the fingers do in a change from one shape to another."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from pedaltrainer.errors import InputError
from pedaltrainer.neck.geometry import USUAL_NECK, NeckSize
from pedaltrainer.neck.pairs import FINGERS, Bools, Burden, Changes, compare, held_by, read_hands
from pedaltrainer.neck.shapes import Shape


class Deed(StrEnum):
    """What one finger does in a change."""

    STAYS = "stays"
    """Same fret and the same strings: a fingertip, or one that lies flat over no string more."""
    ROLLS = "rolls flat"
    """Same fret, and comes to lie over more strings than it held or over others."""
    UNROLLS = "unrolls"
    """Same fret, and of the strings that it lay over its tip holds one."""
    SLIDES = "slides"
    """Same string, another fret: it may keep in touch with the string."""
    BLOCK = "block"
    """Moves together with another finger, both keeping their offsets: one movement, not two."""
    LIFTS = "lifts"
    """Lifted off one place and put down at another, on its own."""
    LEAVES = "leaves"
    """Pressed in the first shape only."""
    IS_ADDED = "is added"
    """Pressed in the second shape only."""


@dataclass(frozen=True, slots=True)
class FingerMove:
    """One finger's part of a change. Places are (strings held, fret); empty strings = not on the neck.

    distance_mm is from the nearest string held before to the nearest held after; 0 for a finger that
    leaves or is added. lands_flat: it comes to lie over more strings, or over others, than it did.
    """

    finger: int
    deed: Deed
    from_strings: tuple[int, ...]
    from_fret: int
    to_strings: tuple[int, ...]
    to_fret: int
    distance_mm: float
    lands_flat: bool = False


@dataclass(frozen=True, slots=True)
class CostPart:
    """One part of a change's cost, and the fingers that it is about (none: the whole hand)."""

    burden: Burden
    cost: float
    fingers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class HandMove:
    """A whole change. pattern: the fingers whose offsets to one another are the same in both shapes, with
    the (strings, frets) by which they all move; empty when fewer than two do."""

    here: Shape
    there: Shape
    fingers: tuple[FingerMove, ...]
    pattern: frozenset[int]
    pattern_shift: tuple[int, int]
    along_frets: int
    """The hand's move along the neck, in frets: the difference of the positions; 0 when either shape is all
    open strings."""
    along_mm: float
    travel_mm: float
    """The sum of the fingers' distances."""
    parts: tuple[CostPart, ...]
    """What the cost is made of; parts of 0 are left out."""

    @property
    def cost(self) -> float:
        """How hard the change is, in the units of the table of costs: what routes add up."""
        return sum(part.cost for part in self.parts)

    def doing(self, *deeds: Deed) -> tuple[int, ...]:
        """The fingers that do one of these."""
        return tuple(finger.finger for finger in self.fingers if finger.deed in deeds)


def move(here: Shape, there: Shape, neck: NeckSize = USUAL_NECK) -> HandMove:
    """What the hand does from one shape to the next.

    Raises InputError when the shapes are not in the same tuning and capo.
    """
    check_same_tuning(here, there)
    changes = compare(read_hands([here], neck), read_hands([there], neck))
    pattern, shift = _pattern(changes)
    return HandMove(
        here,
        there,
        tuple(_finger_moves(here, there, changes)),
        pattern,
        shift,
        there.position - here.position if here.position and there.position else 0,
        float(changes.along_mm[0]),
        float(changes.distance_mm.sum()),
        _parts(changes),
    )


def check_same_tuning(here: Shape, there: Shape) -> None:
    """Raises InputError when two shapes are not in the same tuning and capo."""
    if here.tuning != there.tuning:
        raise InputError("The two shapes are in different tunings; give both in the same tuning and capo.")


def _finger_moves(here: Shape, there: Shape, changes: Changes) -> list[FingerMove]:
    deeds = _deeds(changes)
    return [
        FingerMove(
            finger,
            deeds[finger],
            *held_by(here, finger),
            *held_by(there, finger),
            float(changes.distance_mm[row, 0]),
            bool(changes.lands_flat[row, 0]),
        )
        for row, finger in enumerate(FINGERS)
        if finger in deeds
    ]


def _deeds(changes: Changes) -> dict[int, Deed]:
    doers = {
        Deed.STAYS: changes.stays,
        Deed.ROLLS: changes.rolls,
        Deed.UNROLLS: changes.unrolls,
        Deed.SLIDES: changes.slides,
        Deed.BLOCK: changes.block,
        Deed.LIFTS: changes.lifts,
        Deed.LEAVES: changes.leaves,
        Deed.IS_ADDED: changes.added,
    }
    return {finger: deed for deed, who in doers.items() for finger in _who(who)}


def _who(column: Bools) -> tuple[int, ...]:
    return tuple(FINGERS[row] for row in np.flatnonzero(column))


def _pattern(changes: Changes) -> tuple[frozenset[int], tuple[int, int]]:
    """The larger of the fingers that stay and the block; the former when they are equal."""
    staying, block = _who(changes.stays), _who(changes.block)
    if len(staying) >= max(2, len(block)):
        return frozenset(staying), (0, 0)
    strings, frets = changes.block_shift[:, 0]
    return frozenset(block), (int(strings), int(frets))


def _parts(changes: Changes) -> tuple[CostPart, ...]:
    about = {
        Burden.OWN_MOVERS: changes.lifts,
        Burden.BLOCK: changes.block,
        Burden.GUIDES: changes.slides,
        Burden.ADDED: changes.added,
        Burden.LEAVING: changes.leaves,
        Burden.ANCHOR: changes.stays,
        Burden.REGRIP: np.zeros_like(changes.stays),
        Burden.BARRE_LANDING: changes.lands_flat,
        Burden.TRAVEL: np.zeros_like(changes.stays),
    }
    return tuple(
        CostPart(burden, float(cost), _who(about[burden]))
        for burden, cost in zip(Burden, changes.burdens[:, 0], strict=True)
        if cost
    )
