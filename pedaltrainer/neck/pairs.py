"""Many changes at once: what every finger does from one list of shapes to another, and what it costs.

Arrays have a row a finger (index, middle, ring, little, thumb) and a column a change. A finger that holds
more than one string lies flat, over all strings between its outer ones.

Travel is hard by the law of P. Fitts, "The information capacity of the human motor system in controlling
the amplitude of movement", J. Exp. Psychol. 47 (1954): a movement over a distance A to a target of width W
has the difficulty log2(2 A / W) bits; none below 0. For the hand along the neck the target is the fret it
goes to, give or take one fret, since fingers reach so far without it: W is two frets. For a fingertip the
target is one fret long and one string gap wide, and A / W is taken along both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from pedaltrainer.neck.costs import MOVE_COSTS
from pedaltrainer.neck.geometry import NeckSize
from pedaltrainer.neck.shapes import Shape

Ints = npt.NDArray[np.int32]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

FINGERS = (1, 2, 3, 4, 5)


class Burden(StrEnum):
    """What a change's cost is made of. An anchor is a gain: its cost is below 0."""

    OWN_MOVERS = "own movers"
    BLOCK = "block"
    GUIDES = "guides"
    ADDED = "added"
    LEAVING = "leaving"
    ANCHOR = "anchor"
    REGRIP = "regrip"
    BARRE_LANDING = "barre landing"
    TRAVEL = "travel"


@dataclass(frozen=True, slots=True)
class Hands:
    """Shapes as arrays, a row a finger and a column a shape.

    on: does the finger press; low, high: its outer strings; x_mm, width_mm, gap_mm: where along the neck it
    presses, the length of its fret, the string gap there; position, position_mm, position_width_mm: the same
    for the index finger's place, one a shape.
    """

    on: Bools
    low: Ints
    high: Ints
    fret: Ints
    x_mm: Floats
    width_mm: Floats
    gap_mm: Floats
    position: Ints
    position_mm: Floats
    position_width_mm: Floats

    def take(self, columns: npt.NDArray[np.intp]) -> Hands:
        """The shapes at these columns, as often as each is named."""
        return Hands(*(getattr(self, field.name)[..., columns] for field in fields(self)))


def read_hands(shapes: Sequence[Shape], neck: NeckSize) -> Hands:
    """Shapes as arrays; frets are counted from the capo, millimetres from the nut."""
    holds = np.array([_holds(shape) for shape in shapes], dtype=np.int32).reshape(-1, len(FINGERS), 3)
    low, high, fret = np.ascontiguousarray(holds.T)
    capos = np.array([shape.tuning.capo for shape in shapes], dtype=np.int32)
    positions = np.array([shape.position for shape in shapes], dtype=np.int32)
    x_mm, width_mm, gap_mm = _measures(neck, fret + capos)
    position_mm, position_width_mm, _ = _measures(neck, positions + capos)
    return Hands(fret > 0, low, high, fret, x_mm, width_mm, gap_mm, positions, position_mm, position_width_mm)


@lru_cache(maxsize=1 << 15)
def _holds(shape: Shape) -> tuple[tuple[int, int, int], ...]:
    """(lowest string, highest string, fret) a finger; fret 0 where it does not press."""
    return tuple(
        (strings[0], strings[-1], fret) if strings else (0, 0, 0)
        for strings, fret in (held_by(shape, finger) for finger in FINGERS)
    )


def held_by(shape: Shape, finger: int) -> tuple[tuple[int, ...], int]:
    """The strings a finger holds, lowest first, and their fret; no strings and 0 when it does not press.

    A fingering that gives one finger two frets is a slip; the lower fret is taken.
    """
    frets = {
        string: fret
        for string, (fret, by) in enumerate(zip(shape.frets, shape.fingers, strict=True))
        if fret and by == finger
    }
    lowest = min(frets.values(), default=0)
    return tuple(string for string, fret in frets.items() if fret == lowest), lowest


def _measures(neck: NeckSize, frets: Ints) -> tuple[Floats, Floats, Floats]:
    """Where a fingertip presses, the fret's length and the string gap there, all in mm."""
    table = np.array(_measure_table(neck))
    return table[frets, 0], table[frets, 1], table[frets, 2]


@lru_cache(maxsize=64)
def _measure_table(neck: NeckSize) -> tuple[tuple[float, float, float], ...]:
    rows = [(0.0, 1.0, neck.nut_gap_mm)]
    for fret in range(1, 64):
        x, gap = neck.finger_mm(1, fret)
        rows.append((x, neck.fret_mm(fret) - neck.fret_mm(fret - 1), gap))
    return tuple(rows)


@dataclass(frozen=True, slots=True)
class Changes:
    """What each finger does, a row a finger and a column a change.

    Of stays, rolls, unrolls, block, slides, lifts, leaves and added one is true for a finger that presses at
    all.
    block_shift: the block's strings and frets, a row each; along_mm: the hand's way; burdens: a row each, in
    the order of Burden.
    """

    stays: Bools
    rolls: Bools
    unrolls: Bools
    block: Bools
    slides: Bools
    lifts: Bools
    leaves: Bools
    added: Bools
    lands_flat: Bools
    block_shift: Ints
    distance_mm: Floats
    along_mm: Floats
    burdens: Floats

    @property
    def cost(self) -> Floats:
        total: Floats = self.burdens.sum(axis=0)
        return total


def compare(here: Hands, there: Hands) -> Changes:
    """The changes from each column of one list of shapes to the same column of the other."""
    both = here.on & there.on
    touching = both & (here.low <= there.high) & (there.low <= here.high)
    in_touch = touching & (here.fret == there.fret)
    rolls = in_touch & (there.high > there.low) & ((there.low < here.low) | (there.high > here.high))
    unrolls = in_touch & (here.high > here.low) & (there.high == there.low)
    stays = in_touch & ~rolls & ~unrolls
    block, block_shift = _largest_block(here, there, both & ~in_touch)
    slides = touching & ~in_touch & ~block
    lifts = both & ~touching & ~block
    along_mm = np.where((here.position > 0) & (there.position > 0), there.position_mm - here.position_mm, 0.0)
    hand_bits = _fitts_bits(np.abs(along_mm) / (2 * there.position_width_mm))
    distance_mm, finger_bits = _ways(here, there, both, np.where(hand_bits > 0, along_mm, 0.0))
    leaves, added = here.on & ~there.on, there.on & ~here.on
    barre_cost = _barre_landings(here, there, in_touch)
    anchored = _any_finger(stays)
    guided = block_shift[0] == 0
    costs = {
        Burden.OWN_MOVERS: lifts.sum(axis=0) * _weight("own mover") + _reach(lifts, finger_bits),
        Burden.BLOCK: _any_finger(block)
        * (np.where(guided, _weight("guide"), _weight("block")) + _block_reach(block, finger_bits)),
        Burden.GUIDES: slides.sum(axis=0) * _weight("guide") + _reach(slides, finger_bits),
        Burden.ADDED: added.sum(axis=0) * _weight("added"),
        Burden.LEAVING: leaves.sum(axis=0) * _weight("leaving"),
        Burden.ANCHOR: anchored * (lifts | added).sum(axis=0) * _weight("anchor"),
        Burden.REGRIP: _all_in_the_air(here, there, in_touch | slides | (block & guided)) * _weight("regrip"),
        Burden.BARRE_LANDING: barre_cost.sum(axis=0),
        Burden.TRAVEL: hand_bits * _weight("travel"),
    }
    return Changes(
        stays, rolls, unrolls, block, slides, lifts, leaves, added, barre_cost > 0, block_shift, distance_mm,
        along_mm,
        np.stack([costs[burden] for burden in Burden]),
    )  # fmt: skip


def _largest_block(here: Hands, there: Hands, moved: Bools) -> tuple[Bools, Ints]:
    """The most fingers, at least two, that move by the same strings and frets, and that move.

    Both ends of a flat finger are tried: it goes along with a block when either end does. Of equal blocks
    the one that moves least along the neck is taken, then least across.
    """
    moved = moved & ((here.low == here.high) == (there.low == there.high))
    frets = there.fret - here.fret
    ends = np.stack([there.low - here.low, there.high - here.high])
    tried_strings, tried_frets = ends.reshape(-1, frets.shape[1]), np.concatenate([frets, frets])
    members = (ends[0] == tried_strings[:, None]) | (ends[1] == tried_strings[:, None])
    members &= (frets == tried_frets[:, None]) & moved
    size = members.sum(axis=1, dtype=np.int32)
    best = np.argmax(size * 10_000 - np.abs(tried_frets) * 100 - np.abs(tried_strings), axis=0)
    changes = np.arange(len(best))
    enough = size[best, changes] >= 2
    shift = np.stack([tried_strings[best, changes], tried_frets[best, changes]])
    return members[best, :, changes].T & enough, shift * enough


def _ways(here: Hands, there: Hands, both: Bools, hand_mm: Floats) -> tuple[Floats, Floats]:
    """How far each finger goes in mm, and how hard that is in bits once the hand has moved."""
    along = there.x_mm - here.x_mm
    across = np.maximum(
        0.0,
        np.maximum(
            there.low * there.gap_mm - here.high * here.gap_mm,
            here.low * here.gap_mm - there.high * there.gap_mm,
        ),
    )
    aims = np.hypot((along - hand_mm) / there.width_mm, across / there.gap_mm)
    return np.where(both, np.hypot(along, across), 0.0), np.where(both, _fitts_bits(aims), 0.0)


def _fitts_bits(distance_in_widths: Floats) -> Floats:
    bits: Floats = np.log2(np.maximum(2 * distance_in_widths, 1.0))
    return bits


def _barre_landings(here: Hands, there: Hands, in_touch: Bools) -> Floats:
    """What each finger that comes to lie flat costs: less when it lay flat before, nothing when it stays."""
    flat_here, flat_there = here.high > here.low, there.high > there.low
    strings_here = np.where(here.on, here.high - here.low + 1, 1)
    more_strings = np.maximum(there.high - there.low + 1 - strings_here, 0)
    landing = (
        ~flat_here * _weight("barre landing")
        + (flat_here & ~in_touch) * _weight("barre carried")
        + more_strings * _weight("barre string")
    )
    return np.where(there.on & flat_there, landing, 0.0)


def _all_in_the_air(here: Hands, there: Hands, keeping_touch: Bools) -> Bools:
    lost: Bools = _any_finger(here.on) & _any_finger(there.on) & ~_any_finger(keeping_touch)
    return lost


def _any_finger(who: Bools) -> Bools:
    found: Bools = np.logical_or.reduce(who, axis=0)
    return found


def _reach(who: Bools, bits: Floats) -> Floats:
    total: Floats = (who * bits).sum(axis=0) * _weight("reach")
    return total


def _block_reach(block: Bools, bits: Floats) -> Floats:
    farthest: Floats = (block * bits).max(axis=0) * _weight("reach")
    return farthest


def _weight(name: str) -> float:
    return MOVE_COSTS[name].weight
