"""Who is meant by a name: from the log's renames to the players there are. Pure.

What was played keeps the name it was played under. A rename is a row: from `player`, shown as `name`, at a
time. Of several for one name the last wins, and a name that was renamed in turn is followed; so it depends
only on which rows there are, and two logs join by union.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple


class PlayerChange(NamedTuple):
    """A name given (kind "rename"), a player put away ("archive") or taken out again ("return").

    For the last two name is the player's name itself.
    """

    id: str
    player: str
    kind: str
    name: str
    at_utc: str


def _age(change: PlayerChange) -> tuple[str, str]:
    return change.at_utc, change.id


@dataclass(frozen=True, slots=True)
class Names:
    """The last rename of each name that was renamed, and every archive and return, oldest first."""

    renames: dict[str, PlayerChange]
    put_away: tuple[PlayerChange, ...] = ()

    @classmethod
    def of(cls, changes: Iterable[PlayerChange]) -> Names:
        in_order = sorted(changes, key=_age)
        renames = {change.player: change for change in in_order if change.kind == "rename"}
        return cls(renames, tuple(change for change in in_order if change.kind != "rename"))

    def shown(self, name: str) -> str:
        """The name that a player is shown by, from any name they had."""
        followed: list[PlayerChange] = []
        while (change := self.renames.get(name)) is not None and change.name != name:
            if change in followed:
                # Two machines renamed to and fro without knowing of each other: the last one wins.
                return max(followed[followed.index(change) :], key=_age).name
            followed.append(change)
            name = change.name
        return name

    def all_of(self, name: str) -> tuple[str, ...]:
        """Every name that is shown as this one is, the shown name first."""
        shown = self.shown(name)
        return (shown, *(each for each in self.renames if each != shown and self.shown(each) == shown))

    def is_archived(self, name: str) -> bool:
        """Whether a player is hidden from lists."""
        shown = self.shown(name)
        kinds = [change.kind for change in self.put_away if self.shown(change.player) == shown]
        return bool(kinds) and kinds[-1] == "archive"


NO_NAMES = Names({})
"""Nobody was renamed: names as they were written."""
