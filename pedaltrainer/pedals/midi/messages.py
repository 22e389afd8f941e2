"""MIDI messages -> what they say of a switch, as one table.

Sections are those of the MIDI 1.0 Detailed Specification (MIDI Manufacturers
Association, document 4.2.1, 1996); MMC is MIDI Machine Control 1.0 (RP-013).

Channels are named 1-16 as on the pedals themselves; mido counts from 0. Notes
and programs are numbered from 0, as in the specification. Values are 0-127;
a 14-bit value is told by its upper seven bits, which is all a switch needs.

A byte stream is cut into whole messages before it reaches us: running status
and real-time bytes inside a message are undone by RtMidi and PortMidi. So
there is no parser of bytes here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.contacts import Contacts
from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.kinds import TOP_VALUE

FIRST_FINE, FIRST_AFTER_FINE = 32, 64
FIRST_MODE_MESSAGE = 120
DOWN_FROM = 64

_NAMES: Mapping[str, str] = {
    "controller": "controller {number} on channel {channel}",
    "note": "note {number} on channel {channel}",
    "program": "program {number} on channel {channel}",
    "pitch wheel": "pitch wheel on channel {channel}",
    "pressure": "pressure on channel {channel}",
    "note pressure": "pressure of note {number} on channel {channel}",
    "song": "song {number}",
    "start": "transport start",
    "continue": "transport continue",
    "stop": "transport stop",
    "machine": "machine control {word}",
}

MACHINE_COMMANDS: Mapping[int, str] = {
    0x01: "stop",
    0x02: "play",
    0x03: "deferred play",
    0x04: "fast forward",
    0x05: "rewind",
    0x06: "record strobe",
    0x07: "record exit",
    0x08: "record pause",
    0x09: "pause",
}
"""MMC, "Commands": the ones that a single press can mean."""

_NOTE_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


class SwitchName(NamedTuple):
    """Which switch on a device. kind is a row of _NAMES; channel is 1-16, 0 where there is none."""

    kind: str
    number: int
    channel: int

    def __str__(self) -> str:
        return _words(self)


@lru_cache(maxsize=4096)
def _words(name: SwitchName) -> str:
    word = MACHINE_COMMANDS.get(name.number, "")
    return _NAMES[name.kind].format(number=name.number, channel=name.channel, word=word)


@dataclass(frozen=True, slots=True)
class Valued:
    """One switch has this value now. strikes: each value is a new stroke, not the same one going on."""

    switch: SwitchName
    value: int
    strikes: bool = False


@dataclass(frozen=True, slots=True)
class Released:
    """Every switch of this kind on this channel is up."""

    kind: str
    channel: int


Reading = Valued | Released

_MODE_RELEASES: Mapping[int, str] = {
    120: "note",
    121: "controller",
    **dict.fromkeys(range(123, 128), "note"),
}

_MODE_WORDS: Mapping[int, str] = {
    120: "all sound off",
    121: "reset all controllers",
    122: "local control",
    123: "all notes off",
    124: "omni off",
    125: "omni on",
    126: "mono",
    127: "poly",
}


def _controller(message: Any) -> Reading | None:
    number, channel = message.control, message.channel + 1
    if number < FIRST_MODE_MESSAGE:
        return Valued(SwitchName("controller", number, channel), message.value)
    return Released(_MODE_RELEASES[number], channel) if number in _MODE_RELEASES else None


def _note_on(message: Any) -> Reading:
    name = SwitchName("note", message.note, message.channel + 1)
    return Valued(name, message.velocity, strikes=message.velocity > 0)


def _note_off(message: Any) -> Reading:
    return Valued(SwitchName("note", message.note, message.channel + 1), 0)


def _program(message: Any) -> Reading:
    return _pressed(SwitchName("program", message.program, message.channel + 1))


def _pitch_wheel(message: Any) -> Reading:
    return Valued(SwitchName("pitch wheel", 0, message.channel + 1), (message.pitch + 0x2000) >> 7)


def _pressure(message: Any) -> Reading:
    return Valued(SwitchName("pressure", 0, message.channel + 1), message.value)


def _note_pressure(message: Any) -> Reading:
    return Valued(SwitchName("note pressure", message.note, message.channel + 1), message.value)


def _song(message: Any) -> Reading:
    return _pressed(SwitchName("song", message.song, 0))


def _transport(message: Any) -> Reading:
    return _pressed(SwitchName(message.type, 0, 0))


def _system_exclusive(message: Any) -> Reading | None:
    data = tuple(message.data)
    # F0 7F <device> 06 <command> F7; a longer body carries data of its own and is no bare press.
    if len(data) == 4 and data[0] == 0x7F and data[2] == 0x06 and data[3] in MACHINE_COMMANDS:
        return _pressed(SwitchName("machine", data[3], 0))
    return None


def _pressed(name: SwitchName) -> Valued:
    return Valued(name, TOP_VALUE, strikes=True)


def _says_nothing(message: Any) -> None:
    return None


def _describe_controller(message: Any) -> str:
    channel = message.channel + 1
    if message.control >= FIRST_MODE_MESSAGE:
        return f"{_MODE_WORDS[message.control]} on channel {channel}"
    side = "down" if message.value >= DOWN_FROM else "up"
    fine = ""
    if FIRST_FINE <= message.control < FIRST_AFTER_FINE:
        fine = f" (or the fine part of controller {message.control - FIRST_FINE})"
    return f"controller {message.control} on channel {channel}{fine} {side}, {message.value}"


def _describe_note(message: Any) -> str:
    where = f"{note_words(message.note)} on channel {message.channel + 1}"
    if message.type == "note_on" and message.velocity > 0:
        return f"{where} down, velocity {message.velocity}"
    return f"{where} up"


def _describe_value(message: Any) -> str:
    reading = read(message)
    assert isinstance(reading, Valued)
    return f"{reading.switch} at {reading.value}"


def _describe_press(message: Any) -> str:
    reading = read(message)
    assert isinstance(reading, Valued)
    return str(reading.switch)


def _describe_exclusive(message: Any) -> str:
    if read(message) is not None:
        return _describe_press(message)
    return f"system exclusive, {len(message.data) + 2} bytes"


def note_words(number: int) -> str:
    """A note with its name, middle C (60) being C4, as in scientific pitch notation."""
    return f"note {number} ({_NOTE_NAMES[number % 12]}{number // 12 - 1})"


def _named(words: str) -> Callable[[Any], str]:
    return lambda message: words


class Row(NamedTuple):
    """What one kind of message means to us, and where the specification defines it."""

    section: str
    read: Callable[[Any], Reading | None]
    words: Callable[[Any], str]


_VOICE = "table II, channel voice messages"
_COMMON = "table V, system common messages"
_REAL_TIME = "table VI, system real-time messages"

ROWS: Mapping[str, Row] = {
    "control_change": Row(
        "tables III and IV, controller numbers and channel mode messages", _controller, _describe_controller
    ),
    "note_on": Row(_VOICE, _note_on, _describe_note),
    "note_off": Row(_VOICE, _note_off, _describe_note),
    "program_change": Row(_VOICE, _program, _describe_press),
    "pitchwheel": Row(_VOICE, _pitch_wheel, _describe_value),
    "aftertouch": Row(_VOICE, _pressure, _describe_value),
    "polytouch": Row(_VOICE, _note_pressure, _describe_value),
    "song_select": Row(_COMMON, _song, _describe_press),
    "start": Row(_REAL_TIME, _transport, _describe_press),
    "continue": Row(_REAL_TIME, _transport, _describe_press),
    "stop": Row(_REAL_TIME, _transport, _describe_press),
    "sysex": Row("table VII, system exclusive; MMC for its commands", _system_exclusive, _describe_exclusive),
    "quarter_frame": Row(_COMMON, _says_nothing, _named("time code")),
    "songpos": Row(_COMMON, _says_nothing, _named("song position")),
    "tune_request": Row(_COMMON, _says_nothing, _named("tune request")),
    "clock": Row(_REAL_TIME, _says_nothing, _named("clock")),
    "active_sensing": Row(_REAL_TIME, _says_nothing, _named("active sensing")),
    "reset": Row(_REAL_TIME, _says_nothing, _named("reset")),
}
"""mido's message type -> what it says of a switch. One row a message kind."""


def read(message: Any) -> Reading | None:
    """What a mido message says of a switch, or None when it says nothing."""
    row = ROWS.get(message.type)
    return row.read(message) if row else None


def describe(message: Any) -> str:
    """A mido message in words: "controller 64 on channel 1 down, 127"."""
    row = ROWS.get(message.type)
    return row.words(message) if row else str(message.type).replace("_", " ")


@dataclass(frozen=True, slots=True)
class Observation:
    """One switch had a value at t_s: what teaching and the kind detection look at."""

    t_s: float
    device: str
    switch: str
    value: int


def observe(message: Any, t_s: float, device: str) -> Observation | None:
    """A message as an observation; None when it is no word on one switch."""
    reading = read(message)
    return (
        Observation(t_s, device, str(reading.switch), reading.value) if isinstance(reading, Valued) else None
    )


def observe_edge(edge: SwitchEdge) -> Observation:
    """An edge of something that has no values (a key, a button) as an observation."""
    return Observation(edge.t_s, edge.device, edge.switch, TOP_VALUE if edge.down else 0)


@dataclass(frozen=True, slots=True)
class SwitchState:
    """The switches of MIDI devices: their messages become edges that carry their rule.

    coarse: controllers 0-31 heard so far as (number, channel). Once one was,
    the controller 32 above it is the fine part of its 14-bit value and no
    switch of its own (MIDI 1.0, table III).
    """

    contacts: Contacts
    coarse: frozenset[tuple[int, int]] = frozenset()

    def step(self, message: Any, t_s: float, device: str) -> tuple[SwitchState, tuple[BoundEdge, ...]]:
        """Take one mido message that arrived at t_s; return the new state and its edges.

        As many as `Contacts.hear` gives; more only for the channel mode
        messages, which can release several switches.
        """
        coarse = self.coarse
        match read(message):
            case Valued(name, value, strikes):
                if name.kind == "controller":
                    if name.number < FIRST_FINE and (name.number, name.channel) not in coarse:
                        coarse |= {(name.number, name.channel)}
                    elif (name.number - FIRST_FINE, name.channel) in coarse:
                        return self, ()
                contacts, edges = self.contacts.hear(t_s, device, str(name), value, strikes)
            case Released(kind, channel):
                contacts, edges = self.contacts.let_go(t_s, device, f"{kind} * on channel {channel}")
            case None:
                return self, ()
        if contacts is self.contacts and coarse is self.coarse:
            return self, edges
        return SwitchState(contacts, coarse), edges
