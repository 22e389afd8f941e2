"""What the values of each kind of switch say about the foot on it."""

from __future__ import annotations

import pytest

from pedaltrainer.pedals import kinds
from pedaltrainer.pedals.bindings import Binding, BoundEdge
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.recogniser import Recogniser

DAMPER, NOTE = "controller 64 on channel 1", "note 60 on channel 1"


def downs(profile: SwitchProfile, *values: int, switch: str = DAMPER) -> list[tuple[int, bool]]:
    """(position of the value, down) for each edge."""
    side, found = None, []
    for position, value in enumerate(values):
        side, edges = kinds.step(profile, switch, side, value)
        found += [(position, down) for down in edges]
    return found


def test_a_momentary_switch_is_down_from_64_on() -> None:
    assert downs(SwitchProfile(), 0, 63, 64, 127, 64, 63) == [(2, True), (5, False)]


def test_a_note_is_down_at_any_velocity_but_0() -> None:
    assert downs(SwitchProfile(), 1, 0, 127, 0, switch=NOTE) == [(0, True), (1, False), (2, True), (3, False)]


def test_a_reversed_switch_is_pressed_by_its_low_value_and_its_rest_says_nothing() -> None:
    assert downs(SwitchProfile(SwitchKind.REVERSED), 127, 127, 0, 127) == [(2, True), (3, False)]
    assert downs(SwitchProfile(SwitchKind.REVERSED), 0, 127) == [(0, True), (1, False)]


def test_every_change_of_a_latching_switch_is_a_whole_press() -> None:
    presses = downs(SwitchProfile(SwitchKind.LATCHING), 0, 0, 127, 127, 0)
    assert presses == [(0, True), (0, False), (2, True), (2, False), (4, True), (4, False)]


def test_every_word_of_a_press_only_switch_is_a_whole_press() -> None:
    assert downs(SwitchProfile(SwitchKind.PRESS_ONLY), 127, 127, 0, 127) == [
        (0, True),
        (0, False),
        (1, True),
        (1, False),
        (3, True),
        (3, False),
    ]


def test_a_pedal_that_trembles_in_the_middle_of_its_way_does_not_press_itself() -> None:
    profile = SwitchProfile(SwitchKind.CONTINUOUS, low=40, high=80)
    assert downs(profile, 60, 79, 80, 60, 79, 41, 80, 40, 79, 41) == [(2, True), (7, False)]


@pytest.mark.parametrize(
    "wrong",
    [
        {"debounce_s": 0.051},
        {"debounce_s": -0.001},
        {"low": 3},
        {"low": 64, "high": 64},
        {"low": -1, "high": 5},
        {"low": 0, "high": 128},
    ],
)
def test_a_profile_out_of_bounds_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"must be|together"):
        SwitchProfile(**wrong)  # type: ignore[arg-type]


def test_a_latching_switch_is_never_waited_upon_for_a_hold() -> None:
    controls = {GestureKind.TAP: Control.PASS_, GestureKind.HOLD: Control.NEXT}
    for kind, waits in ((SwitchKind.LATCHING, False), (SwitchKind.MOMENTARY, True)):
        rule = Binding("*", "*", controls, profile=SwitchProfile(kind))
        recogniser, outputs = Recogniser().feed(BoundEdge(1.0, "box", DAMPER, True, rule))
        assert (len(outputs) == 1) is waits, kind
        assert (recogniser.due_s is not None) is waits, kind
