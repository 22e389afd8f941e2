"""Find the onsets in recorded sound without knowing how it was made."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt

QUIET_S = 0.005
TEMPOS_BPM = (40, 97, 133.5, 240)

# Runs a real AudioStream; prints the first sample of the plan once all of it has been handed over.
CHILD = """
import sys, time
from fractions import Fraction
from pedaltrainer.timing.click import ClickPlan, plan_end_sample
from pedaltrainer.timing.stream import AudioStream
tempo_bpm, beats, offbeat = float(sys.argv[1]), int(sys.argv[2]), sys.argv[3] == "True"
stream = AudioStream(0.4)
start = round(stream.health().seconds * stream.rate) + 20 * stream.rate + 137
plan = ClickPlan(start, tempo_bpm, 4, beats, offbeat=offbeat)
stream.play(plan)
until_s = plan_end_sample(plan, stream.rate) / stream.rate + 0.2
while stream.health().seconds < until_s and not stream.lost:
    time.sleep(0.02)
health = stream.health()
stream.close()
assert not health.trouble and not health.missed_clicks and not stream.lost, health
print("start", start)
"""


def onset_samples(pcm: npt.NDArray[np.int16], rate: int = 48_000) -> npt.NDArray[np.int64]:
    """Samples at which sound begins after at least QUIET_S of digital silence."""
    loud = np.flatnonzero(pcm)
    first = np.ones(len(loud), dtype=bool)
    first[1:] = np.diff(loud) > QUIET_S * rate
    return loud[first]


def live_onsets(
    tempo_bpm: float, beats: int, folder: Path, offbeat: bool
) -> tuple[int, npt.NDArray[np.int64]]:
    """Play a plan through SDL's disk driver; the plan's first sample and the onsets, in stream samples.

    The driver writes whole blocks of silence before the stream starts, so the
    file's own zero is found from the first onset and must lie on a block's edge.
    """
    raw = folder / "heard.raw"
    env = dict(os.environ, SDL_AUDIODRIVER="disk", SDL_DISKAUDIOFILE=str(raw), SDL_DISKAUDIODELAY="0")
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(tempo_bpm), str(beats), str(offbeat)],
        env=env,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    start = int(done.stdout.split("start")[1])
    left, right = np.fromfile(raw, dtype=np.int16).reshape(-1, 2).T
    raw.unlink()
    assert (left == right).all()
    found = onset_samples(left)
    silence_before = int(found[0]) - start
    assert silence_before >= 0
    assert silence_before % 512 == 0
    return start, found - silence_before
