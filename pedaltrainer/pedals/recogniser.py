"""From a foot's edges to controls: debounce, gesture, and what the edge's rule says of them.

    feed(edge) / tick(t_s) -> (recogniser, outputs);  due_s: when to tick next

Immutable: each call returns a new recogniser. Outputs come in the order of
their times and do not depend on how often time is told.

Two kinds of output. A `BoundEdge` for each clean way down that begins a
gesture, at once: for the acknowledgement, for what the stage showed then, and
for the speak-up answer style, which must not wait for a gesture. A
`ControlGiven` when the gesture is known; its pressed_s is the t_s of the
BoundEdge that began it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from pedaltrainer.pedals import gesture
from pedaltrainer.pedals.bindings import Binding, BoundEdge
from pedaltrainer.pedals.events import ControlGiven, GestureKind
from pedaltrainer.pedals.gesture import GestureState
from pedaltrainer.pedals.switch import Debounced

Output = BoundEdge | ControlGiven

TOGETHER_S = 0.03
"""Two switches of one foot going down this close together were one kick.

No foot lifts and lands again in 30 ms (common practice, no published source).
"""


@dataclass(frozen=True, slots=True)
class _Foot:
    """Switches that act as one. The one pressed last owns it: only its way up is the foot's.

    So a switch that never reports its way up cannot block the others. rule is
    that of the press whose gesture is not yet known, or was known last.
    """

    rule: Binding
    gesture: GestureState
    switches: Mapping[str, Debounced[BoundEdge]] = field(default_factory=dict)
    owner: str | None = None
    pressed_s: float = float("-inf")
    in_list: bool = False

    @classmethod
    def of(cls, rule: Binding) -> _Foot:
        return cls(rule, GestureState(rule.gestures, rule.windows))

    @property
    def due_s(self) -> float | None:
        dues = (self.gesture.due_s, *(switch.due_s for switch in self.switches.values()))
        return min((due_s for due_s in dues if due_s is not None), default=None)

    def feed(self, edge: BoundEdge) -> tuple[_Foot, tuple[Output, ...]]:
        switch = self.switches.get(edge.switch) or Debounced(edge.rule.profile.debounce_s)
        switch, clean = switch.step(edge)
        return replace(self, switches={**self.switches, edge.switch: switch})._take(clean)

    def fall_due(self, due_s: float) -> tuple[_Foot, tuple[Output, ...]]:
        foot, outputs = self._gesture(due_s)
        switches = dict(foot.switches)
        clean: tuple[BoundEdge, ...] = ()
        for name, switch in foot.switches.items():
            switches[name], edges = switch.settle(due_s)
            clean += edges
        foot, more = replace(foot, switches=switches)._take(clean)
        return foot, outputs + more

    def _take(self, clean: tuple[BoundEdge, ...]) -> tuple[_Foot, tuple[Output, ...]]:
        foot = self
        outputs: tuple[Output, ...] = ()
        for edge in clean:
            foot, more = foot._move(edge)
            outputs += more
        return foot, outputs

    def _move(self, edge: BoundEdge) -> tuple[_Foot, tuple[Output, ...]]:
        if not edge.down:
            if edge.switch != self.owner:
                return self, ()
            return replace(self, owner=None)._gesture(edge)
        held_by_another = self.owner is not None and self.owner != edge.switch
        if held_by_another and edge.t_s - self.pressed_s < TOGETHER_S:
            return replace(self, owner=edge.switch), ()
        foot = self if self.gesture.pressed_s is not None else self._under(edge.rule)
        foot, outputs = replace(foot, owner=edge.switch, pressed_s=edge.t_s)._gesture(edge)
        # The second way down of a double tap belongs to the press that began with the first.
        begun = foot.gesture.pressed_s is not None or any(one.pressed_s == edge.t_s for one in outputs)
        return foot, ((edge,) if begun else ()) + outputs

    def _under(self, rule: Binding) -> _Foot:
        """The same foot, its next press to be told by this rule."""
        bound = rule.gestures - {GestureKind.DOUBLE} if self.in_list else rule.gestures
        if rule is self.rule and bound == self.gesture.bound:
            return self
        return replace(self, rule=rule, gesture=replace(self.gesture, bound=bound, settings=rule.windows))

    def _gesture(self, event: BoundEdge | float) -> tuple[_Foot, tuple[ControlGiven, ...]]:
        state, gestures = gesture.step(self.gesture, event)
        given = tuple(
            ControlGiven(g.t_s, g.pressed_s, self.rule.controls[g.kind], self.rule.judge) for g in gestures
        )
        return replace(self, gesture=state), given


@dataclass(frozen=True, slots=True)
class Recogniser:
    """Every foot felt so far. Hand it all edges that have arrived before telling it the time.

    (Told the time first, it may take a press whose way up still waits in a
    queue for a hold.)
    """

    _feet: Mapping[tuple[str, str, str], _Foot] = field(default_factory=dict)
    in_list: bool = False
    """A list is shown: presses that begin now wait for no second tap, two quick taps are two."""

    @property
    def due_s(self) -> float | None:
        """When to call `tick` if nothing is fed before; None for never."""
        dues = (foot.due_s for foot in self._feet.values())
        return min((due_s for due_s in dues if due_s is not None), default=None)

    def feed(self, edge: BoundEdge) -> tuple[Recogniser, tuple[Output, ...]]:
        """Take one edge of a switch that gives controls."""
        recogniser, before = self.tick(edge.t_s)
        key = (edge.device, *edge.rule.foot_key)
        foot = replace(recogniser._feet.get(key) or _Foot.of(edge.rule), in_list=self.in_list)
        foot, now = foot.feed(edge)
        return replace(recogniser, _feet={**recogniser._feet, key: foot}), before + now

    def tick(self, t_s: float) -> tuple[Recogniser, tuple[Output, ...]]:
        """Let time pass to t_s, seconds on the one clock."""
        recogniser = self
        outputs: tuple[Output, ...] = ()
        while (due_s := recogniser.due_s) is not None and due_s <= t_s:
            recogniser, more = recogniser._fall_due(due_s)
            outputs += more
        return recogniser, outputs

    def forget(self, device: str) -> Recogniser:
        """Drop all that is going on at a device that vanished: a press half done gives nothing."""
        return replace(self, _feet={key: foot for key, foot in self._feet.items() if key[0] != device})

    def _fall_due(self, due_s: float) -> tuple[Recogniser, tuple[Output, ...]]:
        feet = dict(self._feet)
        outputs: tuple[Output, ...] = ()
        for key, foot in self._feet.items():
            feet[key], more = foot.fall_due(due_s)
            outputs += more
        return replace(self, _feet=feet), outputs
