"""Gestures: tap, double tap and hold out of the clean edges of one switch.

What is bound decides what must be waited for:

| bound                | tap is known                       | waits at most  |
|----------------------|------------------------------------|----------------|
| tap                  | on the way down                    | nothing        |
| tap, hold            | on the way up                      | hold_s         |
| tap, double tap      | double_tap_s after the way down    | double_tap_s   |
| tap, double, hold    | the later of the two above         | hold_s         |

A double tap is known at its second way down, a hold as soon as the switch has
been down for hold_s (not when it is let go).

The double-tap window runs from the first way *down*, not from the release:
a foot taps in a rhythm of downs, how long it rests on the switch between them
says nothing about it; and the price of binding a double tap is then one known
figure, the same for a short and a lingering tap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pedaltrainer.pedals.events import Gesture, GestureKind, SwitchEdge

TAP, DOUBLE, HOLD = GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD


@dataclass(frozen=True, slots=True)
class GestureSettings:
    """The two windows, in seconds. Raises ValueError unless both are positive."""

    double_tap_s: float = 0.30
    hold_s: float = 0.60

    def __post_init__(self) -> None:
        if not (self.double_tap_s > 0 and self.hold_s > 0):
            raise ValueError(f"gesture windows must be positive, not {self.double_tap_s} and {self.hold_s} s")


@dataclass(frozen=True, slots=True)
class GestureState:
    """Where one switch is between two gestures.

    pressed_s: the way down of a press whose gesture is not yet known.
    down: the switch is down (with pressed_s None: its gesture is known already).
    now_s: the latest time seen; time never runs backwards, so an edge that
    comes late is taken as if it came now.
    """

    bound: frozenset[GestureKind]
    settings: GestureSettings = GestureSettings()
    pressed_s: float | None = None
    down: bool = False
    now_s: float = float("-inf")

    @property
    def due_s(self) -> float | None:
        """When the next gesture will be known if no edge comes; None for never."""
        if self.pressed_s is None:
            return None
        if self.down and HOLD in self.bound:
            return self.pressed_s + self.settings.hold_s
        return self.pressed_s + self.settings.double_tap_s


def step(state: GestureState, event: SwitchEdge | float) -> tuple[GestureState, tuple[Gesture, ...]]:
    """Take one clean edge, or let time pass to `event` seconds.

    The result does not depend on how often time is told: a gesture that falls
    due before an edge is known, and dated, at its due time either way.
    """
    if not isinstance(event, SwitchEdge):
        return _let_time_pass(state, max(event, state.now_s))
    state, before = _let_time_pass(state, max(event.t_s, state.now_s))
    state, gestures = _down(state, event.t_s) if event.down else _up(state)
    return state, before + gestures


def _let_time_pass(state: GestureState, t_s: float) -> tuple[GestureState, tuple[Gesture, ...]]:
    due_s = state.due_s
    passed = replace(state, now_s=t_s)
    if due_s is None or due_s > t_s:
        return passed, ()
    return _known(passed, HOLD if state.down and HOLD in state.bound else TAP, due_s)


def _down(state: GestureState, t_s: float) -> tuple[GestureState, tuple[Gesture, ...]]:
    if state.down:
        # The way up was lost: what was pressed is let go first, so that this press counts too.
        state, before = _up(state)
        state, gestures = _down(state, t_s)
        return state, before + gestures
    pressed = replace(state, down=True)
    if state.pressed_s is not None:
        return _known(pressed, DOUBLE, state.now_s)
    pressed = replace(pressed, pressed_s=t_s)
    return (pressed, ()) if state.bound & {DOUBLE, HOLD} else _known(pressed, TAP, state.now_s)


def _up(state: GestureState) -> tuple[GestureState, tuple[Gesture, ...]]:
    if not state.down:
        return state, ()
    released = replace(state, down=False)
    due_s = released.due_s
    if due_s is None or (DOUBLE in state.bound and state.now_s < due_s):
        return released, ()
    return _known(released, TAP, state.now_s)


def _known(state: GestureState, kind: GestureKind, t_s: float) -> tuple[GestureState, tuple[Gesture, ...]]:
    assert state.pressed_s is not None
    gesture = Gesture(t_s, state.pressed_s, kind)
    return replace(state, pressed_s=None), (gesture,) if kind in state.bound else ()
