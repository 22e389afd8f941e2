"""MIDI messages -> switch edges, as one table.

Conventions, from the MIDI 1.0 Detailed Specification (MIDI Manufacturers
Association, 4.2.1, 1996):

- table III, controller numbers: 64 damper pedal, 65 portamento, 66 sostenuto,
  67 soft pedal, 68 legato footswitch, 69 hold 2; 0-63 is off, 64-127 is on;
- table II, channel voice messages: a note-on with velocity 0 is a note-off;
- table IV, channel mode messages: 120 all sound off, 121 reset all
  controllers, 123-127 all notes off (124-127 carry it along).

Channels are named 1-16 as on the pedals themselves; mido counts from 0.
A message kind without a row here (clock, active sensing, pitch, SysEx ...)
moves no switch. To let another kind move one, add its row to READERS.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from pedaltrainer.pedals.events import SwitchEdge

SWITCH_CONTROLLERS = range(64, 70)
DOWN_FROM = 64


class SwitchName(NamedTuple):
    """Which switch on a device: kind is "controller" or "note", channel is 1-16."""

    kind: str
    number: int
    channel: int

    def __str__(self) -> str:
        return f"{self.kind} {self.number} on channel {self.channel}"


@dataclass(frozen=True, slots=True)
class Moved:
    """One message's word on one switch: its level now."""

    switch: SwitchName
    down: bool


@dataclass(frozen=True, slots=True)
class Released:
    """One message's word on many: every switch of this kind on this channel is up."""

    kind: str
    channel: int


Reading = Moved | Released

_MODE_RELEASES: Mapping[int, str] = {
    120: "note",
    121: "controller",
    **dict.fromkeys(range(123, 128), "note"),
}


def _control_change(message: Any) -> Reading | None:
    number, channel = message.control, message.channel + 1
    if number in SWITCH_CONTROLLERS:
        return Moved(SwitchName("controller", number, channel), message.value >= DOWN_FROM)
    if number in _MODE_RELEASES:
        return Released(_MODE_RELEASES[number], channel)
    return None


def _note_on(message: Any) -> Reading:
    return Moved(SwitchName("note", message.note, message.channel + 1), message.velocity > 0)


def _note_off(message: Any) -> Reading:
    return Moved(SwitchName("note", message.note, message.channel + 1), False)


READERS: Mapping[str, Callable[[Any], Reading | None]] = {
    "control_change": _control_change,
    "note_on": _note_on,
    "note_off": _note_off,
}
"""mido's message type -> what it says of a switch. One row a message kind."""


def read(message: Any) -> Reading | None:
    """What a mido message says of a switch, or None when it says nothing."""
    reader = READERS.get(message.type)
    return reader(message) if reader else None


@dataclass(frozen=True, slots=True)
class SwitchState:
    """Which switches of one device are down; every other one is up.

    A pedal that streams its position (70, 75, 80 ...) repeats a level it
    already has: that is no edge.
    """

    held: frozenset[SwitchName] = frozenset()

    def step(self, message: Any, t_s: float, device: str) -> tuple[SwitchState, tuple[SwitchEdge, ...]]:
        """Take one mido message that arrived at t_s; return the new state and its edges.

        At most one edge, save for the channel mode messages, which can
        release several switches (in the order of their names).
        """
        match read(message):
            case Moved(switch, down) if down != (switch in self.held):
                held = self.held | {switch} if down else self.held - {switch}
                return SwitchState(held), (SwitchEdge(t_s, device, str(switch), down),)
            case Released(kind, channel):
                gone = sorted(name for name in self.held if name.kind == kind and name.channel == channel)
                edges = tuple(SwitchEdge(t_s, device, str(name), False) for name in gone)
                return SwitchState(self.held.difference(gone)), edges
            case _:
                return self, ()
