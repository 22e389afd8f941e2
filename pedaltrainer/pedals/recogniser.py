"""The whole way from a raw edge to a control: debounce, foot, gesture, binding.

    feed(edge) / tick(t_s) -> (recogniser, outputs);  due_s: when to tick next

Immutable: each call returns a new recogniser. Outputs come in the order of
their times and do not depend on how often time is told.

Two kinds of output. A `SwitchEdge` for each clean way down of a switch that
can answer, at once: for the acknowledgement, and for the speak-up answer
style, which must not wait for a gesture. A `ControlGiven` when the gesture is
known; its pressed_s is the t_s of the SwitchEdge that began it. A press of the
pause key is no answer, so it gives only its control.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from pedaltrainer.pedals import gesture
from pedaltrainer.pedals.bindings import Binding, Bindings, default_bindings
from pedaltrainer.pedals.events import ControlGiven, GestureKind, SwitchEdge
from pedaltrainer.pedals.gesture import GestureSettings, GestureState
from pedaltrainer.pedals.switch import Debounced

Output = SwitchEdge | ControlGiven

TOGETHER_S = 0.03
"""Two switches of one foot going down this close together were one kick.

No foot lifts and lands again in 30 ms (common practice, no published source).
"""


def bound_gestures(binding: Binding) -> frozenset[GestureKind]:
    """The gestures that a switch can make: a hold only where it can be seen."""
    unseen = frozenset() if binding.profile.offers_hold else frozenset({GestureKind.HOLD})
    return frozenset(binding.controls) - unseen


@dataclass(frozen=True, slots=True)
class _Foot:
    """Switches that act as one. The one pressed last owns it: only its way up is the foot's.

    So a switch that never reports its way up cannot block the others.
    """

    binding: Binding
    gesture: GestureState
    owner: str | None = None
    pressed_s: float = float("-inf")

    def step(self, edge: SwitchEdge) -> tuple[_Foot, tuple[Output, ...]]:
        if not edge.down:
            if edge.switch != self.owner:
                return self, ()
            return replace(self, owner=None)._gesture(edge)
        held_by_another = self.owner is not None and self.owner != edge.switch
        if held_by_another and edge.t_s - self.pressed_s < TOGETHER_S:
            return replace(self, owner=edge.switch), ()
        foot, outputs = replace(self, owner=edge.switch, pressed_s=edge.t_s)._gesture(edge)
        return foot, ((edge,) if self.binding.answers else ()) + outputs

    def tick(self, t_s: float) -> tuple[_Foot, tuple[Output, ...]]:
        return self._gesture(t_s)

    def _gesture(self, event: SwitchEdge | float) -> tuple[_Foot, tuple[Output, ...]]:
        state, gestures = gesture.step(self.gesture, event)
        given = tuple(
            ControlGiven(g.t_s, g.pressed_s, self.binding.controls[g.kind], self.binding.judge)
            for g in gestures
        )
        return replace(self, gesture=state), given


@dataclass(frozen=True, slots=True)
class Recogniser:
    """Every switch seen so far. Hand it all edges that have arrived before telling it the time.

    (Told the time first, it may take a press whose way up still waits in a
    queue for a hold.)
    """

    bindings: Bindings = field(default_factory=default_bindings)
    settings: GestureSettings = field(default_factory=GestureSettings)
    _switches: Mapping[tuple[str, str], Debounced] = field(default_factory=dict)
    _feet: Mapping[tuple[str, str, str], _Foot] = field(default_factory=dict)

    @property
    def due_s(self) -> float | None:
        """When to call `tick` if nothing is fed before; None for never."""
        dues = (
            *(switch.due_s for switch in self._switches.values()),
            *(foot.gesture.due_s for foot in self._feet.values()),
        )
        return min((due_s for due_s in dues if due_s is not None), default=None)

    def feed(self, edge: SwitchEdge) -> tuple[Recogniser, tuple[Output, ...]]:
        """Take one raw edge. Switches that are not bound give nothing."""
        binding = self.bindings.find(edge.device, edge.switch)
        if binding is None or not binding.controls:
            return self, ()
        recogniser, before = self.tick(edge.t_s)
        key = (edge.device, edge.switch)
        switch = recogniser._switches.get(key) or Debounced(binding.profile.debounce_s)
        switch, clean = switch.step(edge)
        recogniser = replace(recogniser, _switches={**recogniser._switches, key: switch})
        recogniser, now = recogniser._take(clean)
        return recogniser, before + now

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
        return replace(
            self,
            _switches={key: switch for key, switch in self._switches.items() if key[0] != device},
            _feet={key: foot for key, foot in self._feet.items() if key[0] != device},
        )

    def _fall_due(self, due_s: float) -> tuple[Recogniser, tuple[Output, ...]]:
        feet = dict(self._feet)
        outputs: tuple[Output, ...] = ()
        for key, foot in self._feet.items():
            feet[key], more = foot.tick(due_s)
            outputs += more
        switches = dict(self._switches)
        clean: tuple[SwitchEdge, ...] = ()
        for name, switch in self._switches.items():
            switches[name], edges = switch.settle(due_s)
            clean += edges
        recogniser, more = replace(self, _switches=switches, _feet=feet)._take(clean)
        return recogniser, outputs + more

    def _take(self, clean: Iterable[SwitchEdge]) -> tuple[Recogniser, tuple[Output, ...]]:
        feet = dict(self._feet)
        outputs: tuple[Output, ...] = ()
        for edge in clean:
            binding = self.bindings.find(edge.device, edge.switch)
            if binding is None:
                continue
            key = (edge.device, *binding.foot_key)
            settings = binding.windows or self.settings
            foot = feet.get(key) or _Foot(binding, GestureState(bound_gestures(binding), settings))
            feet[key], more = foot.step(edge)
            outputs += more
        return replace(self, _feet=feet), outputs
