"""Counting the presses of one switch from its values, as the session will take them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pedaltrainer.pedals import kinds
from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.kinds import Side, SwitchProfile
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.switch import Debounced


@dataclass(frozen=True, slots=True)
class Presses:
    """The chosen switch heard as it will be heard from now on: when it went down, and whether it is."""

    profile: SwitchProfile
    side: Side
    contact: Debounced[SwitchEdge]
    downs_s: tuple[float, ...] = ()
    last_s: float | None = None

    def hear(self, one: Observation) -> Presses:
        side, moves = kinds.step(self.profile, one.switch, self.side, one.value)
        contact, downs_s = self.contact, self.downs_s
        for down in moves:
            contact, clean = contact.step(SwitchEdge(one.t_s, one.device, one.switch, down))
            downs_s += tuple(edge.t_s for edge in clean if edge.down)
        return replace(self, side=side, contact=contact, downs_s=downs_s, last_s=one.t_s)

    def settle(self, t_s: float) -> Presses:
        contact, clean = self.contact.settle(t_s)
        return replace(
            self, contact=contact, downs_s=self.downs_s + tuple(edge.t_s for edge in clean if edge.down)
        )

    def over(self, t_s: float, quiet_s: float) -> bool:
        return self.last_s is not None and not self.contact.down and t_s - self.last_s >= quiet_s


def listening(profile: SwitchProfile, before: Iterable[Observation]) -> Presses:
    """Ears for a switch that has said this before and rests where that left it."""
    side: Side = None
    for one in before:
        side, _ = kinds.step(profile, one.switch, side, one.value)
    return Presses(profile, side, Debounced(profile.debounce_s))
