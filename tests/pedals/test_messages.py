"""Messages to edges, against the MIDI 1.0 Detailed Specification (MMA, 4.2.1, 1996)."""

from __future__ import annotations

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st
from mido.messages.specs import SPEC_BY_TYPE

from pedaltrainer.pedals.bindings import Binding, Bindings, BoundEdge, default_bindings
from pedaltrainer.pedals.contacts import Contacts
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.midi.messages import ROWS, Observation, SwitchState, describe, observe


def edges_of(*data: int | str) -> list[tuple[str, bool]]:
    """The edges of a byte stream, cut into messages by mido's parser (the outside reference)."""
    parser = mido.Parser()
    for item in data:
        parser.feed(bytes.fromhex(item) if isinstance(item, str) else bytes([item]))
    return moves(list(parser))


def bound(switch: str, kind: SwitchKind = SwitchKind.MOMENTARY) -> Bindings:
    """One rule, as after teaching."""
    return Bindings((Binding("*", switch, {GestureKind.TAP: Control.PASS_}, profile=SwitchProfile(kind)),))


def moves(messages: list[mido.Message], bindings: Bindings | None = None) -> list[tuple[str, bool]]:
    state = SwitchState(Contacts((bindings or default_bindings()).find))
    edges: list[BoundEdge] = []
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
def test_untaught_other_controllers_move_no_switch(number: int) -> None:
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


def test_an_edge_carries_its_rule_and_the_time_and_device_it_was_given() -> None:
    find, switch = default_bindings().find, "controller 64 on channel 1"
    message = mido.Message("control_change", control=64, value=64)
    _, edges = SwitchState(Contacts(find)).step(message, 12.5, "left pedal")
    rule = find("left pedal", switch)
    assert rule is not None
    assert edges == (BoundEdge(12.5, "left pedal", switch, True, rule),)


@given(st.binary(max_size=200))
def test_any_bytes_give_edges_that_alternate_and_begin_with_down(data: bytes) -> None:
    parser = mido.Parser()
    parser.feed(data)
    by_switch: dict[str, list[bool]] = {}
    for switch, down in moves(list(parser)):
        by_switch.setdefault(switch, []).append(down)
    for levels in by_switch.values():
        assert levels == [position % 2 == 0 for position in range(len(levels))]


# Specification, table III: 0-31 with 32-63 as their less significant part; 120-127 are mode messages.
@pytest.mark.parametrize("number", range(120))
def test_as_taught_any_controller_is_a_switch(number: int) -> None:
    switch = f"controller {number} on channel 3"
    stream = messages_of(0xB2, number, 127, 0xB2, number, 0)
    assert moves(stream, bound(switch)) == [(switch, True), (switch, False)]


def messages_of(*data: int) -> list[mido.Message]:
    parser = mido.Parser()
    parser.feed(data)
    return list(parser)


@pytest.mark.parametrize("number", range(32))
def test_the_fine_part_of_a_14_bit_controller_is_no_second_switch(number: int) -> None:
    """The coarse part goes 0, 127, 0; the fine part, sent after it, is 127 throughout."""
    stream = [byte for value in (0, 127, 0) for byte in (0xB0, number, value, 0xB0, number + 32, 127)]
    coarse, fine = f"controller {number} on channel 1", f"controller {number + 32} on channel 1"
    assert moves(messages_of(*stream), bound("controller *")) == [(coarse, True), (coarse, False)]
    assert moves(messages_of(*stream), bound(fine)) == []
    # On another channel it is no part of this one.
    assert moves(messages_of(0xB0, number, 5, 0xB1, number + 32, 127), bound("controller *")) == [
        (fine.replace("channel 1", "channel 2"), True)
    ]


# Specification, table II: a program change has one data byte and no way up.
def test_each_program_change_is_a_whole_press_and_needs_no_teaching() -> None:
    switch = "program 5 on channel 1"
    assert edges_of("c0 05", "c0 05") == [(switch, True), (switch, False)] * 2


# Specification, table II: pitch wheel, 14 bits, least significant first, rest at 2000H; D0 and A0 pressure.
@pytest.mark.parametrize(
    ("stream", "seen"),
    [
        ((0xE0, 0x00, 0x40), ("pitch wheel on channel 1", 64)),
        ((0xE1, 0x7F, 0x7F), ("pitch wheel on channel 2", 127)),
        ((0xE0, 0x00, 0x00), ("pitch wheel on channel 1", 0)),
        ((0xD3, 0x21), ("pressure on channel 4", 33)),
        ((0xA0, 0x3C, 0x21), ("pressure of note 60 on channel 1", 33)),
    ],
)
def test_wheels_and_pressure_have_a_value_from_0_to_127(
    stream: tuple[int, ...], seen: tuple[str, int]
) -> None:
    (message,) = messages_of(*stream)
    assert observe(message, 2.0, "board") == Observation(2.0, "board", *seen)


# Specification, tables V and VI; MMC (RP-013): F0 7F <device> 06 <command> F7, 01 stop, 02 play.
@pytest.mark.parametrize(
    ("stream", "switch"),
    [
        ((0xFA,), "transport start"),
        ((0xFB,), "transport continue"),
        ((0xFC,), "transport stop"),
        ((0xF3, 7), "song 7"),
        ((0xF0, 0x7F, 0x7F, 0x06, 0x01, 0xF7), "machine control stop"),
        ((0xF0, 0x7F, 0x10, 0x06, 0x02, 0xF7), "machine control play"),
    ],
)
def test_a_transport_button_is_a_press_once_it_is_taught(stream: tuple[int, ...], switch: str) -> None:
    messages = messages_of(*stream)
    assert moves(messages) == []
    assert moves(messages, bound(switch, SwitchKind.PRESS_ONLY)) == [(switch, True), (switch, False)]
    assert describe(messages[0]) == switch


@pytest.mark.parametrize("stream", ["f0 7d 01 f7", "f0 7f 7f 06 44 06 01 f7", "f0 7e 7f 06 01 f7", "f0 f7"])
def test_other_system_exclusive_is_no_press(stream: str) -> None:
    assert moves(messages_of(*bytes.fromhex(stream)), bound("*")) == []


def test_a_binding_for_one_channel_hears_no_other() -> None:
    stream = [byte for channel in range(16) for byte in (0x90 | channel, 60, 90)]
    only = "note 60 on channel 10"
    assert moves(messages_of(*stream), bound(only)) == [(only, True)]


def test_a_note_struck_again_without_a_note_off_is_a_second_press() -> None:
    switch = "note 60 on channel 1"
    assert edges_of("90 3c 64", "90 3c 50") == [(switch, True), (switch, False), (switch, True)]


def test_resetting_the_controllers_does_not_press_a_reversed_or_latching_switch() -> None:
    stream = messages_of(0xB0, 64, 127, 0xB0, 121, 0)
    assert moves(stream, bound("*", SwitchKind.REVERSED)) == []
    assert len(moves(stream, bound("*", SwitchKind.LATCHING))) == 2


@pytest.mark.parametrize(
    ("stream", "words"),
    [
        ("b0 40 7f", "controller 64 on channel 1 down, 127"),
        ("bf 40 00", "controller 64 on channel 16 up, 0"),
        ("b0 21 05", "controller 33 on channel 1 (or the fine part of controller 1) up, 5"),
        ("b0 7b 00", "all notes off on channel 1"),
        ("99 3c 5a", "note 60 (C4) on channel 10 down, velocity 90"),
        ("99 3c 00", "note 60 (C4) on channel 10 up"),
        ("80 00 40", "note 0 (C-1) on channel 1 up"),
        ("90 45 01", "note 69 (A4) on channel 1 down, velocity 1"),
        ("c0 05", "program 5 on channel 1"),
        ("e0 00 40", "pitch wheel on channel 1 at 64"),
        ("d0 10", "pressure on channel 1 at 16"),
        ("a0 3c 10", "pressure of note 60 on channel 1 at 16"),
        ("f8", "clock"),
        ("fe", "active sensing"),
        ("f0 7d 01 02 f7", "system exclusive, 5 bytes"),
    ],
)
def test_a_message_in_words(stream: str, words: str) -> None:
    (message,) = messages_of(*bytes.fromhex(stream))
    assert describe(message) == words


def test_every_message_that_the_parser_knows_has_a_row_with_its_section() -> None:
    assert set(ROWS) == set(SPEC_BY_TYPE)
    assert all(row.section.startswith("table") for row in ROWS.values())


@given(st.binary(max_size=100))
def test_anything_can_be_said_in_words(data: bytes) -> None:
    for message in messages_of(*data):
        assert describe(message)
