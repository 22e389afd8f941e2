"""Which devices there are: names that outlive a replug. Pure.

Two alike devices have the same name once the system's numbering is taken off.
They are told apart by the order in which they are first seen: the second is
"Foot (2)". One that comes back takes the name it had if its port has the very
name it had, else the first free name of its kind. So when both were pulled out
and the system numbers them anew, the order decides: they may change names.
Where the system gives both the same name, as PortMidi does, only one is seen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Place:
    """A device, here or away.

    device: the name its edges carry. plain: that name without a suffix.
    port: the system's name of the port it has now, or had last.
    """

    device: str
    plain: str
    port: str
    here: bool = True


@dataclass(frozen=True, slots=True)
class Roster:
    """Every device ever seen in this session, in the order in which they came."""

    places: tuple[Place, ...] = ()

    def step(self, ports: Iterable[tuple[str, str]]) -> tuple[Roster, tuple[Place, ...], tuple[Place, ...]]:
        """Look at the ports there are now, as (system's name, plain name).

        Returns the new roster, the places that went and those that came.
        """
        now = dict(ports)
        kept = [replace(place, here=place.here and place.port in now) for place in self.places]
        gone = tuple(
            place for place, after in zip(self.places, kept, strict=True) if place.here and not after.here
        )
        held = {place.port for place in kept if place.here}
        new = [port for port in now if port not in held]
        same = {place.port for place in kept if not place.here}
        came = []
        for port in sorted(new, key=lambda port: port not in same):
            index = _free_place(kept, port, now[port])
            if index is None:
                kept.append(Place(_new_name(kept, now[port]), now[port], port))
                index = len(kept) - 1
            else:
                kept[index] = replace(kept[index], port=port, here=True)
            came.append(kept[index])
        return Roster(tuple(kept)), gone, tuple(came)

    def emptied(self) -> Roster:
        """Every device is away, as when the whole MIDI system stopped."""
        return Roster(tuple(replace(place, here=False) for place in self.places))


def _free_place(places: list[Place], port: str, plain: str) -> int | None:
    free = [index for index, place in enumerate(places) if not place.here and place.plain == plain]
    return next((index for index in free if places[index].port == port), next(iter(free), None))


def _new_name(places: list[Place], plain: str) -> str:
    taken = {place.device for place in places}
    name, number = plain, 1
    while name in taken:
        number += 1
        name = f"{plain} ({number})"
    return name
