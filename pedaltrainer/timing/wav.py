"""The click and practice tracks as sound files, rendered by the mixer that plays them live."""

from __future__ import annotations

import wave
from collections.abc import Callable, Sequence
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.system.files import OTHER_FILE, whole_file
from pedaltrainer.system.patience import Waiting, in_silence
from pedaltrainer.timing.backing.feels import Backing
from pedaltrainer.timing.backing.mix import render
from pedaltrainer.timing.backing.parts import notes_of
from pedaltrainer.timing.click import (
    DEFAULT_VOLUME,
    ClickPlan,
    Mixer,
    Pcm,
    Sound,
    SoundBank,
    onsets,
    plan_end_sample,
)
from pedaltrainer.timing.grid import RATE, check_tempo
from pedaltrainer.timing.track import LONGEST_S, Track, click_samples


def render_wav(
    path: str | Path,
    plan: ClickPlan,
    volume: float = DEFAULT_VOLUME,
    block: int = 512,
) -> None:
    """Write a plan as a mono 16-bit PCM WAV; sample 0 of the file is sample 0 of the plan's stream.

    The file appears whole or not at all. Raises InputError when it cannot be written there.
    """
    _render(path, onsets(plan, RATE), plan_end_sample(plan, RATE), volume, block)


def render_track(
    path: str | Path,
    track: Track,
    volume: float = DEFAULT_VOLUME,
    waiting: Waiting = in_silence,
    backing: Backing | None = None,
) -> None:
    """Write a practice track as a mono 16-bit PCM WAV; sample 0 of the file is the start of its first bar.

    Raises InputError when it cannot be written there.
    """
    clicks, end = click_samples(track, RATE), round(track.seconds * RATE)
    if backing is None:
        _render(path, clicks, end, volume, RATE, waiting)
        return
    notes, samples = notes_of(track, backing), [sample for sample, _ in clicks]

    def beneath(low: int, high: int) -> Pcm:
        return render(notes, samples, low, high)

    _render(path, clicks, end, volume, RATE, waiting, beneath, volume * backing.level)


def _render(
    path: str | Path,
    clicks: Sequence[tuple[int, Sound]],
    end: int,
    volume: float,
    block: int,
    waiting: Waiting = in_silence,
    beneath: Callable[[int, int], Pcm] | None = None,
    backing_gain: float = 0.0,
) -> None:
    """Mix clicks, in order of time, into a file that lasts until `end`, or until the last has sounded.

    beneath: the samples of the backing from one sample to before another.
    """
    bank = SoundBank(RATE, volume)
    mixer = Mixer(bank)
    mixer.backing_gain = backing_gain
    mixer.schedule(clicks)
    end = max(end, clicks[-1][0] + len(bank[Sound.ACCENT]))
    with (
        whole_file(path, private=False, mend=OTHER_FILE) as file,
        wave.open(file, "wb") as track,
    ):
        track.setnchannels(1)
        track.setsampwidth(2)
        track.setframerate(RATE)
        for start in waiting(range(0, end, block), "Writing"):
            frames = min(block, end - start)
            if beneath is not None:
                mixer.back(beneath(start, start + frames), start)
            track.writeframes(mixer.mix(start, frames).astype("<i2").tobytes())


def render_click(
    tempo_bpm: float,
    bars: int,
    out: str | Path,
    beats_per_bar: int = 4,
    accent: bool = True,
    offbeat: bool = True,
    count_in_beats: int = 4,
    volume: float = DEFAULT_VOLUME,
) -> None:
    """Write a practice track; with offbeat on, the softer mark comes before every beat.

    Raises InputError for a tempo outside 20-300, fewer than 1 bar or 1 beat a
    bar, a negative count-in, a volume outside 0-1, a track over four hours, or
    a file that cannot be written.
    """
    check_tempo(tempo_bpm)
    for value, least, words in (
        (bars, 1, "number of bars"),
        (beats_per_bar, 1, "number of beats in a bar"),
        (count_in_beats, 0, "count-in"),
    ):
        if value < least:
            raise InputError(f"A {words} of {value} makes no track; give {least} or more.")
    beats = bars * beats_per_bar
    if (beats + count_in_beats) * 60 / tempo_bpm > LONGEST_S:
        raise InputError(f"{bars} bars at {tempo_bpm:g} BPM last over four hours; give fewer bars.")
    plan = ClickPlan(0, tempo_bpm, count_in_beats, beats, beats_per_bar, accent, offbeat)
    render_wav(out, plan, volume)
