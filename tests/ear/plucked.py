"""A guitar worked out from formulas, for tests that need some guitar and no package: decaying partials."""

from __future__ import annotations

import numpy as np

from tests.ear.instruments import HIGHEST, LOWEST, NOTE_S, RATE, Instrument


def plucked() -> Instrument:
    """Partials of a string struck at a sixth of its length, the high ones shorter (from memory)."""
    time, phases = np.arange(round(NOTE_S * RATE)) / RATE, np.random.default_rng(1)
    notes = {}
    for note in range(LOWEST, HIGHEST + 1):
        first = 440 * 2 ** ((note - 69) / 12)
        wave = np.zeros(len(time))
        for k in range(1, min(16, int(6000 / first)) + 1):
            level = (0.05 + abs(np.sin(np.pi * k / 6))) / k
            wave += (
                level
                * np.exp(-time * (1.2 + 0.5 * k))
                * np.sin(2 * np.pi * k * first * np.sqrt(1 + 6e-5 * k * k) * time + phases.uniform(0, 6))
            )
        notes[note] = (wave / np.abs(wave).max()).astype(np.float32)
    return Instrument("plucked", notes)
