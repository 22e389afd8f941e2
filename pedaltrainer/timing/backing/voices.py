"""How bass, pad and drums sound: each note a few sines or a little noise, made by numpy. Pure.

Every voice begins on its first sample. None has much between 650 and 1900 Hz, where the clicks are: they
have to be heard over it. Levels are peaks of the loudest note, 1 = full scale. What sounds together stays
below CEILING: drums are struck on beats, where a click ducks all by half.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from pedaltrainer.timing.backing.feels import Voice
from pedaltrainer.timing.backing.parts import BandNote
from pedaltrainer.timing.strum import A4_HZ, A4_MIDI

Wave = npt.NDArray[np.float32]

CEILING = 0.42
LEVELS: Mapping[Voice, float] = {
    Voice.BASS: 0.40,
    Voice.KICK: 0.40,
    Voice.SNARE: 0.31,
    Voice.BRUSH: 0.22,
    Voice.HAT: 0.08,
    Voice.PAD: 0.12,
}
LONGEST_S = 3.0
RELEASE_S = 0.015
PAD_RISES_S, PAD_FALLS_S = 0.08, 0.12
PAD_LOOP_S = 2
_PARTIALS = (0.7, 0.9, 0.7, 0.5, 0.4, 0.3, 0.2, 0.15)
CLEAR_OF_CLICKS_HZ = 600.0
"""No partial of bass or pad is above this."""


def sound_of(note: BandNote, rate: int) -> Wave:
    """A note's samples, of shape (n,), n <= note.length."""
    if note.voice is Voice.BASS:
        dark, light = _plucked(note.midi, rate)
        gain = np.float32(note.gain * LEVELS[Voice.BASS])
        wave: Wave = (dark[: note.length] + np.float32(note.bright) * light[: note.length]) * gain
        return _let_go(wave, RELEASE_S, rate) if len(wave) == note.length else wave
    if note.voice is Voice.PAD:
        wave = np.resize(_bowed(note.midi, rate), note.length)
        wave *= np.float32(note.gain * LEVELS[Voice.PAD])
        rises = min(note.length, round(PAD_RISES_S * rate))
        wave[:rises] *= np.linspace(0, 1, rises, dtype=np.float32)
        return _let_go(wave, PAD_FALLS_S, rate)
    soft, hard = _struck(note.voice, note.take, rate)
    wave = (soft + np.float32(note.bright) * (hard - soft)) * np.float32(note.gain * LEVELS[note.voice])
    return wave[: note.length]


def _let_go(wave: Wave, release_s: float, rate: int) -> Wave:
    """It ends quietly, on its last sample."""
    release = min(len(wave), round(release_s * rate))
    wave[len(wave) - release :] *= np.linspace(1, 0, release, dtype=np.float32)
    return wave


def _hz(midi: int) -> float:
    return float(A4_HZ * 2 ** ((midi - A4_MIDI) / 12))


@lru_cache(maxsize=64)
def _plucked(midi: int, rate: int) -> tuple[Wave, Wave]:
    """A plucked string: its low partials, and its higher ones; both together peak below 1 at any mix.

    The higher a partial, the sooner it is gone. Each pitch is as loud as the others over its first quarter
    of a second.
    """
    time_s = np.arange(round(LONGEST_S * rate), dtype=np.float32) / np.float32(rate)
    pitch_hz = _hz(midi)
    parts = []
    for numbers in ((1, 2, 3), (4, 5, 6, 7, 8)):
        wave = np.zeros(len(time_s), np.float32)
        for number in numbers:
            if number * pitch_hz <= CLEAR_OF_CLICKS_HZ:
                phase = np.float32(2 * np.pi * number * pitch_hz) * time_s
                # A cosine among sines, so that the first sample is not zero.
                decay = np.exp(-time_s * np.float32(0.7 + 0.4 * number))
                wave += np.cos(phase) * decay * np.float32(_PARTIALS[number - 1])
        parts.append(wave)
    rises = np.minimum(1, np.float32(0.1) + time_s / np.float32(0.004))
    dark, light = parts[0] * rises, parts[1] * rises
    begins = slice(0, round(rate / 4))
    as_loud = np.float32(0.28) / np.sqrt(np.mean((dark + light / 2)[begins] ** 2))
    dark, light = dark * as_loud, light * as_loud
    peak = max(1.0, float(np.abs(dark).max() + np.abs(light).max()))
    return dark / np.float32(peak), light / np.float32(peak)


@lru_cache(maxsize=64)
def _bowed(midi: int, rate: int) -> Wave:
    """A soft held tone that can be looped: of whole periods, out of tune by 3 cents at the most."""
    time_s = np.arange(PAD_LOOP_S * rate, dtype=np.float32) / np.float32(rate)
    pitch_hz = round(_hz(midi) * PAD_LOOP_S) / PAD_LOOP_S
    wave = np.sin(np.float32(2 * np.pi * pitch_hz) * time_s)
    if 2 * pitch_hz <= CLEAR_OF_CLICKS_HZ:
        wave = (wave + 0.25 * np.sin(np.float32(4 * np.pi * pitch_hz) * time_s)) / 1.25
    tone: Wave = wave.astype(np.float32)
    return tone


@lru_cache(maxsize=64)
def _struck(voice: Voice, take: int, rate: int) -> tuple[Wave, Wave]:
    """A drum struck softly and hard, each with a peak of 1."""
    noise = np.random.default_rng((7, take, list(Voice).index(voice)))
    if voice is Voice.KICK:
        return _kick(rate, 0.055, take), _kick(rate, 0.075, take)
    if voice is Voice.HAT:
        return _hiss(noise, rate, 0.09, 0.012, 7000, 13000), _hiss(noise, rate, 0.09, 0.022, 6000, 13000)
    if voice is Voice.BRUSH:
        return _hiss(noise, rate, 0.14, 0.045, 2800, 7000), _hiss(noise, rate, 0.14, 0.035, 3200, 9000)
    rattle = _hiss(noise, rate, 0.18, 0.04, 2800, 8000), _hiss(noise, rate, 0.18, 0.05, 2800, 9500)
    skin = _skin(rate, 0.18, 188 + take)
    return _peaked(rattle[0] + skin), _peaked(1.3 * rattle[1] + skin)


def _kick(rate: int, decay_s: float, take: int) -> Wave:
    """A sine that falls from 130 Hz to 48 Hz."""
    time_s = np.arange(round(0.3 * rate)) / rate
    turns = 48 * time_s + (82 + take) * 0.028 * (1 - np.exp(-time_s / 0.028))
    return _peaked(np.cos(2 * np.pi * turns) * np.exp(-time_s / decay_s) * _edges(time_s, 0.3, 0.002))


def _skin(rate: int, length_s: float, pitch_hz: float) -> Wave:
    time_s = np.arange(round(length_s * rate)) / rate
    wave = np.cos(2 * np.pi * pitch_hz * time_s) * np.exp(-time_s / 0.045) * _edges(time_s, length_s, 0.001)
    return _peaked(wave)


def _hiss(
    noise: np.random.Generator, rate: int, length_s: float, decay_s: float, low_hz: float, high_hz: float
) -> Wave:
    """Noise between two pitches, its edges an octave's third wide, that dies away."""
    time_s = np.arange(round(length_s * rate)) / rate
    spectrum = np.fft.rfft(noise.standard_normal(2 * len(time_s)))
    octaves = np.log2(np.maximum(np.fft.rfftfreq(2 * len(time_s), 1 / rate), 1.0))
    passed = np.clip((octaves - np.log2(low_hz)) * 3 + 1, 0, 1) * np.clip(
        (np.log2(high_hz) - octaves) * 3 + 1, 0, 1
    )
    wave = np.fft.irfft(spectrum * passed)[: len(time_s)]
    return _peaked(wave * np.exp(-time_s / decay_s) * _edges(time_s, length_s, 0.0005))


def _edges(time_s: npt.NDArray[np.float64], length_s: float, rises_s: float) -> npt.NDArray[np.float64]:
    """It begins at a quarter of its level, without a hard edge, and ends at nothing."""
    edges: npt.NDArray[np.float64] = (0.25 + 0.75 * np.clip(time_s / rises_s, 0, 1)) * np.clip(
        (length_s - time_s) / 0.01, 0, 1
    )
    return edges


def _peaked(wave: npt.NDArray[np.floating]) -> Wave:
    peaked: Wave = (wave / np.abs(wave).max()).astype(np.float32)
    return peaked
