"""A strummed chord as it sounds: plucked strings, one after the other. Pure.

A string is a ring of noise, as long as one period, that is averaged with its own next sample at every round:
K. Karplus and A. Strong, "Digital synthesis of plucked-string and drum timbres", Computer Music Journal 7(2),
1983. That such a ring is half a sample longer than its cells, and that a factor a round shortens the ring of
low strings, is from D. A. Jaffe and J. O. Smith, "Extensions of the Karplus-Strong plucked-string algorithm",
in the same number.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pedaltrainer.timing.click import FULL_SCALE, Pcm
from pedaltrainer.timing.grid import RATE

STRUM_LEVEL = 0.25
"""The peak at full volume, 1 = full scale: two strums, two acknowledgements and a count fit below it."""
RING_S = 2.4
"""From the first string until all is quiet."""
SPREAD_S = 0.022
"""From one string to the next, lowest first: a slow downstroke (common practice, no published source)."""
BETWEEN_CHORDS_S = 1.4
QUIETER_BY_60_DB_S = 3.0
ATTACK_S = 0.004
FADE_S = 0.4
A4_HZ, A4_MIDI = 440.0, 69

_Wave = npt.NDArray[np.float64]


def strum(chords: Sequence[Sequence[int]], rate: int = RATE, volume: float = 1.0) -> Pcm:
    """Chords strummed one after the other, int16 of shape (n,).

    chords: of each the MIDI note numbers of its strings, lowest string first; one without any is left out.
    volume: 0 to 1, as the click's. The same chords always give the same sound.
    """
    heard = [chord for chord in chords if chord]
    between, ring = round(BETWEEN_CHORDS_S * rate), round(RING_S * rate)
    wave = np.zeros(between * max(0, len(heard) - 1) + ring)
    for place, chord in enumerate(heard):
        for string, midi in enumerate(chord):
            start = place * between + round(string * SPREAD_S * rate)
            # The next chord takes the hand off this one.
            left = between if place < len(heard) - 1 else ring
            end = place * between + left
            wave[start:end] += pluck(midi, end - start, rate, seed=string)
    peak = float(np.abs(wave).max(initial=0.0)) or 1.0
    pcm: Pcm = np.round(wave / peak * STRUM_LEVEL * volume * FULL_SCALE).astype(np.int16)
    return pcm


def pluck(midi: int, samples: int, rate: int = RATE, seed: int = 0) -> _Wave:
    """One string, plucked, of shape (samples,), its peak about 1; it begins and ends quietly."""
    pitch_hz = A4_HZ * 2 ** ((midi - A4_MIDI) / 12)
    cells = max(2, round(rate / pitch_hz - 0.5))
    # Whole cells give a pitch a little off; the wave is read at another pace to be right.
    pace = pitch_hz * (cells + 0.5) / rate
    ring = _ring(cells, int(samples * pace) + 2, 10 ** (-3 / (QUIETER_BY_60_DB_S * pitch_hz)), seed)
    wave = np.interp(np.arange(samples) * pace, np.arange(len(ring)), ring)
    time_s = np.arange(samples) / rate
    left_s = (samples - time_s * rate) / rate
    shaped: _Wave = wave * np.clip(time_s / ATTACK_S, 0, 1) * np.clip(left_s / FADE_S, 0, 1)
    return shaped


def _ring(cells: int, samples: int, loss: float, seed: int) -> _Wave:
    """y[n] = loss * (y[n - cells] + y[n - cells - 1]) / 2, begun with noise, a round at a time."""
    noise = np.random.default_rng(seed).uniform(-1, 1, cells)
    rounds = -(-samples // cells)
    wave = np.zeros((rounds + 1) * cells + 1)
    wave[1 : cells + 1] = noise - noise.mean()
    for start in range(cells + 1, len(wave), cells):
        before = wave[start - cells : start]
        wave[start : start + cells] = loss * (before + wave[start - cells - 1 : start - 1]) / 2
    return wave[1 : samples + 1]
