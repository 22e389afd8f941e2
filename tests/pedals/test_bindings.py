"""What works before anything was taught."""

from __future__ import annotations

import pytest

from pedaltrainer.pedals.bindings import DIRECT_KEYS, KEYBOARD, Binding, Bindings, default_bindings
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.keys import KEY_SWITCHES


@pytest.mark.parametrize(
    "switch", ["controller 64 on channel 1", "controller 69 on channel 16", "note 36 on channel 10"]
)
def test_any_switch_of_any_pedal_is_the_one_foot_switch(switch: str) -> None:
    binding = default_bindings().find("Some pedal MIDI 1", switch)
    assert binding is not None
    assert binding.controls == {
        GestureKind.TAP: Control.PASS_,
        GestureKind.DOUBLE: Control.FAIL,
        GestureKind.HOLD: Control.PAUSE,
    }
    assert binding.judge == "foot"


@pytest.mark.parametrize(
    ("keys", "control"),
    [
        ("right, page down, down, enter", Control.PASS_),
        ("left, page up, up, backspace", Control.FAIL),
        ("n", Control.NEXT),
        ("a", Control.REPEAT),
        ("p", Control.PAUSE),
        ("u", Control.UNDO),
        ("q, escape", Control.QUIT),
    ],
)
def test_a_key_of_its_own_needs_one_tap(keys: str, control: Control) -> None:
    for key in keys.split(", "):
        binding = default_bindings().find(KEYBOARD, f"key {key}")
        assert binding is not None
        assert binding.controls == {GestureKind.TAP: control}
        assert binding.judge == "key"


def test_the_space_bar_is_a_foot_switch_with_three_gestures() -> None:
    binding = default_bindings().find(KEYBOARD, "key space")
    assert binding is not None
    assert set(binding.controls) == set(GestureKind)
    assert binding.judge == "key"


def test_every_bound_key_exists_on_the_keyboard_and_every_control_has_a_key() -> None:
    assert set(DIRECT_KEYS) | {"key space"} == set(KEY_SWITCHES.values())
    assert set(DIRECT_KEYS.values()) == set(Control)


def test_a_key_without_a_binding_is_no_foot() -> None:
    binding = default_bindings().find(KEYBOARD, "key f5")
    assert binding is not None
    assert binding.controls == {}


def test_a_rule_in_front_wins_and_a_star_stands_for_any_ending() -> None:
    taught = Binding("Board *", "controller 65 *", {GestureKind.TAP: Control.UNDO})
    bindings = Bindings((taught, *default_bindings().rules))
    assert bindings.find("Board MIDI 1", "controller 65 on channel 1") is taught
    assert bindings.find("Board MIDI 1", "controller 64 on channel 1") is not taught
    assert bindings.find("Other", "controller 65 on channel 1") is not taught
    assert Bindings((taught,)).find("Other", "controller 65 on channel 1") is None
