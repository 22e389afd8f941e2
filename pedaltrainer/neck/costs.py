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
