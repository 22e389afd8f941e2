"""Takes of a MIDI guitar, made up: what a player strums, and what a converter makes of it.

Every rate is from memory or our own guess (common practice, no published source): the lower a string the
later its note, since a converter waits for a period or two; octaves are taken for each other; soft notes are
lost.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import mido
import numpy as np

from pedaltrainer.ear.expected import Expected
from pedaltrainer.timing.played_notes import PlayedNote
from tests.ear.made_up import DRILLS, KINDS, OTHERS, expected_of, shape_of
from tests.ear.strummed import OPEN, Fault, faulty

MESSAGE_S = 0.00096
"""A note-on of three bytes, ten bits each at 31.25 kbit/s (MIDI 1.0)."""


@dataclass(frozen=True)
class Rates:
    """How often a converter errs, of notes; and ghosts, of landings. sd_ms: of the player's timing.

    muted_sends: how often a string that is stopped dead sends something all the same.
    """

    octave: float = 0.01
    lost: float = 0.001
    astray: float = 0.001
    twice: float = 0.02
    ghosts: float = 0.15
    pulled: float = 0.05
    gap_stroke: float = 0.0
    sd_ms: float = 8.0
    muted_sends: float = 0.2


STANDARD = Rates()
ROUGH = Rates(0.03, 0.007, 0.004, 0.06, 0.4, 0.15, 0.12, 15.0)


@dataclass
class Played:
    """A guitar and its converter. lag_s: per string, lowest first. channels: per string."""

    rng: np.random.Generator
    rates: Rates
    channels: tuple[int, ...]
    slowest_ms: tuple[float, float] = (20, 40)
    lag_s: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        low, high = self.rng.uniform(*self.slowest_ms), self.rng.uniform(5, 10)
        self.lag_s = np.geomspace(low, high, 6) / 1000


def tracked(
    expected: Expected, played: Played, delay_s: float, faults: Mapping[int, Fault] | None = None
) -> tuple[list[PlayedNote], list[float]]:
    """The notes of a take, and where each landing begins, in s after its place (nan: not struck)."""
    rng, rates, faults = played.rng, played.rates, faults or {}
    raw: list[tuple[float, int, int]] = []
    truth = []
    held: Sequence[int | None] = (None,) * 6

    def comes(at: float, string: int, note: int) -> None:
        lag = played.lag_s[string] * (1 + rng.normal(0, 0.12)) + abs(rng.normal(0, 0.001))
        raw.append((at + lag, int(np.clip(note, 0, 127)), string))

    for number, landing in enumerate(expected.landings):
        fault = faults.get(number, Fault())
        sd_s = rates.sd_ms / 1000
        late = float(np.clip(rng.normal(0, sd_s), -2 * sd_s, 2 * sd_s)) + fault.late_ms / 1000
        at = landing.at_s + delay_s + late
        lift = at - expected.beat_s * rng.uniform(0.25, 0.5)
        for string, fret in enumerate(held):
            if fret and rng.random() < rates.pulled:
                comes(lift + rng.uniform(0, 0.03), string, OPEN[string])
        if rng.random() < rates.gap_stroke:
            for string in range(6):
                comes(lift + 0.05 + 0.004 * string, string, OPEN[string])
        for _ in range(rng.poisson(rates.ghosts)):
            string = int(rng.integers(6))
            fret = int(rng.choice([0, landing.shape.frets[string] or 0, int(rng.integers(0, 6))]))
            comes(at + rng.uniform(-0.3, 0.3), string, OPEN[string] + fret)
        if fault.absent:
            truth.append(float("nan"))
            continue
        truth.append(late)
        held = fault.frets or landing.shape.frets
        order = [string for string, fret in enumerate(held) if fret is not None]
        if rng.random() < 0.1:
            order.reverse()
        length = rng.uniform(0.010, 0.055)
        for place, string in enumerate(order):
            begins = at + length * place / max(1, len(order) - 1)
            note = OPEN[string] + int(held[string] or 0)
            if string in fault.dead:
                if rng.random() < rates.muted_sends:
                    comes(begins, string, note + int(rng.choice([12, 12, -1, 1, 5, 7])))
                continue
            if string in fault.muffled and rng.random() < 0.5:
                if rng.random() < 0.4:
                    comes(begins, string, note + int(rng.choice([12, -1, 1])))
                continue
            if rng.random() < rates.lost:
                continue
            if rng.random() < rates.octave:
                note += int(rng.choice([12, 12, -12]))
            elif rng.random() < rates.astray:
                note += int(rng.choice([-1, 1, 5, 7]))
            comes(begins, string, note)
            if rng.random() < rates.twice:
                comes(begins + rng.uniform(0.03, 0.12), string, note)
    sent, free_s = [], -1.0
    for t_s, note, string in sorted(raw):
        free_s = max(t_s, free_s + MESSAGE_S)
        if free_s >= 0:
            sent.append(PlayedNote(free_s, note, played.channels[string]))
    return sent, truth


def as_midi(notes: Sequence[PlayedNote]) -> bytes:
    """A file of them, at 120 BPM and 480 ticks a quarter: the recorder knows nothing of the drill."""
    track, before = mido.MidiTrack(), 0
    for one in notes:
        tick = round(one.t_s * 960)
        track.append(
            mido.Message("note_on", channel=one.channel, note=one.note, velocity=80, time=tick - before)
        )
        before = tick
    written = io.BytesIO()
    mido.MidiFile(tracks=[track]).save(file=written)
    return written.getvalue()


@dataclass(frozen=True)
class TrackedSitting:
    """References, then takes: their notes, the kind of each fault, and where each landing begins."""

    expected: Expected
    references: tuple[list[PlayedNote], ...]
    takes: tuple[tuple[list[PlayedNote], dict[int, str], list[float]], ...]


HEXAPHONIC, ONE_CHANNEL = (5, 4, 3, 2, 1, 0), (0,) * 6


def tracked_sitting(
    seed: int, rates: Rates = STANDARD, channels: tuple[int, ...] = HEXAPHONIC, takes: int = 4,
    same_start: bool = True, slowest_ms: tuple[float, float] = (20, 40),
) -> TrackedSitting:  # fmt: skip
    """Half of the takes have one to three faults. same_start: the recorder begins each file alike."""
    rng = np.random.default_rng(seed)
    expected = expected_of(str(rng.choice(DRILLS)), float(rng.integers(60, 121)))
    played = Played(rng, rates, channels, slowest_ms)
    starts = rng.uniform(0, 2, takes + 2) if not same_start else np.full(takes + 2, rng.uniform(0, 0.25))
    references = tuple(tracked(expected, played, float(start))[0] for start in starts[:2])
    others = [shape_of(chord).frets for chord in OTHERS]
    made = []
    for start in starts[2:]:
        faults, named = {}, {}
        if rng.random() < 0.5:
            for at in rng.choice(len(expected.landings), int(rng.integers(1, 4)), replace=False):
                kind = str(rng.choice(list(KINDS)))
                faults[int(at)] = faulty(rng, kind, expected.landings[int(at)].shape.frets, others)
                named[int(at)] = kind
        notes, truth = tracked(expected, played, float(start), faults)
        made.append((notes, named, truth))
    return TrackedSitting(expected, references, tuple(made))
