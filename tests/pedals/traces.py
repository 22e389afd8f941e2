"""Traces: what each kind of switch sends, recorded by construction as timestamped bytes.

A trace is made of presses, as asked in the kind detection, on one switch; on
it are laid: bounce (a contact that chatters), half presses (a pedal that
trembles around its middle) and a flood (clock, sensing, pitch, other
controllers). Every entry is one whole message, as RtMidi and PortMidi deliver
them; `tests/pedals/test_traces.py` cuts the joined bytes with other parsers.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from pedaltrainer.pedals.kinds import SwitchKind

Stamped = tuple[float, bytes]
"""Seconds, and the bytes of one message."""

SHORT_S, LONG_S, APART_S, FIRST_S = 0.12, 1.0, 3.0, 2.0
PRESS_LENGTHS_S = (SHORT_S, LONG_S, SHORT_S, LONG_S)


@dataclass(frozen=True, slots=True)
class Trace:
    """presses_s: when the foot went down. ups_s: when it came up, whether or not the switch says so."""

    name: str
    kind: SwitchKind
    switch: str
    messages: tuple[Stamped, ...]
    presses_s: tuple[float, ...]
    ups_s: tuple[float, ...]
    own: frozenset[bytes] = field(default=frozenset(), compare=False)

    def between(self, start_s: float, end_s: float) -> tuple[Stamped, ...]:
        return tuple(stamped for stamped in self.messages if start_s <= stamped[0] < end_s)


def controller(number: int, channel: int = 1) -> Callable[[int], bytes]:
    return lambda value: bytes((0xB0 | channel - 1, number, value))


def note(number: int, channel: int = 1, velocity: int = 100) -> Callable[[int], bytes]:
    """Value 0 is a note-off written as a note-on with velocity 0."""
    return lambda value: bytes((0x90 | channel - 1, number, velocity if value else 0))


def note_with_off(number: int, channel: int = 1) -> Callable[[int], bytes]:
    return lambda value: bytes((0x90 | channel - 1, number, 90)) if value else bytes((0x80, number, 64))


def program(number: int, channel: int = 1) -> Callable[[int], bytes]:
    return lambda value: bytes((0xC0 | channel - 1, number))


def pitch_wheel(channel: int = 1) -> Callable[[int], bytes]:
    return lambda value: bytes((0xE0 | channel - 1, 0, value))


def pressure(channel: int = 1) -> Callable[[int], bytes]:
    return lambda value: bytes((0xD0 | channel - 1, value))


def fourteen_bits(number: int, channel: int = 1) -> Callable[[int], bytes]:
    """Coarse and fine part, two messages; the fine part jumps about."""
    status = 0xB0 | channel - 1
    return lambda value: bytes((status, number, value, status, number + 32, value * 37 % 128))


Moves = Callable[[int, float, float], list[tuple[float, int]]]
"""(number of the press, down at, up at) -> values and their times."""


def momentary(on: int = 127, off: int = 0) -> Moves:
    return lambda number, down_s, up_s: [(down_s, on), (up_s, off)]


def latching(first: int = 127, second: int = 0) -> Moves:
    return lambda number, down_s, up_s: [(down_s, second if number % 2 else first)]


def press_only(value: int = 127) -> Moves:
    return lambda number, down_s, up_s: [(down_s, value)]


def pulse(length_s: float) -> Moves:
    """A press that lets go by itself, however long the foot stays."""
    return lambda number, down_s, up_s: [(down_s, 127), (down_s + length_s, 0)]


def travel(rest: int, far: int, step: int = 8, tremble: Sequence[int] = ()) -> Moves:
    """Out and back through the values between; trembling where it has arrived."""

    def moves(number: int, down_s: float, up_s: float) -> list[tuple[float, int]]:
        out = [*range(rest, far, step if far > rest else -step), far]
        # The middle of the way is where the foot has gone down.
        way_s = min(0.05, (up_s - down_s) / 3)
        there = [(down_s + way_s * place / len(out), value) for place, value in enumerate(out)]
        still = [(down_s + way_s + 0.001 * place, far + shift) for place, shift in enumerate(tremble)]
        back = [(up_s + way_s * place / len(out), value) for place, value in enumerate(reversed(out))]
        return [*there, *still, *back]

    return moves


def chattering(moves: Moves, gaps_ms: Sequence[float] = (1.0, 0.7, 2.1, 1.2)) -> Moves:
    """Each change comes with there-and-backs between the old value and the new."""

    def chatter(number: int, down_s: float, up_s: float) -> list[tuple[float, int]]:
        found: list[tuple[float, int]] = []
        for t_s, value in moves(number, down_s, up_s):
            found.append((t_s, value))
            for place, at_ms in enumerate(itertools.accumulate(gaps_ms)):
                found.append((t_s + at_ms / 1000, value if place % 2 else 127 - value))
        return found

    return chatter


def flood(start_s: float, end_s: float, channel: int = 1) -> list[Stamped]:
    """Clock at 120 BPM, sensing every 270 ms, a wheel, pressure and three knobs, for the whole time."""
    found: list[Stamped] = []
    for message, every_s in (
        (lambda place: b"\xf8", 60 / 120 / 24),
        (lambda place: b"\xfe", 0.27),
        (lambda place: bytes((0xE0 | channel - 1, place % 128, place * 5 % 128)), 0.011),
        (lambda place: bytes((0xD0 | channel - 1, place * 3 % 128)), 0.017),
        (lambda place: bytes((0xB0 | channel - 1, (1, 7, 11)[place % 3], place * 11 % 128)), 0.007),
        (lambda place: bytes((0xF0, 0x7D, place % 128, 0xF7)), 0.31),
    ):
        for place in range(int((end_s - start_s) / every_s)):
            found.append((start_s + place * every_s, message(place)))
    return found


def record(
    name: str,
    kind: SwitchKind,
    switch: str,
    say: Callable[[int], bytes],
    moves: Moves,
    flooded: bool = False,
    lengths_s: Sequence[float] = PRESS_LENGTHS_S,
) -> Trace:
    presses = [FIRST_S + APART_S * place for place in range(len(lengths_s))]
    ups = [down_s + length_s for down_s, length_s in zip(presses, lengths_s, strict=True)]
    messages: list[Stamped] = []
    for number, (down_s, up_s) in enumerate(zip(presses, ups, strict=True)):
        for t_s, value in moves(number, down_s, up_s):
            data = say(value)
            # A 14-bit value is two messages of three bytes.
            parts = [data[:3], data[3:]] if len(data) == 6 else [data]
            messages += [(t_s, part) for part in parts]
    own = frozenset(data for _, data in messages)
    if flooded:
        messages += flood(0.0, ups[-1] + 1.0)
    messages.sort(key=lambda stamped: stamped[0])
    return Trace(name, kind, switch, tuple(messages), tuple(presses), tuple(ups), own)


_K = SwitchKind
_DAMPER, _BUTTON, _NOTE = "controller 64 on channel 1", "controller 80 on channel 3", "note 36 on channel 10"
_SWITCHES: Mapping[str, tuple[str, Callable[[int], bytes]]] = {
    "damper": (_DAMPER, controller(64)),
    "button": (_BUTTON, controller(80, 3)),
    "note": (_NOTE, note(36, 10)),
    "note with note-off": ("note 60 on channel 1", note_with_off(60)),
    "fine part number used as a switch": ("controller 35 on channel 1", controller(35)),
}
_MOVES: Mapping[str, tuple[SwitchKind, Moves]] = {
    "momentary": (_K.MOMENTARY, momentary()),
    "reversed": (_K.REVERSED, momentary(0, 127)),
    "latching": (_K.LATCHING, latching()),
    "latching, beginning with off": (_K.LATCHING, latching(0, 127)),
    "press-only": (_K.PRESS_ONLY, press_only()),
    "pulse": (_K.PRESS_ONLY, pulse(0.003)),
    "slow pulse": (_K.PRESS_ONLY, pulse(0.080)),
}
_CLICKS = ("press-only", "pulse", "slow pulse")


def _library() -> list[Trace]:
    found: list[Trace] = []
    for on_what, (switch, say) in _SWITCHES.items():
        for how, (kind, moves) in _MOVES.items():
            for flooded in (False, True):
                wet = ", flooded" if flooded else ", clean"
                found.append(record(f"{how} {on_what}{wet}", kind, switch, say, moves, flooded))
                if how not in _CLICKS:
                    bouncing = chattering(moves)
                    found.append(
                        record(f"{how} {on_what}, bouncing{wet}", kind, switch, say, bouncing, flooded)
                    )
    for flooded in (False, True):
        wet = ", flooded" if flooded else ", clean"
        for name, kind, switch, say, moves in (
            ("half-pressed damper", _K.CONTINUOUS, _DAMPER, controller(64), travel(0, 96, 6, (2, -3, 1, -2))),
            ("expression", _K.CONTINUOUS, "controller 12 on channel 2", controller(12, 2), travel(0, 127)),
            (
                "expression, reversed",
                _K.REVERSED,
                "controller 12 on channel 2",
                controller(12, 2),
                travel(127, 0),
            ),
            ("14-bit pedal", _K.CONTINUOUS, "controller 4 on channel 1", fourteen_bits(4), travel(3, 120, 5)),
            ("pitch wheel", _K.CONTINUOUS, "pitch wheel on channel 5", pitch_wheel(5), travel(64, 127, 5)),
            ("pressure", _K.CONTINUOUS, "pressure on channel 6", pressure(6), travel(0, 110, 9)),
            ("weak values", _K.MOMENTARY, _BUTTON, controller(80, 3), momentary(20, 0)),
            ("high values", _K.MOMENTARY, _BUTTON, controller(80, 3), momentary(127, 70)),
            ("program", _K.PRESS_ONLY, "program 5 on channel 1", program(5), press_only()),
        ):
            found.append(record(name + wet, kind, switch, say, moves, flooded))
    return found


LIBRARY: tuple[Trace, ...] = tuple(_library())
