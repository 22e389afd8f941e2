"""Debounce: one press of a switch is one press, and it counts from its first contact.

A contact that closes chatters for some milliseconds. The first edge passes at
once; for `window_s` after a clean edge further edges are taken for chatter.
When the window ends, the level the contact then has is made true, so a switch
let go inside the window does not stay down for ever.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from pedaltrainer.pedals.events import SwitchEdge

WINDOW_S = 0.012

Edge = TypeVar("Edge", bound=SwitchEdge)


@dataclass(frozen=True, slots=True)
class Debounced(Generic[Edge]):
    """One switch, cleaned: `down` is the clean level, `raw` the last edge received.

    opens_s is when the chatter window of the last clean edge ends. What edges
    carry beside their time goes through unchanged.
    """

    window_s: float = WINDOW_S
    down: bool = False
    raw: Edge | None = None
    opens_s: float = float("-inf")

    @property
    def due_s(self) -> float | None:
        """When `settle` has something to say, None while level and contact agree."""
        return self.opens_s if self.raw is not None and self.raw.down != self.down else None

    def settle(self, t_s: float) -> tuple[Debounced[Edge], tuple[Edge, ...]]:
        """Let time pass to t_s (seconds): make the contact's level true if it is due.

        The edge carries the due time, whenever it is asked for.
        """
        due_s = self.due_s
        if self.raw is None or due_s is None or due_s > t_s:
            return self, ()
        return self._pass(self.raw, due_s)

    def step(self, edge: Edge) -> tuple[Debounced[Edge], tuple[Edge, ...]]:
        """Take one raw edge; return the new state and the clean edges, at most three.

        A second "down" in a row outside the window means that the "up"
        between them was lost on its way: the press still counts, so both
        edges come out.
        """
        settled, clean = self.settle(edge.t_s)
        heard = Debounced(settled.window_s, settled.down, edge, settled.opens_s)
        if edge.t_s < settled.opens_s:
            return heard, clean
        if edge.down != settled.down:
            passed, now = heard._pass(edge, edge.t_s)
            return passed, clean + now
        if edge.down:
            passed, now = heard._pass(edge, edge.t_s)
            return passed, (*clean, replace(edge, down=False), *now)
        return heard, clean

    def _pass(self, edge: Edge, t_s: float) -> tuple[Debounced[Edge], tuple[Edge, ...]]:
        return Debounced(self.window_s, edge.down, edge, t_s + self.window_s), (replace(edge, t_s=t_s),)
