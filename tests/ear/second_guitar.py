"""Another guitar in the same room as a take."""

from __future__ import annotations

import numpy as np

from tests.ear.instruments import Instrument, Wave
from tests.ear.made_up import DRILLS, Sitting, expected_of
from tests.ear.strummed import Hand, Room, strummed

WAYS = ("same drill", "same beat", "own beat")


def with_second(rng: np.random.Generator, one: Sitting, take: Wave, other: Instrument, way: str) -> Wave:
    """A take (n,) with another guitar beside it, from 8 dB softer to 3 dB louder."""
    expected, delay_ms = one.expected, one.room.delay_ms
    if way != "same drill":
        own = way == "own beat"
        tempo_bpm = float(rng.integers(60, 121)) if own else 60 / expected.beat_s
        expected = expected_of(str(rng.choice([name for name in DRILLS if name != _drill(one)])), tempo_bpm)
        delay_ms = float(rng.uniform(0, 1500)) if own else delay_ms
    room = Room(None, 60, delay_ms, one.room.rough)
    second, _ = strummed(expected, Hand(other, rng), room)
    second = np.pad(second, (0, max(0, len(take) - len(second))))[: len(take)]
    loud = 10 ** (rng.uniform(-8, 3) / 20) * _level(take) / _level(second)
    both = take + (second * loud).astype(np.float32)
    mixed: Wave = both * np.float32(0.5 / max(0.5, float(np.abs(both).max())))
    return mixed


def _drill(one: Sitting) -> str:
    return " ".join(dict.fromkeys(landing.chord for landing in one.expected.landings))


def _level(wave: Wave) -> float:
    """The amplitude of its louder moments."""
    frames = wave[: len(wave) // 480 * 480].reshape(-1, 480)
    return float(np.sqrt(np.percentile((frames**2).mean(axis=1), 90)))
