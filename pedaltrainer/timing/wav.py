"""The click as a file: a practice track, rendered by the mixer that plays it live."""

from __future__ import annotations

import contextlib
import os
import tempfile
import wave
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.timing.click import (
    DEFAULT_VOLUME,
    ClickPlan,
    Mixer,
    Sound,
    SoundBank,
    onsets,
    plan_end_sample,
)
from pedaltrainer.timing.grid import RATE, check_tempo

LONGEST_S = 4 * 3600


def render_wav(
    path: str | Path,
    plan: ClickPlan,
    volume: float = DEFAULT_VOLUME,
    rate: int = RATE,
    block: int = 512,
) -> None:
    """Write a plan as a mono 16-bit PCM WAV; sample 0 of the file is sample 0 of the plan's stream.

    The file appears whole or not at all: it is written beside its place and
    renamed. Raises InputError when it cannot be written there.
    """
    target = Path(path)
    mixer = Mixer(SoundBank(rate, volume))
    clicks = onsets(plan, rate)
    mixer.schedule(clicks)
    tail = len(SoundBank(rate, volume)[Sound.ACCENT])
    end = max(plan_end_sample(plan, rate), clicks[-1][0] + tail)
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=".click-", suffix=".part", dir=target.parent)
        part = Path(name)
        with os.fdopen(handle, "wb") as file, wave.open(file, "wb") as track:
            track.setnchannels(1)
            track.setsampwidth(2)
            track.setframerate(rate)
            for start in range(0, end, block):
                frames = min(block, end - start)
                track.writeframes(mixer.mix(start, frames).astype("<i2").tobytes())
        # mkstemp makes files private; a practice track is an ordinary file.
        umask = os.umask(0)
        os.umask(umask)
        part.chmod(0o666 & ~umask)
        part.replace(target)
        part = None
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(f"{target} cannot be written ({why}); choose another file with --out.") from error
    finally:
        if part is not None:
            with contextlib.suppress(OSError):
                part.unlink()


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
