"""Ten minutes of clicks at four tempos, in the file and live: python -m tests.benchmarks.click_placement"""

from __future__ import annotations

import sys
import tempfile
import wave
from pathlib import Path

import numpy as np

from pedaltrainer.timing.wav import render_click
from tests.timing.hearing import TEMPOS_BPM, live_onsets, onset_samples

RATE = 48_000


def main(minutes: float) -> int:
    """Print the worst error and the drift of each recording, in samples; 0 when all are 0."""
    wrong = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for tempo_bpm in TEMPOS_BPM:
            bars = round(minutes * tempo_bpm / 4)
            expected = np.array([round(k * 60 * RATE / tempo_bpm) for k in range(bars * 4 + 4)])
            render_click(tempo_bpm, bars, folder / "click.wav", offbeat=False)
            with wave.open(str(folder / "click.wav")) as track:
                written = onset_samples(np.frombuffer(track.readframes(track.getnframes()), np.int16))
            start, heard = live_onsets(tempo_bpm, bars * 4, folder, offbeat=False)
            for place, found in (("file", written), ("live", heard - start)):
                if len(found) != len(expected):
                    print(f"{tempo_bpm:6g} BPM {place}: {len(found)} clicks of {len(expected)}")
                    wrong += 1
                    continue
                error = found - expected
                drift = int(error[-1] - error[0])
                print(
                    f"{tempo_bpm:6g} BPM {place}: {len(found)} clicks, "
                    f"worst error {abs(error).max()} samples, drift {drift} samples"
                )
                wrong += bool(error.any())
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0))
