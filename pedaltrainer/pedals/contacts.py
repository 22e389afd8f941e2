"""From what a switch says to what the foot on it does: here, and only here, an edge gets its rule.

    (device, switch, value) -> BoundEdge

A switch without a rule, or with one that gives no control, makes no edge; so
a flood of clock, wheels and knobs stops here. A pedal that streams its
position (70, 75, 80 ...) repeats a side it already has: that is no edge.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from pedaltrainer.pedals import kinds
from pedaltrainer.pedals.bindings import Binding, BoundEdge, fits
from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.kinds import TOP_VALUE, Side, SwitchKind

RuleOf = Callable[[str, str], Binding | None]
"""The rule that holds now for a switch of a device, as `Bindings.find`; called from the device's thread."""

_HELD_BY_A_HIGH_VALUE = frozenset({SwitchKind.MOMENTARY, SwitchKind.CONTINUOUS})


@dataclass(frozen=True, slots=True)
class Contacts:
    """Switches and which side of its thresholds each was last.

    sides: (device, switch) -> the rule under which the side was taken, and
    the side. Under another rule it says nothing: a switch that was taught anew
    begins anew.
    """

    rule_of: RuleOf
    sides: Mapping[tuple[str, str], tuple[Binding, Side]] = field(default_factory=dict)

    def hear(
        self, t_s: float, device: str, switch: str, value: int, strikes: bool = False
    ) -> tuple[Contacts, tuple[BoundEdge, ...]]:
        """Take one value (0-127) of a switch; return the new state and the foot's edges, all at t_s.

        One edge; two, down and up or the other way round, for a press without
        a way up. strikes: the value is a new stroke, not the same one going on.
        """
        rule = self.rule_of(device, switch)
        if rule is None or not rule.controls:
            return self, ()
        key = (device, switch)
        under, before = self.sides.get(key, (rule, None))
        if under is not rule:
            before = None
        side, downs = kinds.step(rule.profile, switch, before, value)
        if not downs and strikes and kinds.is_down(rule.profile, side):
            # Its way up was lost: what is struck anew was let go before.
            downs = (False, True)
        heard = self if side == before else Contacts(self.rule_of, {**self.sides, key: (rule, side)})
        return heard, tuple(BoundEdge(t_s, device, switch, down, rule) for down in downs)

    def move(self, edge: SwitchEdge) -> tuple[Contacts, tuple[BoundEdge, ...]]:
        """As `hear`, for a switch that reports edges by itself (keys, buttons, hats).

        A reversed or latching box may pose as one of these too.
        """
        value = TOP_VALUE if edge.down else 0
        return self.hear(edge.t_s, edge.device, edge.switch, value, strikes=edge.down)

    def let_go(self, t_s: float, device: str, switches: str) -> tuple[Contacts, tuple[BoundEdge, ...]]:
        """Release the switches whose name fits and that are held by a high value.

        A foot's own switch box (reversed, latching) keeps its own counsel.
        """
        held = {
            key: rule
            for key, (rule, side) in self.sides.items()
            if side
            and rule.profile.kind in _HELD_BY_A_HIGH_VALUE
            and key[0] == device
            and fits(switches, key[1])
        }
        if not held:
            return self, ()
        released = {key: (rule, False) for key, rule in held.items()}
        edges = tuple(BoundEdge(t_s, *key, False, rule) for key, rule in held.items())
        return Contacts(self.rule_of, {**self.sides, **released}), edges
