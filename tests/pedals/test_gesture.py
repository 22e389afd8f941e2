"""Taps, double taps and holds: what is waited for, and that no press is lost or invented."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from pedaltrainer.pedals.events import Gesture, GestureKind, SwitchEdge
from pedaltrainer.pedals.gesture import GestureSettings, GestureState, step

TAP, DOUBLE, HOLD = GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD
ALL = frozenset({TAP, DOUBLE, HOLD})
EVERY_BINDING = [
    frozenset(kinds) for size in range(1, 4) for kinds in itertools.combinations((TAP, DOUBLE, HOLD), size)
]
Event = SwitchEdge | float


def time_of(event: Event) -> float:
    return event.t_s if isinstance(event, SwitchEdge) else event


def down(t_s: float) -> SwitchEdge:
    return SwitchEdge(t_s, "pedal", "switch", True)


def up(t_s: float) -> SwitchEdge:
    return SwitchEdge(t_s, "pedal", "switch", False)


def seen(bound: frozenset[GestureKind], *events: Event) -> list[tuple[GestureKind, float, float]]:
    """(kind, known at, pressed at) for events in order."""
    state = GestureState(bound)
    gestures: list[Gesture] = []
    for event in events:
        state, more = step(state, event)
        gestures += more
    return [(g.kind, round(g.t_s, 9), round(g.pressed_s, 9)) for g in gestures]


def test_with_only_taps_bound_a_press_acts_on_the_way_down() -> None:
    assert seen(frozenset({TAP}), down(1.0)) == [(TAP, 1.0, 1.0)]
    assert seen(frozenset({TAP}), down(1.0), up(5.0), down(5.1)) == [(TAP, 1.0, 1.0), (TAP, 5.1, 5.1)]


def test_a_bound_hold_makes_a_tap_wait_for_the_way_up() -> None:
    assert seen(frozenset({TAP, HOLD}), down(1.0), 1.1) == []
    assert seen(frozenset({TAP, HOLD}), down(1.0), up(1.12)) == [(TAP, 1.12, 1.0)]


def test_a_bound_double_tap_makes_a_tap_wait_for_the_window_and_no_longer() -> None:
    assert seen(ALL, down(1.0), up(1.1), 1.29) == []
    assert seen(ALL, down(1.0), up(1.1), 1.5) == [(TAP, 1.3, 1.0)]
    assert seen(frozenset({TAP, DOUBLE}), down(1.0), 1.5) == [(TAP, 1.3, 1.0)]


def test_a_slow_tap_is_known_as_it_is_let_go() -> None:
    assert seen(ALL, down(1.0), 1.4, up(1.45)) == [(TAP, 1.45, 1.0)]


def test_a_double_tap_is_known_on_its_second_way_down() -> None:
    assert seen(ALL, down(1.0), up(1.1), down(1.25)) == [(DOUBLE, 1.25, 1.0)]


def test_the_window_runs_from_the_first_way_down() -> None:
    assert seen(ALL, down(1.0), up(1.28), down(1.32), up(1.4), 2.0) == [(TAP, 1.3, 1.0), (TAP, 1.62, 1.32)]


def test_a_hold_is_known_while_the_foot_is_still_down() -> None:
    assert seen(ALL, down(1.0), 1.59) == []
    assert seen(ALL, down(1.0), 1.6) == [(HOLD, 1.6, 1.0)]
    assert seen(ALL, down(1.0), 9.0, up(9.5), 12.0) == [(HOLD, 1.6, 1.0)]


def test_a_hold_that_was_never_ticked_is_still_dated_at_its_due_time() -> None:
    assert seen(ALL, down(1.0), up(3.0)) == [(HOLD, 1.6, 1.0)]


def test_holding_the_second_tap_adds_nothing() -> None:
    assert seen(ALL, down(1.0), up(1.1), down(1.2), 5.0, up(5.1), 9.0) == [(DOUBLE, 1.2, 1.0)]


def test_three_quick_taps_are_a_double_and_a_tap() -> None:
    events = (down(1.0), up(1.05), down(1.1), up(1.15), down(1.2), up(1.25), 2.0)
    assert seen(ALL, *events) == [(DOUBLE, 1.1, 1.0), (TAP, 1.5, 1.2)]


def test_a_gesture_that_is_not_bound_is_not_given() -> None:
    assert seen(frozenset({HOLD}), down(1.0), up(1.1), 2.0) == []
    assert seen(frozenset({DOUBLE}), down(1.0), up(1.1), 2.0) == []


def test_an_edge_that_comes_late_cannot_turn_time_back() -> None:
    state, _ = step(GestureState(ALL), 5.0)
    state, _ = step(state, down(4.9))
    assert state.due_s == pytest.approx(5.5)  # 0.6 s after the press, not after its late arrival
    _, gestures = step(state, up(5.1))
    assert gestures == ()
    _, gestures = step(state, 6.0)
    assert [(g.kind, g.pressed_s) for g in gestures] == [(HOLD, 4.9)]


@pytest.mark.parametrize("settings", [(0.0, 0.6), (0.3, -1.0), (float("nan"), 0.6)])
def test_windows_must_be_positive(settings: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="positive"):
        GestureSettings(*settings)


bindings = st.sampled_from(EVERY_BINDING)
gaps_s = st.lists(st.one_of(st.floats(0.0, 1.0), st.sampled_from([0.1, 0.3, 0.6])), max_size=30)


def edges_after(gaps: list[float]) -> list[SwitchEdge]:
    times = itertools.accumulate(gaps)
    return [(down if position % 2 == 0 else up)(t_s) for position, t_s in enumerate(times)]


@given(bindings, gaps_s, st.lists(st.floats(0.0, 30.0), max_size=60))
def test_how_often_time_is_told_changes_nothing(
    bound: frozenset[GestureKind], gaps: list[float], ticks: list[float]
) -> None:
    edges = edges_after(gaps)
    events: list[Event] = [*edges, *ticks]
    with_ticks = sorted(events, key=time_of)
    # Ties: an edge that arrived at the very time of a tick is handed over first or last, all the same.
    assert seen(bound, *with_ticks, 100.0) == seen(bound, *edges, 100.0)


@given(gaps_s)
def test_each_press_belongs_to_one_gesture_and_each_gesture_to_its_presses(gaps: list[float]) -> None:
    edges = edges_after(gaps)
    presses = [edge.t_s for edge in edges if edge.down]
    gestures = seen(ALL, *edges, 100.0)
    told = sum(2 if kind is DOUBLE else 1 for kind, _, _ in gestures)
    assert told == len(presses)
    assert {round(press, 9) for press in presses} >= {pressed for _, _, pressed in gestures}


class Foot(RuleBasedStateMachine):
    """Any foot on one switch, with an independent count of what it did."""

    def __init__(self) -> None:
        super().__init__()
        self.state = GestureState(ALL)
        self.t_s = 0.0
        self.is_down = False
        self.presses: list[float] = []
        self.gestures: list[Gesture] = []

    def _take(self, event: Event) -> None:
        self.state, more = step(self.state, event)
        self.gestures += more

    @rule(wait_s=st.floats(0.0, 1.0))
    def time_passes(self, wait_s: float) -> None:
        self.t_s += wait_s
        self._take(self.t_s)

    @rule(wait_s=st.floats(0.0, 0.4))
    def time_passes_unnoticed(self, wait_s: float) -> None:
        self.t_s += wait_s

    @precondition(lambda self: not self.is_down)
    @rule()
    def goes_down(self) -> None:
        self.is_down = True
        self.presses.append(self.t_s)
        self._take(down(self.t_s))

    @precondition(lambda self: self.is_down)
    @rule()
    def comes_up(self) -> None:
        self.is_down = False
        self._take(up(self.t_s))

    @precondition(lambda self: self.is_down)
    @rule()
    def loses_its_way_up_and_goes_down(self) -> None:
        self.presses.append(self.t_s)
        self._take(down(self.t_s))

    @invariant()
    def no_press_is_lost_or_invented(self) -> None:
        told = sum(2 if gesture.kind is DOUBLE else 1 for gesture in self.gestures)
        waiting = 0 if self.state.pressed_s is None else 1
        assert told + waiting == len(self.presses)

    @invariant()
    def times_do_not_run_backwards(self) -> None:
        known = [gesture.t_s for gesture in self.gestures]
        assert known == sorted(known)
        pressed = [gesture.pressed_s for gesture in self.gestures]
        assert pressed == sorted(pressed)
        assert all(gesture.pressed_s <= gesture.t_s <= self.t_s for gesture in self.gestures)

    @invariant()
    def a_waiting_press_has_a_time_at_which_it_is_known(self) -> None:
        assert (self.state.due_s is None) == (self.state.pressed_s is None)
        if self.state.due_s is not None:
            assert self.state.due_s - self.state.settings.hold_s <= self.t_s + 1e-9

    @invariant()
    def the_switch_is_where_the_foot_is(self) -> None:
        assert self.state.down == self.is_down

    def teardown(self) -> None:
        self._take(up(self.t_s))
        self._take(self.t_s + 10.0)
        assert self.state.pressed_s is None
        assert not self.state.down


TestFoot = Foot.TestCase
