"""The trace library, cut into messages by other parsers, and taken by our whole path.

Two outside references for the bytes, and what each covers (both are mido's,
a general-purpose MIDI library):

- `mido.Parser`, a stream parser: every trace, joined into one run of bytes. It
  knows neither running status nor real-time bytes inside a message.
- `mido.MidiFile`, a reader of Standard MIDI Files: running status, as files
  have it too (SMF 1.0, "MTrk events"), for the channel messages of every trace.

Real-time bytes *inside* a message are not met by our path, which gets whole
messages from RtMidi and PortMidi; nothing here checks them.
"""

from __future__ import annotations

import io
import itertools
import struct
from dataclasses import replace

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from pedaltrainer.pedals.bindings import ONE_SWITCH, Binding, Bindings, default_bindings
from pedaltrainer.pedals.contacts import Contacts
from pedaltrainer.pedals.events import Control, ControlGiven, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.midi.messages import SwitchState
from pedaltrainer.pedals.recogniser import Output, Recogniser
from pedaltrainer.pedals.taught.detection import Trial, detect
from tests.pedals import traces
from tests.pedals.test_detection import judged, spoilt, trials_of
from tests.pedals.traces import LIBRARY, SHORT_S, Trace

TRAVEL_S = 0.05
"""How long the pedals that travel take to get down (`traces.travel`)."""

each_trace = pytest.mark.parametrize("trace", LIBRARY, ids=lambda trace: trace.name)


@each_trace
def test_a_stream_parser_cuts_the_same_messages(trace: Trace) -> None:
    parser = mido.Parser()
    parser.feed(b"".join(data for _, data in trace.messages))
    assert [message.bin() for message in parser] == [data for _, data in trace.messages]


@each_trace
def test_running_status_means_the_same_messages(trace: Trace) -> None:
    messages = [data for _, data in trace.messages if data[0] < 0xF0]
    track, before = bytearray(), None
    # A status byte that repeats the one before is left out.
    for data in messages:
        track += b"\x00" + (data[1:] if data[0] == before else data)
        before = data[0]
    track += b"\x00\xff\x2f\x00"
    header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 96)
    file = mido.MidiFile(file=io.BytesIO(header + b"MTrk" + struct.pack(">I", len(track)) + track))
    read = [message.bin() for message in file.tracks[0] if not message.is_meta]
    assert read == messages


def rules_for(trace: Trace, profile: SwitchProfile) -> Bindings:
    return Bindings(
        (Binding("*", trace.switch, {GestureKind.TAP: Control.PASS_}, profile=profile), Binding("*", "*", {}))
    )


def heard(trace: Trace, profile: SwitchProfile) -> list[ControlGiven]:
    """The controls of a trace by our whole path, bytes to controls."""
    state, recogniser, given = SwitchState(Contacts(rules_for(trace, profile).find)), Recogniser(), []
    for t_s, data in trace.messages:
        state, edges = state.step(mido.Message.from_bytes(data), t_s, "pedal")
        for edge in edges:
            recogniser, outputs = recogniser.feed(edge)
            given += [output for output in outputs if isinstance(output, ControlGiven)]
    recogniser, outputs = recogniser.tick(1e6)
    given += [output for output in outputs if isinstance(output, ControlGiven)]
    assert recogniser.due_s is None
    return given


@each_trace
def test_as_taught_every_press_of_a_trace_is_one_control_at_once(trace: Trace) -> None:
    given = heard(trace, judged(trials_of(trace)).profile)
    assert len(given) == len(trace.presses_s)
    for control, press_s in zip(given, trace.presses_s, strict=True):
        assert press_s <= control.pressed_s <= press_s + TRAVEL_S
        assert control.t_s == control.pressed_s


@each_trace
def test_a_press_is_counted_from_its_first_touch(trace: Trace) -> None:
    verdict = judged(trials_of(trace))
    if verdict.low is not None and len({d for _, d in trace.messages if d in trace.own}) > 4:
        return  # A pedal that travels has no first touch; its reach is checked above.
    assert [control.pressed_s for control in heard(trace, verdict.profile)] == list(trace.presses_s)


@settings(max_examples=150)
@given(st.sampled_from(LIBRARY), st.data())
def test_what_was_concluded_from_a_spoilt_lesson_still_counts_every_press(
    trace: Trace, data: st.DataObject
) -> None:
    """One message lost or too many while teaching: if it was sure all the same, playing is not harmed."""
    trials = spoilt(trace, data)
    verdict = judged(trials)
    if verdict.confident:
        assert len(heard(trace, verdict.profile)) == len(trace.presses_s)


def test_the_flood_alone_is_no_press() -> None:
    state = SwitchState(Contacts(default_bindings().find))
    for t_s, data in traces.flood(0.0, 10.0):
        state, edges = state.step(mido.Message.from_bytes(data), t_s, "board")
        assert edges == ()


CONTACTS = (SwitchKind.MOMENTARY, SwitchKind.REVERSED, SwitchKind.LATCHING)
"""Kinds that have a contact which can chatter."""


class FloodedFoot(RuleBasedStateMachine):
    """A foot on one switch of any kind, among other messages: none lost, none invented, none stuck.

    The machine keeps its own count of what the foot did and its own idea of
    what the switch then sends.
    """

    @initialize(
        kind=st.sampled_from(SwitchKind),
        bound=st.sampled_from([frozenset({GestureKind.TAP}), frozenset(GestureKind)]),
    )
    def choose(self, kind: SwitchKind, bound: frozenset[GestureKind]) -> None:
        self.kind = kind
        controls = {gesture: control for gesture, control in ONE_SWITCH.items() if gesture in bound}
        profile = SwitchProfile(kind)
        switch = "controller 80 on channel 2"
        bindings = Bindings((Binding("*", switch, controls, profile=profile), Binding("*", "*", {})))
        self.state, self.recogniser = SwitchState(Contacts(bindings.find)), Recogniser()
        self.t_s, self.is_down, self.latched = 0.0, False, False
        self.pressed: list[float] = []
        self.presses: list[float] = []
        self.told = 0

    def _take(self, outputs: tuple[Output, ...]) -> None:
        for output in outputs:
            if isinstance(output, ControlGiven):
                self.told += 1
                if output.control is Control.FAIL:
                    # Its second way down belongs to the press of the first.
                    self.pressed.remove(output.t_s)
            else:
                self.presses.append(output.t_s)

    def _send(self, message: mido.Message) -> None:
        self.state, edges = self.state.step(message, self.t_s, "board")
        for edge in edges:
            self.recogniser, outputs = self.recogniser.feed(edge)
            self._take(outputs)

    def _value(self, value: int) -> None:
        self._send(mido.Message("control_change", channel=1, control=80, value=value))

    @rule(wait_s=st.floats(0.0, 1.0))
    def time_passes(self, wait_s: float) -> None:
        self.t_s += wait_s
        self.recogniser, outputs = self.recogniser.tick(self.t_s)
        self._take(outputs)

    @rule(chatter=st.integers(0, 3), rest_s=st.floats(0.02, 0.8))
    def foot_moves(self, chatter: int, rest_s: float) -> None:
        """Down or up, chattering for at most 9 ms where a contact can, then at rest."""
        self.t_s += 0.02
        self.is_down = not self.is_down
        if self.is_down:
            self.pressed.append(self.t_s)
        values = self._what_it_sends()
        for value in values:
            self._value(value)
            for _ in range(chatter if self.kind in CONTACTS else 0):
                for contact in (127 - value, value):
                    self.t_s += 0.0015
                    self._value(contact)
        self.t_s += rest_s

    def _what_it_sends(self) -> list[int]:
        match self.kind:
            case SwitchKind.MOMENTARY:
                return [127 if self.is_down else 0]
            case SwitchKind.REVERSED:
                return [0 if self.is_down else 127]
            case SwitchKind.CONTINUOUS:
                return [90, 70, 110] if self.is_down else [60, 50, 60, 10]
            case SwitchKind.LATCHING:
                if not self.is_down:
                    return []
                self.latched = not self.latched
                return [127 if self.latched else 0]
        return [127] if self.is_down else []

    @rule(data=st.sampled_from([data for _, data in traces.flood(0.0, 1.0)]))
    def something_else_is_sent(self, data: bytes) -> None:
        self._send(mido.Message.from_bytes(data))

    @rule(channel=st.sampled_from([0, 2, 9]), value=st.integers(0, 127))
    def another_channel_says_the_same_number(self, channel: int, value: int) -> None:
        self._send(mido.Message("control_change", channel=channel, control=80, value=value))

    @invariant()
    def each_press_is_seen_once_at_its_first_touch(self) -> None:
        assert self.presses == self.pressed

    @invariant()
    def none_is_told_that_was_not_made(self) -> None:
        assert self.told <= len(self.pressed)

    def teardown(self) -> None:
        if not hasattr(self, "kind"):
            return
        if self.is_down:
            self.foot_moves(0, 0.1)
        self.time_passes(1.0)
        self.time_passes(10.0)
        assert self.told == len(self.pressed)
        assert self.recogniser.due_s is None


FloodedFoot.TestCase.settings = settings(max_examples=200, stateful_step_count=40)
TestFloodedFoot = FloodedFoot.TestCase


def test_the_library_holds_each_kind_clean_bouncing_half_pressed_and_flooded() -> None:
    assert {trace.kind for trace in LIBRARY} == set(SwitchKind)
    words = " ".join(trace.name for trace in LIBRARY)
    assert all(word in words for word in ("clean", "bouncing", "half-pressed", "flooded"))
    assert all(
        up - down >= SHORT_S - 1e-9 for t in LIBRARY for down, up in zip(t.presses_s, t.ups_s, strict=True)
    )
    for trace in LIBRARY:
        assert all(a[0] <= b[0] for a, b in itertools.pairwise(trace.messages))


def test_detection_does_not_depend_on_when_the_lesson_began() -> None:
    for trace in LIBRARY[::7]:
        trials = trials_of(trace)
        later = [
            Trial(t.ask, tuple(replace(one, t_s=one.t_s + 5000.0) for one in t.observations)) for t in trials
        ]
        assert detect(trials) == detect(later)
