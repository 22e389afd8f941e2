"""How late sound reaches the ear by what PulseAudio tells (or PipeWire in its place); others tell nothing.

`pactl` tells of each stream how much of it waits (its buffer) and how long the sink takes. It is asked at any
moment between two callbacks, and what waits is most just after one: half a block is added.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import time
from collections.abc import Iterator
from statistics import median
from typing import Any

from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.sound_device import driver

ASKED, APART_S, PATIENCE_S = 7, 0.037, 2.0
"""How often it is asked, and how far apart: no whole number of blocks."""
AGREE_S, MOST_ROUNDS, MOST_S = 0.003, 12, 1.0


def told_latency_s(frames: int) -> float | None:
    """Seconds from a callback to the ear, of this process's stream; None where that is not told.

    For about a second after its start the server tells far too much: it is asked until two rounds agree,
    which takes from one to six seconds.
    """
    if driver() != "pulseaudio":
        return None
    before_s = math.inf
    for _ in range(MOST_ROUNDS):
        round_s = _round_s()
        if round_s is None:
            return None
        if abs(round_s - before_s) <= AGREE_S:
            told_s = round_s + frames / RATE / 2
            return told_s if 0 < told_s <= MOST_S else None
        before_s = round_s
    return None


def _round_s() -> float | None:
    """The middle of a few answers; None without any."""
    found: list[float] = []
    for _ in range(ASKED):
        found += _asked()
        time.sleep(APART_S)
    return median(found) if found else None


def _asked() -> Iterator[float]:
    try:
        said = subprocess.run(
            ["pactl", "--format=json", "list", "sink-inputs"],
            capture_output=True,
            timeout=PATIENCE_S,
            check=True,
            env=os.environ | {"LC_ALL": "C"},
        ).stdout
        streams = json.loads(said)
    except (OSError, subprocess.SubprocessError, ValueError):
        return
    yield from latencies_in(streams, os.getpid())


def latencies_in(streams: Any, pid: int) -> Iterator[float]:
    """The latency of each stream of a process, in seconds, from what `pactl` says; of what is not as expected
    nothing."""
    for stream in streams if isinstance(streams, list) else []:
        try:
            if stream["properties"]["application.process.id"] == str(pid):
                yield (float(stream["buffer_latency_usec"]) + float(stream["sink_latency_usec"])) / 1e6
        except (KeyError, TypeError, ValueError):
            continue
