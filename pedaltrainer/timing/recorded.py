"""A recording read from a WAV file, as one channel at our rate."""

from __future__ import annotations

import io
import warnings
from math import gcd
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from pedaltrainer.errors import InputError
from pedaltrainer.system.reading import read_bytes
from pedaltrainer.timing.grid import RATE

MOST_BYTES = 200_000_000
SLOWEST_RATE, FASTEST_RATE = 8_000, 192_000


def read_wav(path: Path) -> npt.NDArray[np.float64]:
    """(n,) samples at 48 kHz, full scale 1; several channels are averaged.

    Raises InputError for what is no WAV file of sound, is empty, or over 200 MB.
    """
    # Loaded only when a recording is read: it is slow to start.
    from scipy.io import wavfile
    from scipy.signal import resample_poly

    raw = read_bytes(path, MOST_BYTES)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            rate, pcm = wavfile.read(io.BytesIO(raw))
    except Exception as trouble:  # the reader meets odd bytes with errors of many kinds
        raise InputError(f"{path} is no WAV file that can be read; record or export it as WAV.") from trouble
    if not SLOWEST_RATE <= rate <= FASTEST_RATE:
        raise InputError(f"{path} has {rate} samples a second; record it with 44100 or 48000.")
    if not pcm.size:
        raise InputError(f"{path} has no sound in it; record it again.")
    samples = _scaled(pcm)
    if samples.ndim == 2:
        samples = samples.mean(axis=1)
    if not np.isfinite(samples).all():
        raise InputError(f"{path} has samples that are no numbers; export it again, with 16 bits.")
    if rate != RATE:
        part = gcd(rate, RATE)
        samples = resample_poly(samples, RATE // part, rate // part)
    found: npt.NDArray[np.float64] = samples
    return found


def _scaled(pcm: npt.NDArray[Any]) -> npt.NDArray[np.float64]:
    samples = pcm.astype(np.float64)
    if pcm.dtype.kind == "u":
        samples = samples / 128 - 1
    elif pcm.dtype.kind == "i":
        samples /= 2 ** (8 * pcm.dtype.itemsize - 1)
    return samples
