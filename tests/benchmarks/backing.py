"""What a backing costs: making it cold, and the callback with and without it, while a worker makes more.

    python -m tests.benchmarks.backing

A cold take begins with no sound kept; eight landings with the count-in. The callback's work is a mixer's
block of 512 frames (10.7 ms of sound), 20,000 of them, beside itself without a backing in the same run.
"""

from __future__ import annotations

import subprocess
import sys
import threading
import time

import numpy as np

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import take_track
from pedaltrainer.timing.backing.feels import Backing, Feel
from pedaltrainer.timing.backing.mix import render
from pedaltrainer.timing.backing.parts import notes_of
from pedaltrainer.timing.click import Mixer, SoundBank
from pedaltrainer.timing.track import Track, click_samples

COLD = """
import time
from tests.benchmarks.backing import made, take
track = take({tempo})
began = time.perf_counter()
made(track)
print((time.perf_counter() - began) * 1000)
"""


def take(tempo_bpm: float) -> Track:
    return take_track(parse_drill("Am E"), tempo_bpm, 8, 4)


def made(track: Track, feel: Feel = Feel.STRAIGHT) -> np.ndarray:
    clicks = [sample for sample, _ in click_samples(track)]
    return render(notes_of(track, Backing(feel, pad=True)), clicks, 0, round(track.seconds * 48_000))


def blocks(mixer: Mixer, count: int = 20_000) -> np.ndarray:
    """Microseconds of each block."""
    spent = np.empty(count)
    for number in range(count):
        began = time.perf_counter()
        mixer.mix(number * 512, 512)
        spent[number] = (time.perf_counter() - began) * 1e6
        time.sleep(0)
    return spent


def main() -> None:
    for tempo in (40, 97, 240):
        words = [sys.executable, "-c", COLD.format(tempo=tempo)]
        cold = sorted(
            float(subprocess.run(words, capture_output=True, text=True, check=True).stdout) for _ in range(7)
        )
        print(f"a cold take of eight landings at {tempo} BPM: {cold[3]:.0f} ms, most {cold[-1]:.0f}")
    track = take_track(parse_drill("Am E"), 97, 64, 4)
    pcm = made(track)
    print(f"kept of it: {pcm.nbytes / float(track.seconds) / 1000:.0f} kB a second")
    found = {}
    for name, backed, worker in (
        ("bare", False, False),
        ("backed", True, False),
        ("backed, worker", True, True),
    ):
        mixer = Mixer(SoundBank(48_000, 0.4))
        if backed:
            for at in range(0, 20_000 * 512, len(pcm)):
                mixer.back(pcm, at)
        mixer.schedule(click_samples(track))
        stop = threading.Event()

        def work(stop: threading.Event = stop) -> None:
            while not stop.is_set():
                made(take(97))

        thread = threading.Thread(target=work, daemon=True)
        if worker:
            sys.setswitchinterval(0.0005)
            thread.start()
        spent = blocks(mixer)
        stop.set()
        found[name] = spent
        print(f"{name:16} median {np.median(spent):6.1f} us, p99 {np.percentile(spent, 99):6.0f} us")
    ratio = np.median(found["backed"]) / np.median(found["bare"])
    print(f"backed / bare: {ratio:.1f}")


if __name__ == "__main__":
    main()
