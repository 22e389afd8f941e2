"""The click that reaches the microphone: when it begins, what the room makes of it, and the take without it.

The click is known to the sample; what is unknown is the delay, found by a matched filter, and the way through
loudspeaker and room, found by dividing the spectrum of what came by that of what was played, averaged over
all clicks of one sound (regularised least squares).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.fft import fft, ifft, irfft, next_fast_len, rfft, rfftfreq
from scipy.signal import hilbert

from pedaltrainer.ear.expected import Expected
from pedaltrainer.timing.click import SoundBank
from pedaltrainer.timing.grid import RATE

Samples = npt.NDArray[np.float64]

BAND_HZ = (500.0, 1800.0)
"""Where the clicks are; the filter looks nowhere else."""
HEARD_FROM = 0.5
"""Likeness of the count-in to its clicks, 0-1, from which a click is believed to be there."""
RESPONSE_S, TAPER_S = 0.075, 0.025
SLOW_RATE = 8000


@dataclass(frozen=True, slots=True)
class ClickFound:
    """delay_s: when the first beat of the count-in sounds in the recording. likeness: 0-1."""

    delay_s: float
    likeness: float


def find_click(samples: Samples, expected: Expected) -> ClickFound:
    """Where the clicks before the first landing are most like what is heard. samples: (n,) at 48 kHz."""
    first = expected.landings[0].at_s
    clicks = [click for click in expected.clicks if click[0] < first] or list(expected.clicks)
    step = RATE // SLOW_RATE
    slow, bank = band(samples, *BAND_HZ)[::step], SoundBank(RATE, 1.0)
    train = np.zeros(round((clicks[-1][0] + 0.08) * RATE))
    support = np.zeros_like(train)
    for at_s, sound in clicks:
        pcm = bank[sound]
        start = round(at_s * RATE)
        train[start : start + len(pcm)] += pcm / 32768
        support[start : start + len(pcm)] = 1
    known = band(train, *BAND_HZ)[::step]
    known = hilbert(known, next_fast_len(len(known)))[: len(known)]
    size = next_fast_len(len(slow) + len(known))
    spectrum = fft(slow, size)
    met = np.abs(ifft(spectrum * np.conj(fft(known, size))))
    energy = ifft(fft(slow**2, size) * np.conj(fft(support[::step], size))).real
    floor = 1e-4 * float(energy.max()) + 1e-12
    # The known click is analytic: its energy is twice that of the sound.
    likeness = met / np.sqrt(np.maximum(energy, floor) * float((np.abs(known) ** 2).sum()) / 2)
    # A recording may have begun a moment into the count-in.
    early = round(0.1 * SLOW_RATE)
    last = max(1, len(slow) - round((first + 0.2) * SLOW_RATE))
    order = np.concatenate((likeness[-early:], likeness[:last]))
    best = int(order.argmax())
    # What the room adds comes after: the way there is as long as to half of the peak, and from there to the
    # peak as in the click itself.
    alone = np.abs(ifft(np.abs(fft(known, size)) ** 2))
    half = int(np.argmax(alone < alone[0] / 2))
    level = np.concatenate((met[-early:], met[:last]))[max(0, best - 4 * half) : best + 1]
    first_half = max(0, best - 4 * half) + int(np.argmax(level >= level[-1] / 2))
    return ClickFound((first_half + half - early) / SLOW_RATE, min(1.0, float(order[best])))


def without_click(samples: Samples, expected: Expected, delay_s: float) -> Samples:
    """The recording less what its clicks have become on their way. samples: (n,) at 48 kHz."""
    length, taper = round(RESPONSE_S * RATE), round(TAPER_S * RATE)
    size = 1 << length.bit_length()
    fade = np.ones(length)
    fade[-taper:] = np.linspace(1, 0, taper)
    bank, places = SoundBank(RATE, 1.0), defaultdict(list)
    for at_s, sound in expected.clicks:
        start = round((at_s + delay_s) * RATE) - 48
        if start >= 0 and start + length <= len(samples):
            places[sound].append(start)
    left = samples.copy()
    for sound, starts in places.items():
        came = np.stack([samples[start : start + length] for start in starts])
        dry = np.zeros(length)
        dry[48 : 48 + len(bank[sound])] = bank[sound][: length - 48] / 32768
        known = rfft(dry, size)
        # Where the guitar sounds along with a click it is noise here: such a click counts for less.
        weight = 1 / ((came**2).sum(axis=1) + 1e-9)
        mean = np.average(came, axis=0, weights=weight) * fade
        power = np.abs(known) ** 2
        way = rfft(mean, size) * np.conj(known) / (power + 0.003 * power.max())
        model = irfft(way * known, size)[:length] * fade
        gain = _gain(came, model, weight)
        for start in starts:
            left[start : start + length] -= gain * model
    return left


def _gain(came: Samples, model: Samples, weight: Samples) -> float:
    """How much of the model there is in what came: never more than all of it."""
    energy = float((model**2).sum())
    return float(np.clip(np.average(came @ model, weights=weight) / energy, 0, 1)) if energy else 0.0


def band(samples: Samples, from_hz: float, to_hz: float) -> Samples:
    """What lies between two frequencies, in its place. samples: (n,) at 48 kHz."""
    # Of a length that has large prime factors the transform is slow.
    size = next_fast_len(len(samples), real=True)
    spectrum = rfft(samples, size)
    hz = rfftfreq(size, 1 / RATE)
    spectrum[(hz < from_hz) | (hz > to_hz)] = 0
    out: Samples = irfft(spectrum, size)[: len(samples)]
    return out
