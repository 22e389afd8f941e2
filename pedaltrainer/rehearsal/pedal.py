"""A pedal pressed by a made-up player: a source of edges like any other, feeding the same queue."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable

from pedaltrainer.pedals.bindings import ONE_SWITCH, Binding, BoundEdge
from pedaltrainer.rehearsal.player import MadeUpPlayer, PlannedEdge, presses
from pedaltrainer.session.state import State

DEVICE = "made-up player"
RULE = Binding(DEVICE, "foot switch", ONE_SWITCH, judge="rehearsal")

Moment = tuple[object, float, int, int]


def edge_at(planned: PlannedEdge, t_s: float) -> BoundEdge:
    """A planned edge, arrived at t_s."""
    return BoundEdge(t_s, DEVICE, RULE.switch, planned.down, RULE)


def moment_of(state: State) -> Moment:
    """What tells one moment of a session from the next, to a player who acts once in each."""
    return (state.phase, state.since_s, state.serial, len(state.answers))


class VirtualPedal:
    """Presses in real time what `rehearsal.presses` plans, on a thread of its own.

    t_s_of turns heard seconds into the clock of presses. A press carries the
    moment it was meant for, which is when the made-up foot came down; the
    thread only delivers it no earlier.
    """

    def __init__(
        self,
        player: MadeUpPlayer,
        t_s_of: Callable[[float], float],
        on_edge: Callable[[BoundEdge], None],
    ) -> None:
        self._player = player
        self._t_s_of = t_s_of
        self._on_edge = on_edge
        self._moment: Moment | None = None
        self._agenda: list[PlannedEdge] = []
        self._changed = threading.Condition()
        self._closing = False
        self._thread = threading.Thread(target=self._press, name="made-up player", daemon=True)
        self._thread.start()

    def see(self, state: State) -> None:
        """Tell the player where the session stands; only a new moment makes it act."""
        moment = moment_of(state)
        if moment != self._moment:
            self._moment = moment
            self._add(presses(self._player, state))

    def close(self) -> None:
        with self._changed:
            self._closing = True
            self._changed.notify()
        self._thread.join()

    def _add(self, planned: Iterable[PlannedEdge]) -> None:
        with self._changed:
            self._agenda = sorted([*self._agenda, *planned], key=lambda edge: edge.heard_s)
            self._changed.notify()

    def _press(self) -> None:
        with self._changed:
            while not self._closing:
                if not self._agenda:
                    self._changed.wait()
                    continue
                t_s = self._t_s_of(self._agenda[0].heard_s)
                wait_s = t_s - time.perf_counter()
                if wait_s > 0:
                    self._changed.wait(wait_s)
                    continue
                self._on_edge(edge_at(self._agenda.pop(0), t_s))
