"""What is heard: the clicks of a take, the sounds themselves, and their mixing.

`onsets` says when, `SoundBank` holds what, `Mixer` adds them up block by
block. The live stream and the WAV file use the same three, so a practice
track and the trainer cannot differ.
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from pedaltrainer.errors import InputError
from pedaltrainer.timing.grid import RATE, BeatGrid, check_tempo

Pcm = npt.NDArray[np.int16]

DEFAULT_VOLUME = 0.4
ATTACK_S = 0.001
FADE_S = 0.004
FULL_SCALE = 32_767
ACKS_AT_ONCE = 2
STRUMS_AT_ONCE = 2
LATE_FADE_S, STOP_FADE_S = 0.005, 0.040


class Sound(StrEnum):
    """Every sound there is: four of the beat, five that acknowledge."""

    COUNT = "count"
    ACCENT = "accent"
    BEAT = "beat"
    OFFBEAT = "offbeat"
    PASS = "pass"
    FAIL = "fail"
    NEXT = "next"
    PRESS = "press"
    REST = "rest"


BEAT_SOUNDS = frozenset({Sound.COUNT, Sound.ACCENT, Sound.BEAT, Sound.OFFBEAT})


@dataclass(frozen=True, slots=True)
class _Voice:
    """A decaying sine that glides from one pitch to another.

    level is the peak at full volume, 1 = full scale. The levels leave headroom
    for the worst that can sound together: the last beat and off-beat of a
    stopped take, the first of the next, and two acknowledgements.
    """

    level: float
    length_s: float
    decay_s: float
    from_hz: float
    to_hz: float


_VOICES = {
    Sound.COUNT: _Voice(0.26, 0.060, 0.014, 587.3, 587.3),
    Sound.ACCENT: _Voice(0.28, 0.060, 0.012, 1568.0, 1568.0),
    Sound.BEAT: _Voice(0.24, 0.050, 0.010, 1046.5, 1046.5),
    Sound.OFFBEAT: _Voice(0.09, 0.035, 0.007, 784.0, 784.0),
    Sound.PASS: _Voice(0.10, 0.180, 0.070, 440.0, 880.0),
    Sound.FAIL: _Voice(0.10, 0.200, 0.080, 330.0, 165.0),
    Sound.NEXT: _Voice(0.10, 0.120, 0.045, 660.0, 660.0),
    Sound.PRESS: _Voice(0.10, 0.060, 0.018, 247.0, 220.0),
    Sound.REST: _Voice(0.10, 0.450, 0.200, 392.0, 294.0),
}
BEAT_HZ = tuple(_VOICES[sound].from_hz for sound in Sound if sound in BEAT_SOUNDS)
"""The pitches of the beat."""


@dataclass(frozen=True, slots=True)
class ClickPlan:
    """The clicks of one take. start_sample is the first COUNT-IN beat.

    The first landing is beat number count_in_beats of the grid. The hand lifts
    `lift` of a beat before each chord; chords land on the beats lands_on, counted from the first landing
    (None: on every beat).
    Raises InputError for a tempo outside 20-300 BPM, ValueError for counts
    that no take has (no beats, a negative count-in, lift outside 0-1).
    """

    start_sample: int
    tempo_bpm: float
    count_in_beats: int
    beats: int
    beats_per_bar: int = 4
    accent: bool = True
    offbeat: bool = True
    lift: Fraction = Fraction(1, 2)
    lands_on: tuple[Fraction, ...] | None = None

    def __post_init__(self) -> None:
        check_tempo(self.tempo_bpm)
        if self.count_in_beats < 0 or min(self.beats, self.beats_per_bar) < 1:
            raise ValueError("a plan needs a count-in of 0 or more, and at least 1 beat a plan and a bar")
        if not 0 < self.lift < 1:
            raise ValueError("the hand lifts more than 0 and less than 1 beat before it lands")


def onsets(plan: ClickPlan, rate: int = RATE) -> list[tuple[int, Sound]]:
    """Every click of a plan as (sample, sound), in order of time.

    The off-beat mark sounds where the hand lifts: before every landing, the
    first included when there is a count-in, so that the last count already
    says "lift, land". None follows the last beat: that chord may ring.
    """
    grid = BeatGrid(plan.start_sample, plan.tempo_bpm, rate)
    first = plan.count_in_beats
    clicks = [(grid.sample(beat), Sound.COUNT) for beat in range(first)]
    for beat in range(plan.beats):
        strong = plan.accent and beat % plan.beats_per_bar == 0
        clicks.append((grid.sample(first + beat), Sound.ACCENT if strong else Sound.BEAT))
    if plan.offbeat:
        clicks += [
            (grid.sample(float(first + beat - plan.lift)), Sound.OFFBEAT)
            for beat in (range(plan.beats) if plan.lands_on is None else plan.lands_on)
            if first + beat - plan.lift >= 0
        ]
    return sorted(clicks)


def plan_end_sample(plan: ClickPlan, rate: int = RATE) -> int:
    """The sample at which the last beat is over: where one more beat would begin."""
    return BeatGrid(plan.start_sample, plan.tempo_bpm, rate).sample(plan.count_in_beats + plan.beats)


class SoundBank:
    """Every sound, rendered once: `bank[Sound.BEAT]` is an int16 array of shape (n,).

    A sound starts on its first sample, at a quarter of its level, and is
    at its level a millisecond later: exact to place, without a hard edge.
    Raises InputError unless 0 <= volume <= 1.
    """

    def __init__(self, rate: int = RATE, volume: float = DEFAULT_VOLUME) -> None:
        if not 0 <= volume <= 1:
            raise InputError(f"A volume of {volume:g} cannot be set; give one from 0 (silent) to 1.")
        self.rate = rate
        self.volume = volume
        self._pcm = {sound: _render(voice, rate, volume) for sound, voice in _VOICES.items()}

    def __getitem__(self, sound: Sound) -> Pcm:
        return self._pcm[sound]


def _render(voice: _Voice, rate: int, volume: float) -> Pcm:
    time_s = np.arange(round(voice.length_s * rate)) / rate
    glide = (voice.to_hz - voice.from_hz) / (2 * voice.length_s)
    # A cosine, not a sine: the first sample must not be zero, or the onset would be a sample late.
    wave = np.cos(2 * np.pi * (voice.from_hz * time_s + glide * time_s**2))
    attack = 0.25 + 0.75 * np.clip(time_s / ATTACK_S, 0, 1)
    fade = np.clip((voice.length_s - time_s) / FADE_S, 0, 1)
    shape = wave * attack * np.exp(-time_s / voice.decay_s) * fade
    pcm: Pcm = np.round(shape * voice.level * volume * FULL_SCALE).astype(np.int16)
    return pcm


@dataclass(slots=True)
class _Piece:
    """Samples of a backing from `at` on. They rise from `rises_at` and fade from `fades_at`, where one is."""

    at: int
    pcm: Pcm
    tag: str
    rises_at: int | None = None
    fades_at: int | None = None

    def part(self, start: int, end: int, rate: int) -> tuple[int, npt.NDArray[np.float32]]:
        """What of it lies in the block [start, end), and where that begins."""
        low = max(self.at, start)
        wave = self.pcm[max(0, low - self.at) : max(0, end - self.at)].astype(np.float32)
        for since, ramp in ((self.rises_at, _RISING), (self.fades_at, _FADING)):
            if since is not None:
                length = round((LATE_FADE_S if ramp is _RISING else STOP_FADE_S) * rate)
                wave *= np.interp(np.arange(low, low + len(wave)), (since, since + length), ramp)
        return low, wave

    def is_over(self, end: int, rate: int) -> bool:
        faded = self.fades_at is not None and self.fades_at + STOP_FADE_S * rate <= end
        return faded or self.at + len(self.pcm) <= end


_RISING, _FADING = (0.0, 1.0), (1.0, 0.0)


class Mixer:
    """Adds scheduled sounds into consecutive blocks.

    One thread schedules, one mixes. Orders go through a deque, whose append
    and popleft are atomic, so neither ever waits for the other. A plan's sound
    scheduled for a time already mixed is left out and counted in `missed`:
    a click in the wrong place is worse than none.
    """

    def __init__(self, bank: SoundBank) -> None:
        self._bank = bank
        self._orders: deque[Callable[[int], None]] = deque()
        self._waiting: list[tuple[int, Sound, str]] = []
        self._sounding: list[tuple[int, Sound]] = []
        self._strummed: list[tuple[int, Pcm]] = []
        self._backing: list[_Piece] = []
        self._backed = ""
        self.backing_gain = 1.0
        self.missed = 0

    def sound_as(self, bank: SoundBank) -> None:
        """From the next block on the sounds are these; they are as long as those before."""
        self._bank = bank

    def schedule(self, clicks: Iterable[tuple[int, Sound]], tag: str = "") -> None:
        """Let sounds begin on the given samples."""
        entries = [(sample, sound, tag) for sample, sound in clicks]
        self._orders.append(lambda start: self._add(entries))

    def soon(self, sound: Sound) -> None:
        """Let a sound begin with the next block."""
        self._orders.append(lambda start: self._add([(start, sound, "")]))

    def strum(self, pcm: Pcm) -> None:
        """Let a sound that is no part of the bank begin with the next block; no third one beside two."""
        self._orders.append(lambda start: self._strum(start, pcm))

    def back(self, pcm: Pcm, at: int, tag: str = "") -> None:
        """Let a piece of a backing sound from a sample on, beneath the sounds of this tag.

        One that comes late begins in its place, softly. One whose tag is no longer played is left out.
        """
        self._orders.append(lambda start: self._back(start, _Piece(at, pcm, tag)))

    def let_back(self, tag: str) -> None:
        """From now on a backing sounds beneath this tag; what sounds fades."""
        self._orders.append(lambda start: self._let_back(start, tag))

    def drop_after(self, sample: int, tag: str) -> None:
        """Forget the sounds with this tag that would begin at or after `sample`; what sounds rings out."""
        self._orders.append(lambda start: self._drop(sample, tag))

    def mix(self, start_sample: int, frames: int) -> Pcm:
        """The block [start_sample, start_sample + frames) as int16 of shape (frames,)."""
        while self._orders:
            self._orders.popleft()(start_sample)
        end = start_sample + frames
        while self._waiting and self._waiting[0][0] < end:
            sample, sound, _ = heapq.heappop(self._waiting)
            if sample < start_sample:
                self.missed += 1
            elif sound in BEAT_SOUNDS or self._acks() < ACKS_AT_ONCE:
                self._sounding.append((sample, sound))
        if not self._sounding and not self._strummed and not self._backing:
            return np.zeros(frames, np.int16)
        total = np.zeros(frames, np.int32)
        for onset, pcm in (*((o, self._bank[s]) for o, s in self._sounding), *self._strummed):
            low, high = max(onset, start_sample), min(onset + len(pcm), end)
            if high > low:
                total[low - start_sample : high - start_sample] += pcm[low - onset : high - onset]
        for piece in self._backing:
            low, wave = piece.part(start_sample, end, self._bank.rate)
            total[low - start_sample : low - start_sample + len(wave)] += np.rint(
                wave * np.float32(self.backing_gain)
            ).astype(np.int32)
        self._backing = [piece for piece in self._backing if not piece.is_over(end, self._bank.rate)]
        self._sounding = [(o, s) for o, s in self._sounding if o + len(self._bank[s]) > end]
        self._strummed = [(onset, pcm) for onset, pcm in self._strummed if onset + len(pcm) > end]
        block: Pcm = np.clip(total, -FULL_SCALE, FULL_SCALE).astype(np.int16)
        return block

    def _acks(self) -> int:
        return sum(sound not in BEAT_SOUNDS for _, sound in self._sounding)

    def _add(self, entries: list[tuple[int, Sound, str]]) -> None:
        for entry in entries:
            heapq.heappush(self._waiting, entry)

    def _strum(self, start: int, pcm: Pcm) -> None:
        if len(self._strummed) < STRUMS_AT_ONCE:
            self._strummed.append((start, pcm))

    def _back(self, start: int, piece: _Piece) -> None:
        if piece.tag == self._backed and piece.at + len(piece.pcm) > start:
            piece.rises_at = start if piece.at < start else None
            self._backing.append(piece)

    def _let_back(self, start: int, tag: str) -> None:
        self._backed = tag
        for piece in self._backing:
            piece.fades_at = start if piece.fades_at is None else piece.fades_at
        self._backing = [piece for piece in self._backing if piece.at < start]

    def _drop(self, sample: int, tag: str) -> None:
        self._waiting = [entry for entry in self._waiting if entry[2] != tag or entry[0] < sample]
        heapq.heapify(self._waiting)
