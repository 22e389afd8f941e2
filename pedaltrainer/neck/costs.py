"""The table of costs: how hard a hand finds things, each with its reason.

One unit is about what one more finger costs. The costs of a fingering add up; so do those of a search and
of a route, which have their own sections.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Cost:
    """weight: cost of one unit of what is counted."""

    weight: float
    reason: str


FINGERING_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "finger": Cost(1.0, "each finger put down is one more to place"),
        "little finger": Cost(0.5, "the little finger is the weakest"),
        "thumb": Cost(4.0, "a thumb over the neck suits few hands and necks"),
        "barre": Cost(1.5, "a finger laid flat needs more pressure than a fingertip"),
        "barre string": Cost(0.3, "each string more under a barre needs its share of the pressure"),
        "barre not by the index": Cost(1.0, "only the index finger lies flat with ease"),
        "muted under a barre": Cost(1.5, "a muted string under a barre has to be kept from sounding"),
        "stretch": Cost(1.0, "fingers spread wider than they hang, by 10 mm"),
        "squeeze": Cost(0.5, "fingers closer than they hang, by 10 mm"),
    }
)

MOVE_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "own mover": Cost(1.0, "a finger that moves on its own is a movement to think of"),
        "block": Cost(1.0, "fingers that keep their pattern are one movement, however many they are"),
        "guide": Cost(0.4, "a finger that keeps to its string slides there and finds its place by touch"),
        "reach": Cost(0.3, "one bit of Fitts's index of difficulty, for a finger on its way"),
        "added": Cost(1.0, "a finger from the air is one to land, but can wait above its place"),
        "leaving": Cost(0.2, "a finger only has to let go"),
        "anchor": Cost(-0.3, "a finger that stays tells each finger that lands where it is"),
        "regrip": Cost(0.8, "with every finger in the air the hand has lost its place"),
        "barre landing": Cost(1.4, "laying a finger flat turns the hand and wants pressure at once"),
        "barre string": Cost(0.5, "each string more that a finger comes to lie on must sound at once"),
        "barre carried": Cost(0.6, "a finger that lies flat keeps its form along the neck, not its pressure"),
        "travel": Cost(1.2, "one bit of Fitts's index of difficulty, for the hand along the neck"),
    }
)
"""For a change between two shapes; the reasons are common practice, no published source, but for the law of
travel (see pairs.py)."""

ROUTE_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "place": Cost(0.6, "each better shape passed over sounds fuller or is known by more players"),
        "unusual": Cost(1.0, "another fingering than a shape's best has to be learnt beside it"),
    }
)
"""For a chord on a route, beside its fingering and the changes (common practice, no published source)."""

SEARCH_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "hold": Cost(0.3, "one unit of the fingering's cost: what is easier to hold is shown first"),
        "finger": Cost(0.0, "being tuned"),
        "fret spanned": Cost(0.6, "frets far apart spread the hand"),
        "fret along the neck": Cost(0.1, "low on the neck is where players look first"),
        "beyond the octave": Cost(0.8, "above the twelfth fret all comes again, and few reach it with ease"),
        "string skipped": Cost(2.3, "a silent string amid sounding ones is hard to keep silent"),
        "string skipped beside the bass": Cost(1.7, "the finger on the bass can damp the string beside it"),
        "string left out below": Cost(0.4, "each string left out takes from the sound and has to be missed"),
        "string left out above": Cost(1.2, "the strum ends on the high strings: they are the harder to miss"),
        "thin sound": Cost(1.1, "a string fewer than four is thin for a chord"),
        "open string": Cost(0.7, "being tuned"),
        "open string between pressed ones": Cost(0.3, "fingers beside it touch it"),
        "open string far from the hand": Cost(1.0, "it rings apart from the rest, and no such shape moves"),
        "fifth under the root": Cost(0.8, "the fifth below is the mildest of wrong basses"),
        "fifth in the bass": Cost(1.8, "without the root above it the fifth is heard as the root"),
        "another tone in the bass": Cost(2.2, "a third or a seventh in the bass is another chord to the ear"),
        "root doubled": Cost(0.3, "being tuned"),
        "fifth doubled": Cost(0.0, "being tuned"),
        "third doubled": Cost(0.0, "being tuned"),
        "other tone doubled": Cost(0.8, "colours doubled drown the rest"),
        "unison": Cost(0.0, "being tuned"),
        "optional fifth heard": Cost(0.2, "being tuned"),
        "optional colour heard": Cost(0.7, "a ninth below a thirteenth is one tone more than is written"),
        "layout not in use": Cost(2.3, "a layout that players move from chord to chord is known already"),
        "fret from the one asked for": Cost(3.0, "who names a fret wants to stay there"),
    }
)
