"""Made-up takes played string by string: the shape is held, its strings are picked a beat each, then all are
strummed. What a string does that is not held well is our own guess: a thud of a few hundredths of a second.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pedaltrainer.ear.expected import Expected
from pedaltrainer.timing.grid import RATE
from tests.ear.instruments import Wave, at_pitch
from tests.ear.strummed import OPEN, Hand, Room, in_room, put, struck

FAULTS = ("dead", "half", "beside", "skipped")
DULL_S, HALF_S = (0.015, 0.050), (0.07, 0.14)
"""In how long a dead string's sound falls to a third, and one's that is half muted."""


def picked(
    expected: Expected, hand: Hand, room: Room, faults: Mapping[int, str] | None = None
) -> tuple[Wave, list[float]]:
    """Samples of the take (48 kHz), and where each stroke begins. faults: by landing, "dead", "half" (muted),
    "beside" (a fret too high) or "skipped"; in the strum a string is as it was by itself."""
    rng, rough, faults = hand.rng, room.rough, faults or {}
    end_s = expected.landings[-1].at_s + 0.8 + room.delay_ms / 1000
    out = np.zeros(round(end_s * RATE), np.float32)
    truth, hold = [], 0
    parts: list[tuple[float, float, Wave]] = []
    silent: dict[int, str] = {}
    lasts: dict[int, int] = {}
    touch, place = rng.uniform(1500, 5000), rng.uniform(0.12, 0.2)
    fade = rng.uniform(0, 1.2)
    for number, landing in enumerate(expected.landings):
        sounding = [string for string, fret in enumerate(landing.shape.frets) if fret is not None]
        sd_s = 0.035 if rough else 0.018
        at = landing.at_s + room.delay_ms / 1000 + float(np.clip(rng.normal(0, sd_s), -2 * sd_s, 2 * sd_s))
        fault, strum = faults.get(number, ""), len(sounding) > 1
        if strum:
            hold += 1
        if fault == "skipped":
            truth.append(float("nan"))
            continue
        if fault:
            silent[sounding[0]] = fault
        length_s = rng.uniform(0.01, 0.05) if strum else 0.0
        for step, string in enumerate(sounding):
            start = at + length_s * step / max(1, len(sounding) - 1)
            muted = silent.get(string, "")
            wave = _string(
                rng, hand, string, landing.shape.frets[string] or 0, muted, rough, touch, place, fade
            )
            if string in lasts:
                before = parts[lasts[string]]
                parts[lasts[string]] = (before[0], start, before[2])
            lasts[string] = len(parts)
            parts.append((start, end_s, wave))
        truth.append(at)
        if strum:
            # The hand comes off before the next hold: what was fretted stops, open strings may ring on.
            off = landing.at_s + room.delay_ms / 1000 + expected.beat_s * rng.uniform(0.8, 1.1)
            for string, at_part in lasts.items():
                if landing.shape.frets[string] or rng.random() < 0.5:
                    parts[at_part] = (parts[at_part][0], off, parts[at_part][2])
            lasts, silent = {}, {}
    for start, until, wave in parts:
        put(out, start, wave, until)
    return in_room(expected, hand, room, out, [at for at in truth if at == at]), truth


def _string(rng, hand, string, fret, muted, rough, touch, place, fade) -> Wave:  # type: ignore[no-untyped-def]
    note = OPEN[string] + fret + (muted == "beside")
    pitch_hz = 440 * 2 ** ((note - 69) / 12)
    wave = at_pitch(hand.instrument.notes[note], hand.cents[string] + rng.normal(0, 1.5))
    wave = struck(wave, touch * rng.uniform(0.8, 1.25), pitch_hz, place + rng.normal(0, 0.01))
    time = np.arange(len(wave), dtype=np.float32) / RATE
    level = 0.2 * 10 ** (rng.normal(0, 4.0 if rough else 2.5) / 20)
    if muted in {"dead", "half"}:
        low, high = DULL_S if muted == "dead" else HALF_S
        cutoff = rng.uniform(500, 1200) if muted == "dead" else rng.uniform(900, 2500)
        wave = struck(wave, cutoff, pitch_hz, 0.0) * np.exp(-time / rng.uniform(low, high))
    return (wave * np.exp(-time * fade) * level).astype(np.float32)


def alone(room: Room) -> Room:
    return replace(room, rough=False)
