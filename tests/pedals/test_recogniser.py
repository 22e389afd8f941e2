"""The whole way from raw edges to controls."""

from __future__ import annotations

import itertools
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from pedaltrainer.pedals.bindings import ONE_SWITCH, Binding, BoundEdge
from pedaltrainer.pedals.events import Control, ControlGiven, GestureKind
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.recogniser import Output, Recogniser
from tests.pedals.edges import untaught_edge

DAMPER, SOFT = "controller 64 on channel 1", "controller 67 on channel 1"
Event = BoundEdge | float
FAIL = Control.FAIL


def time_of(event: Event) -> float:
    return event.t_s if isinstance(event, BoundEdge) else event


def down(t_s: float, switch: str = DAMPER, device: str = "pedal") -> BoundEdge:
    return untaught_edge(t_s, device, switch, True)


def up(t_s: float, switch: str = DAMPER, device: str = "pedal") -> BoundEdge:
    return untaught_edge(t_s, device, switch, False)


def key(t_s: float, name: str, is_down: bool = True) -> BoundEdge:
    return untaught_edge(t_s, "keyboard", f"key {name}", is_down)


def run(*events: Event, recogniser: Recogniser | None = None) -> list[Output]:
    recogniser = recogniser or Recogniser()
    outputs: list[Output] = []
    for event in events:
        if isinstance(event, BoundEdge):
            recogniser, more = recogniser.feed(event)
        else:
            recogniser, more = recogniser.tick(event)
        outputs += more
    return outputs


def controls(outputs: list[Output]) -> list[Control]:
    return [output.control for output in outputs if isinstance(output, ControlGiven)]


def presses(outputs: list[Output]) -> list[float]:
    return [output.t_s for output in outputs if isinstance(output, BoundEdge)]


def test_a_tap_on_the_pedal_is_seen_at_once_and_a_pass_after_the_double_tap_window() -> None:
    assert run(down(1.0)) == [down(1.0)]
    assert run(down(1.0), up(1.1), 2.0) == [down(1.0), ControlGiven(1.3, 1.0, Control.PASS_, "foot")]


def test_double_tap_fails_and_hold_goes_on() -> None:
    assert controls(run(down(1.0), up(1.1), down(1.2))) == [Control.FAIL]
    assert controls(run(down(1.0), 1.6)) == [Control.PAUSE]


def test_a_control_names_the_press_that_began_it() -> None:
    outputs = run(down(1.0), up(1.1), down(1.2), up(1.3), down(3.0), up(3.1), 9.0)
    given_controls = [output for output in outputs if isinstance(output, ControlGiven)]
    assert presses(outputs) == [1.0, 3.0]
    assert [control.pressed_s for control in given_controls] == [1.0, 3.0]


def test_a_page_turner_key_acts_at_once_and_is_judged_by_key() -> None:
    assert run(key(1.0, "page down")) == [
        key(1.0, "page down"),
        ControlGiven(1.0, 1.0, Control.PASS_, "key"),
    ]


def test_the_pause_key_is_a_press_that_can_answer_nothing() -> None:
    pressed = key(1.0, "p")
    assert run(pressed) == [pressed, ControlGiven(1.0, 1.0, Control.PAUSE, "key")]
    assert not pressed.rule.answers


def test_the_second_way_down_of_a_double_tap_is_no_press_of_its_own() -> None:
    assert presses(run(down(1.0), up(1.1), down(1.2), up(1.3), 3.0)) == [1.0]


def test_in_a_list_two_quick_taps_are_two_and_a_hold_is_a_hold() -> None:
    listed = Recogniser(in_list=True)
    assert controls(run(down(1.0), up(1.1), down(1.2), up(1.3), recogniser=listed)) == [Control.PASS_] * 2
    assert controls(run(down(1.0), 2.0, recogniser=listed)) == [Control.PAUSE]


def test_a_list_that_comes_or_goes_under_a_foot_changes_nothing_of_its_gesture() -> None:
    recogniser, _ = Recogniser().feed(down(1.0))
    recogniser, _ = replace(recogniser, in_list=True).feed(up(1.1))
    _, outputs = recogniser.feed(down(1.2))
    assert controls(list(outputs)) == [Control.FAIL]


def test_the_space_bar_has_the_three_gestures() -> None:
    assert controls(run(key(1.0, "space"), key(1.1, "space", False), 2.0)) == [Control.PASS_]
    assert controls(run(key(1.0, "space"), key(1.1, "space", False), key(1.2, "space"))) == [Control.FAIL]
    assert controls(run(key(1.0, "space"), 2.0)) == [Control.PAUSE]


def test_two_key_presses_read_in_one_late_frame_are_two() -> None:
    late = [key(1.0, "right", is_down) for is_down in (True, False, True, False)]
    assert controls(run(*late)) == [Control.PASS_, Control.PASS_]
    late_space = [key(1.0, "space", is_down) for is_down in (True, False, True, False)]
    assert controls(run(*late_space)) == [Control.FAIL]


def test_a_chattering_contact_is_one_tap() -> None:
    chatter = [down(1.0), up(1.002), down(1.004), up(1.1), down(1.103), up(1.105)]
    outputs = run(*chatter, 2.0)
    assert presses(outputs) == [1.0]
    assert controls(outputs) == [Control.PASS_]


def test_with_only_a_tap_bound_a_pedal_waits_for_nothing() -> None:
    press = replace(down(1.0), rule=Binding("*", "*", {GestureKind.TAP: Control.PASS_}))
    assert run(press) == [press, ControlGiven(1.0, 1.0, Control.PASS_, "foot")]


def test_one_kick_on_two_switches_is_one_press() -> None:
    outputs = run(down(1.0), down(1.01, SOFT), up(1.1), up(1.11, SOFT), 2.0)
    assert presses(outputs) == [1.0]
    assert controls(outputs) == [Control.PASS_]


def test_a_switch_that_never_comes_up_does_not_block_the_others() -> None:
    outputs = run(down(1.0), 3.0, down(5.0, SOFT), up(5.1, SOFT), 6.0)
    assert controls(outputs) == [Control.PAUSE, Control.PASS_]


def test_letting_go_of_an_older_switch_does_not_end_the_press_of_a_newer_one() -> None:
    outputs = run(down(1.0), 1.8, down(2.0, SOFT), up(2.1), 3.0)
    assert controls(outputs) == [Control.PAUSE, Control.PAUSE]


def test_two_devices_are_two_feet() -> None:
    outputs = run(down(1.0), down(1.05, device="other"), up(1.1), up(1.15, device="other"), 2.0)
    assert controls(outputs) == [Control.PASS_, Control.PASS_]


def test_a_pedal_that_vanishes_while_down_gives_no_hold_and_works_when_it_is_back() -> None:
    recogniser, _ = Recogniser().feed(down(1.0))
    recogniser, _ = recogniser.feed(key(1.1, "space"))
    recogniser = recogniser.forget("pedal")
    recogniser, outputs = recogniser.tick(5.0)
    assert [output.judge for output in outputs if isinstance(output, ControlGiven)] == ["key"]
    assert controls(run(down(6.0), up(6.1), 7.0, recogniser=recogniser)) == [Control.PASS_]


def test_without_a_word_of_its_going_a_lost_way_up_costs_no_later_press() -> None:
    outputs = run(down(1.0), 2.0, down(6.0), up(6.1), 7.0)
    assert controls(outputs) == [Control.PAUSE, Control.PASS_]


def test_learnt_windows_are_used() -> None:
    slow_foot = Binding("*", "*", ONE_SWITCH, windows=GestureSettings(double_tap_s=0.5, hold_s=1.0))
    taps = [replace(one, rule=slow_foot) for one in (down(1.0), up(1.1), down(1.45))]
    assert controls(run(*taps)) == [Control.FAIL]


def test_each_press_of_a_foot_goes_by_the_rule_of_its_own_switch() -> None:
    """A program change has no way up, so no hold can be seen of it; the damper beside it has one."""
    program = "program 5 on channel 1"
    once_pressed = [down(1.0, program), up(1.0, program)]
    assert controls(run(*once_pressed, 3.0)) == [Control.PASS_]
    assert controls(run(*once_pressed, 3.0, down(4.0), 6.0)) == [Control.PASS_, Control.PAUSE]
    assert controls(run(down(1.0), 3.0, down(4.0, program), 6.0)) == [Control.PAUSE, Control.PASS_]


def test_a_recogniser_is_not_changed_by_feeding_it() -> None:
    start = Recogniser()
    start.feed(down(1.0))
    assert start.due_s is None
    assert start == Recogniser()


SWITCHES = [
    ("pedal", DAMPER),
    ("pedal", SOFT),
    ("other", "note 60 on channel 1"),
    ("keyboard", "key space"),
    ("keyboard", "key right"),
]
moves = st.lists(st.tuples(st.sampled_from(SWITCHES), st.floats(0.0, 0.4)), max_size=40)


@settings(max_examples=200)
@given(moves, st.lists(st.floats(0.0, 16.0), max_size=60))
def test_how_often_time_is_told_changes_nothing(
    moved: list[tuple[tuple[str, str], float]], ticks: list[float]
) -> None:
    levels: dict[tuple[str, str], bool] = {}
    edges = []
    for (which, _), t_s in zip(moved, itertools.accumulate(gap for _, gap in moved), strict=True):
        levels[which] = not levels.get(which, False)
        edges.append(untaught_edge(t_s, *which, levels[which]))
    events: list[Event] = [*edges, *ticks]
    with_ticks = sorted(events, key=time_of)
    outputs = run(*edges, 100.0)
    assert run(*with_ticks, 100.0) == outputs
    times = [output.t_s for output in outputs]
    assert times == sorted(times)


class OnePedal(RuleBasedStateMachine):
    """One chattering pedal: every real press gives one press and belongs to one control."""

    def __init__(self) -> None:
        super().__init__()
        self.recogniser = Recogniser()
        self.t_s = 0.0
        self.is_down = False
        self.touched: list[float] = []
        self.outputs: list[Output] = []

    def _edge(self, is_down: bool) -> None:
        self.recogniser, more = self.recogniser.feed(untaught_edge(self.t_s, "pedal", DAMPER, is_down))
        self.outputs += more

    @rule(wait_s=st.floats(0.0, 1.0))
    def time_passes(self, wait_s: float) -> None:
        self.t_s += wait_s
        self.recogniser, more = self.recogniser.tick(self.t_s)
        self.outputs += more

    @rule(chatter_ms=st.lists(st.floats(0.1, 2.0), max_size=4), rest_s=st.floats(0.013, 0.5))
    def moves(self, chatter_ms: list[float], rest_s: float) -> None:
        """To the other side, chattering for at most 8 ms, then at rest for longer than the window."""
        self.t_s += 0.013
        start_s = self.t_s
        self.is_down = not self.is_down
        if self.is_down:
            self.touched.append(self.t_s)
        self._edge(self.is_down)
        for gap_ms in chatter_ms:
            self.t_s += gap_ms / 1000
            self._edge(not self.is_down)
            self.t_s += 0.0001
            self._edge(self.is_down)
        self.t_s = start_s + rest_s

    @invariant()
    def each_touch_is_one_press_at_its_first_contact(self) -> None:
        """The second way down of a double tap belongs to the press of the first."""
        doubled = {one.t_s for one in self.outputs if isinstance(one, ControlGiven) and one.control is FAIL}
        assert presses(self.outputs) == [t_s for t_s in self.touched if t_s not in doubled]

    @invariant()
    def no_press_is_lost_or_invented(self) -> None:
        told = sum(2 if control is Control.FAIL else 1 for control in controls(self.outputs))
        assert len(self.touched) - 1 <= told <= len(self.touched)

    def teardown(self) -> None:
        if self.is_down:
            self.moves([], 0.013)
        self.time_passes(10.0)
        told = sum(2 if control is Control.FAIL else 1 for control in controls(self.outputs))
        assert told == len(self.touched)
        assert self.recogniser.due_s is None


TestOnePedal = OnePedal.TestCase
