"""Messages to edges, against the MIDI 1.0 Detailed Specification (MMA, 4.2.1, 1996)."""

from __future__ import annotations

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.messages import SwitchState


def edges_of(*data: int | str) -> list[tuple[str, bool]]:
    """The edges of a byte stream, cut into messages by mido's parser (the outside reference)."""
    parser = mido.Parser()
    for item in data:
        parser.feed(bytes.fromhex(item) if isinstance(item, str) else bytes([item]))
    return moves(list(parser))


def moves(messages: list[mido.Message]) -> list[tuple[str, bool]]:
    state = SwitchState()
    edges: list[SwitchEdge] = []
    for position, message in enumerate(messages):
        state, more = state.step(message, float(position), "pedal")
        edges += more
    return [(edge.switch, edge.down) for edge in edges]


# Specification, table III: controllers 64-69, "0-63 = off, 64-127 = on".
@pytest.mark.parametrize(
    ("number", "its_name"),
    [
        (64, "damper pedal"),
        (65, "portamento"),
        (66, "sostenuto"),
        (67, "soft pedal"),
        (68, "legato footswitch"),
        (69, "hold 2"),
    ],
)
def test_a_switch_controller_is_down_from_64_on(number: int, its_name: str) -> None:
    switch = f"controller {number} on channel 1"
    for value in range(128):
        expected = [(switch, True)] if value >= 64 else []
        assert edges_of(0xB0, number, value) == expected, its_name


@pytest.mark.parametrize("number", [*range(64), *range(70, 120), 122])
def test_other_controllers_move_no_switch(number: int) -> None:
    assert edges_of(0xB0, number, 127, 0xB0, number, 0) == []


# Specification, table II: status 8n note-off, 9n note-on, "velocity = 0: note-off".
def test_a_note_on_with_velocity_0_is_a_note_off() -> None:
    assert edges_of("90 3c 64", "90 3c 00") == [
        ("note 60 on channel 1", True),
        ("note 60 on channel 1", False),
    ]


def test_a_note_off_ends_a_note_whatever_its_velocity() -> None:
    assert edges_of("90 3c 01", "80 3c 40")[-1] == ("note 60 on channel 1", False)


def test_the_sixteen_channels_are_sixteen_switches() -> None:
    stream = [byte for channel in range(16) for byte in (0xB0 | channel, 64, 127)]
    assert edges_of(*stream) == [(f"controller 64 on channel {channel}", True) for channel in range(1, 17)]


# Specification, "System real time messages": they may come at any time and change nothing else.
# (Running status and real-time bytes *inside* a message are undone by the system's MIDI driver
# before a message reaches a program; mido's parser, which takes whole messages, drops such bytes.)
def test_clock_and_sensing_between_messages_change_nothing() -> None:
    switch = "controller 64 on channel 1"
    assert edges_of("f8 b0 40 7f fe", "f8 b0 40 00", "fe") == [(switch, True), (switch, False)]


def test_system_exclusive_is_skipped() -> None:
    assert edges_of("f0 7d b0 40 f7", "b0 40 7f") == [("controller 64 on channel 1", True)]


@pytest.mark.parametrize(
    "stream",
    [
        "f8",
        "fa",
        "fb",
        "fc",
        "fe",
        "ff",
        "f1 10",
        "f2 10 10",
        "f3 01",
        "f6",
        "d0 40",
        "e0 00 40",
        "a0 3c 40",
    ],
)
def test_messages_without_a_row_move_nothing(stream: str) -> None:
    assert edges_of(stream) == []


def test_a_half_pressed_pedal_gives_one_edge_down_and_one_up() -> None:
    stream = [byte for value in (10, 63, 64, 70, 75, 80, 127, 80, 64, 63, 5, 0) for byte in (0xB0, 64, value)]
    switch = "controller 64 on channel 1"
    assert edges_of(*stream) == [(switch, True), (switch, False)]


def test_a_pedal_that_first_says_it_is_up_has_said_nothing_new() -> None:
    assert edges_of("b0 40 00", "80 3c 00") == []


# Specification, table IV: 121 reset all controllers, 123 all notes off.
def test_all_notes_off_releases_the_notes_of_its_channel_only() -> None:
    assert edges_of("90 3c 64", "91 3c 64", "b0 40 7f", "b0 7b 00")[3:] == [("note 60 on channel 1", False)]


def test_reset_all_controllers_releases_the_pedals() -> None:
    assert edges_of("90 3c 64", "b0 40 7f", "b0 43 7f", "b0 79 00")[3:] == [
        ("controller 64 on channel 1", False),
        ("controller 67 on channel 1", False),
    ]


def test_an_edge_carries_the_time_and_the_device_it_was_given() -> None:
    _, edges = SwitchState().step(mido.Message("control_change", control=64, value=64), 12.5, "left pedal")
    assert edges == (SwitchEdge(12.5, "left pedal", "controller 64 on channel 1", True),)


@given(st.binary(max_size=200))
def test_any_bytes_give_edges_that_alternate_and_begin_with_down(data: bytes) -> None:
    parser = mido.Parser()
    parser.feed(data)
    by_switch: dict[str, list[bool]] = {}
    for switch, down in moves(list(parser)):
        by_switch.setdefault(switch, []).append(down)
    for levels in by_switch.values():
        assert levels == [position % 2 == 0 for position in range(len(levels))]
