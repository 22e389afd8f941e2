"""Which gesture of which switch gives a control, on every kind of pedal there is."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.pedals.bindings import KEYBOARD, Binding, Bindings, BoundEdge, default_bindings
from pedaltrainer.pedals.events import Control, ControlGiven, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.recogniser import Recogniser
from pedaltrainer.pedals.taught.arranging import ORDER, TaughtSwitch, arranged
from pedaltrainer.pedals.taught.files import load_bindings
from pedaltrainer.pedals.taught.form import DeviceBinding
from pedaltrainer.pedals.ways import ways
from tests.pedals.test_binding_files import SHIPPED, rows

TAP, DOUBLE, HOLD = GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD
PASS_, FAIL, NEXT, PAUSE = Control.PASS_, Control.FAIL, Control.NEXT, Control.PAUSE
BOARD = "Board MIDI 1"
UNTAUGHT = default_bindings()
Said = dict[Control, tuple[GestureKind, int]]


def own(binding: DeviceBinding, device: str = BOARD) -> Bindings:
    """The rules with this binding as the player's own."""
    return Bindings((*binding.for_device(device).rules("your own file"), *UNTAUGHT.rules))


def taught(*kinds: SwitchKind) -> Bindings:
    """A board whose switches were taught, one for each kind, as the lesson arranges them."""
    switches = [
        TaughtSwitch(control, f"controller {80 + place} on channel 1", SwitchProfile(kind))
        for place, (control, kind) in enumerate(zip(ORDER, kinds, strict=False))
    ]
    return own(arranged(BOARD, switches))


def said(bindings: Bindings, device: str = BOARD, pressed: str = "") -> Said:
    """For each control, the gesture and which foot makes it."""
    return {control: (way.gesture, way.foot) for control, way in ways(bindings, device, pressed).items()}


def named(bindings: Bindings, device: str, pressed: str) -> dict[Control, tuple[GestureKind, str]]:
    return {control: (way.gesture, way.switch) for control, way in ways(bindings, device, pressed).items()}


def test_an_untaught_pedal_is_one_switch_with_three_gestures() -> None:
    for pressed in ("", "controller 64 on channel 1", "note 36 on channel 10"):
        assert said(UNTAUGHT, BOARD, pressed) == {PASS_: (TAP, 1), FAIL: (DOUBLE, 1), PAUSE: (HOLD, 1)}
        assert {way.feet for way in ways(UNTAUGHT, BOARD, pressed).values()} == {1}


def test_one_taught_switch_says_all_by_itself() -> None:
    assert said(taught(SwitchKind.MOMENTARY)) == {PASS_: (TAP, 1), FAIL: (DOUBLE, 1), PAUSE: (HOLD, 1)}


def test_two_switches_answer_by_a_tap_each_and_hold_for_the_rest() -> None:
    two = taught(SwitchKind.MOMENTARY, SwitchKind.MOMENTARY)
    assert said(two) == {PASS_: (TAP, 1), FAIL: (TAP, 2), NEXT: (HOLD, 1), PAUSE: (HOLD, 2)}
    for pressed in ("controller 80 on channel 1", "controller 81 on channel 1"):
        assert said(two, pressed=pressed) == said(two)
    assert ways(two, BOARD)[FAIL].switch == "controller 81 on channel 1"
    assert {way.feet for way in ways(two, BOARD).values()} == {2}


def test_three_switches_have_a_tap_each() -> None:
    three = taught(*[SwitchKind.MOMENTARY] * 3)
    assert said(three) == {PASS_: (TAP, 1), FAIL: (TAP, 2), NEXT: (TAP, 3), PAUSE: (HOLD, 3)}


@pytest.mark.parametrize("kind", [SwitchKind.LATCHING, SwitchKind.PRESS_ONLY])
def test_a_box_that_shows_no_hold_is_never_said_to_hold(kind: SwitchKind) -> None:
    assert said(taught(kind)) == {PASS_: (TAP, 1), FAIL: (DOUBLE, 1)}
    two = {PASS_: (TAP, 1), FAIL: (TAP, 2), NEXT: (DOUBLE, 1), PAUSE: (DOUBLE, 2)}
    assert said(taught(kind, kind)) == two


def test_an_untaught_switch_that_only_speaks_on_the_way_down_has_no_hold() -> None:
    assert said(UNTAUGHT, BOARD, "program 5 on channel 1") == {PASS_: (TAP, 1), FAIL: (DOUBLE, 1)}


def test_the_space_bar_is_a_foot_and_keys_of_their_own_need_a_tap() -> None:
    space = named(UNTAUGHT, KEYBOARD, "key space")
    assert {control: space[control] for control in (PASS_, FAIL, PAUSE)} == {
        PASS_: (TAP, "key space"),
        FAIL: (DOUBLE, "key space"),
        PAUSE: (HOLD, "key space"),
    }
    assert space[NEXT] == (TAP, "key n")
    assert set(space) == set(Control)
    keys = named(UNTAUGHT, KEYBOARD, "")
    assert {control: keys[control] for control in (PASS_, FAIL, NEXT)} == {
        PASS_: (TAP, "key right"),
        FAIL: (TAP, "key left"),
        NEXT: (TAP, "key n"),
    }


PAIRS = [("right", "left"), ("page down", "page up"), ("down", "up"), ("enter", "backspace")]


@pytest.mark.parametrize(
    "bindings", [UNTAUGHT, own(SHIPPED["page_turner"], KEYBOARD)], ids=["keys", "preset"]
)
@pytest.mark.parametrize(("forward", "back"), PAIRS)
def test_a_page_turner_is_named_by_the_pair_of_keys_that_it_sends(
    bindings: Bindings, forward: str, back: str
) -> None:
    for pressed in (forward, back):
        found = named(bindings, KEYBOARD, f"key {pressed}")
        assert (found[PASS_], found[FAIL]) == ((TAP, f"key {forward}"), (TAP, f"key {back}"))


def test_a_page_turner_with_its_preset_says_next_and_pause_twice_over() -> None:
    found = named(own(SHIPPED["page_turner"], KEYBOARD), KEYBOARD, "key page up")
    assert (found[NEXT], found[PAUSE]) == ((DOUBLE, "key page down"), (DOUBLE, "key page up"))


def test_a_game_controller_has_the_one_switch_and_its_other_buttons(tmp_path: Path) -> None:
    bindings = load_bindings(tmp_path, Path(__file__).parents[2] / "configs")
    one_switch = {PASS_: (TAP, "button 1"), FAIL: (DOUBLE, "button 1"), PAUSE: (HOLD, "button 1")}
    assert named(bindings, "Pad", "button 1") == {**one_switch, NEXT: (TAP, "button 3")}
    assert named(bindings, "Pad", "button 3")[NEXT] == (TAP, "button 3")
    hat = {PASS_: "hat right", FAIL: "hat left", NEXT: "hat up", PAUSE: "hat down"}
    assert named(bindings, "Pad", "hat left") == {control: (TAP, name) for control, name in hat.items()}
    assert said(bindings, "Pad") == {PASS_: (TAP, 1), FAIL: (DOUBLE, 1), PAUSE: (HOLD, 1)}


def test_a_switch_that_gives_nothing_leaves_the_lead_to_those_that_do() -> None:
    two = taught(SwitchKind.MOMENTARY, SwitchKind.MOMENTARY)
    assert said(two, pressed="controller 7 on channel 1") == said(two)


def test_a_device_that_is_bound_to_nothing_says_nothing() -> None:
    assert ways(Bindings(()), BOARD) == {}
    assert ways(Bindings((Binding(BOARD, "*", {}),)), BOARD, "note 1 on channel 1") == {}


def given_by(bindings: Bindings, device: str, switch: str, gesture: GestureKind) -> list[Control]:
    """What comes of a gesture made on a switch, by the whole way from its edges."""
    rule = bindings.find(device, switch)
    if rule is None or not rule.controls:
        return []
    long_s, hold_s, pace_s = 10.0, rule.windows.hold_s, rule.windows.double_tap_s
    seen = rule.profile.offers_hold
    short_s = 0.06 if seen else 0.0
    moments = {
        TAP: [(0.0, True), (short_s, False)],
        DOUBLE: [(0.0, True), (short_s, False), (pace_s * 0.9, True), (pace_s * 0.9 + short_s, False)],
        HOLD: [(0.0, True), (hold_s * 1.1 if seen else 0.0, False)],
    }[gesture]
    recogniser, controls = Recogniser(), []
    for t_s, down in moments:
        recogniser, outputs = recogniser.feed(BoundEdge(t_s, device, switch, down, rule))
        controls += [output.control for output in outputs if isinstance(output, ControlGiven)]
    _, outputs = recogniser.tick(long_s)
    return controls + [output.control for output in outputs if isinstance(output, ControlGiven)]


def test_every_way_of_every_preset_gives_its_control_when_a_foot_goes_it() -> None:
    for preset in SHIPPED.values():
        device = preset.device or BOARD
        bindings = own(preset, device)
        switches = [row.name.replace("*", "1") for row in preset.switches]
        for pressed in ("", *switches):
            found = ways(bindings, device, pressed)
            assert {PASS_, FAIL} <= set(found)
            assert {NEXT, PAUSE} & set(found)
            for control, way in found.items():
                assert given_by(bindings, device, way.switch.replace("*", "1"), way.gesture) == [control]


@given(st.lists(rows(), min_size=1, max_size=5))
def test_a_device_says_all_that_some_gesture_of_it_gives_and_nothing_else(switches) -> None:
    """Names are drawn at random and may hold stars: rules can stand in front of one another."""
    bindings = own(DeviceBinding(BOARD, tuple(switches)))
    possible = {
        bindings.find(BOARD, row.name).controls.get(gesture)  # type: ignore[union-attr]
        for row in switches
        for gesture in bindings.find(BOARD, row.name).gestures  # type: ignore[union-attr]
    }
    found = ways(bindings, BOARD)
    assert set(found) <= possible
    feet = [row.foot for row in switches if row.foot]
    if len(feet) == len(set(feet)):
        assert set(found) == possible
    for control, way in found.items():
        rule = bindings.find(BOARD, way.switch)
        assert rule is not None
        assert way.gesture in rule.gestures
        assert rule.controls[way.gesture] is control
        assert 1 <= way.foot <= way.feet
