"""MIDI clock for whatever follows: which message falls on which sample of a track. Pure.

MIDI 1.0 Detailed Specification, "System Real Time Messages" (from memory): 24 timing clocks a quarter note,
also while stopped, so that a follower knows the tempo; after Start or Continue the next clock is the first
beat. Song Position counts sixteenths, six clocks each, and is sent while stopped.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.track import BarAndBeat, Track

CLOCKS_A_QUARTER = 24
CLOCK, START, CONTINUE, STOP = b"\xf8", b"\xfa", b"\xfb", b"\xfc"
MOST_SIXTEENTHS = 16_383
"""Song Position is a number of 14 bits."""


@dataclass(frozen=True, slots=True)
class ClockMessage:
    """A message of the clock, and its sample of the track."""

    sample: int
    data: bytes


def clock_of(track: Track, rate: int = RATE, sixteenths: int = 0) -> tuple[ClockMessage, ...]:
    """The clock of a track that is counted in and then played to its end, in order of time.

    Clocks run from the first beat of the count-in on; Start comes half a clock before the first beat after
    it, and Stop ends the track. With `sixteenths`, how many of the song lie before the track, Song Position
    comes first of all, and Continue in place of Start. Every place is worked out from the start of the track.
    """
    first = next(number for number, bar in enumerate(track.bars) if not bar.counts_in)
    where = min(sixteenths, MOST_SIXTEENTHS)
    messages = []
    for number, bar in enumerate(track.bars):
        clocks = int(4 * CLOCKS_A_QUARTER * bar.beat_unit)
        half_s = Fraction(60) / Fraction(str(bar.tempo_bpm)) / clocks / 2
        for clock in range(bar.beats * clocks):
            at_s = track.seconds_at(BarAndBeat(number, Fraction(clock, clocks)))
            if number == first and clock == 0:
                goes_on = CONTINUE if where else START
                messages.append(ClockMessage(max(0, round((at_s - half_s) * rate)), goes_on))
            messages.append(ClockMessage(round(at_s * rate), CLOCK))
    if where:
        messages.insert(0, ClockMessage(0, bytes((0xF2, where & 0x7F, where >> 7))))
    return (*messages, ClockMessage(round(track.seconds * rate), STOP))
