"""When a chord begins to sound.

Onset function: logarithmic spectral flux against a maximum over neighbouring bins, which ignores vibrato (S.
Böck and G. Widmer, Maximum filter vibrato suppression for onset detection, DAFx-13); then back to the first
string of the strum, and to a millisecond or two on the energy of the highs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.fft import rfft, rfftfreq

from pedaltrainer.ear.leak import Samples, band
from pedaltrainer.timing.click import BEAT_HZ
from pedaltrainer.timing.grid import RATE

FRAME, HOP, LAG = 512, 120, 4
LOW_HZ, HIGH_HZ = 250.0, 9000.0
BEFORE_S, BEFORE_BEATS, AFTER_S, AFTER_BEATS = 0.130, 0.28, 0.330, 0.48
BACK_S, RISE, FINE_RISE = 0.045, 0.35, 0.08
"""A strum is spread over so much at most; its first string makes this share of the flux of its fullest
one."""
FINE_HZ, FINE_WITH_CLICK_HZ, FINE = 1200.0, 2000.0, 48
NEAR_CLICK_HZ = 120.0


@dataclass(frozen=True, slots=True, eq=False)
class Flux:
    """A value each 2.5 ms. energy: of the bins that count, in the same places; fine: of the highs, each
    ms."""

    values: Samples
    energy: Samples
    fine: Samples

    def between(self, from_s: float, to_s: float) -> slice:
        """The frames whose middle lies in a time."""
        first = max(0, int(np.ceil((from_s * RATE - FRAME / 2) / HOP)))
        return slice(first, max(first, int((to_s * RATE - FRAME / 2) / HOP) + 1))


@dataclass(frozen=True, slots=True)
class Onset:
    """at_s: in the recording. strength: the flux; rise: by what the energy rises."""

    at_s: float
    strength: float
    rise: float


def flux_of(samples: Samples, with_click: bool) -> Flux:
    """Of a recording (n,) at 48 kHz. with_click: leave out the bins in which the clicks sound."""
    frames = sliding_window_view(samples, FRAME)[::HOP] * np.hanning(FRAME)
    size = np.abs(rfft(frames, axis=1))
    hz = rfftfreq(FRAME, 1 / RATE)
    counts = (hz >= LOW_HZ) & (hz <= HIGH_HZ)
    if with_click:
        for pitch in BEAT_HZ:
            counts &= np.abs(hz - pitch) > NEAR_CLICK_HZ
    loud = float(np.percentile(size[:, counts].max(axis=1), 95)) or 1.0
    log = np.log1p(size / (0.01 * loud))
    most = np.maximum(np.maximum(log[:, :-2], log[:, 1:-1]), log[:, 2:])
    most = np.concatenate((log[:, :1], most, log[:, -1:]), axis=1)
    rises = np.zeros(len(log))
    rises[LAG:] = np.maximum(0, log[LAG:] - most[:-LAG])[:, counts].mean(axis=1)
    energy = (size[:, counts] ** 2).sum(axis=1)
    return Flux(rises, energy, energies(samples, FINE_WITH_CLICK_HZ if with_click else FINE_HZ, RATE / 2))


def energies(samples: Samples, from_hz: float, to_hz: float) -> Samples:
    """The energy between two frequencies in each millisecond."""
    part = band(samples, from_hz, to_hz)
    whole = len(part) // FINE * FINE
    found: Samples = (part[:whole].reshape(-1, FINE) ** 2).sum(axis=1)
    return found


def window_s(at_s: float, beat_s: float) -> tuple[float, float]:
    """Where a landing is looked for that should be at `at_s`."""
    return at_s - min(BEFORE_S, BEFORE_BEATS * beat_s), at_s + min(AFTER_S, AFTER_BEATS * beat_s)


def onset_in(flux: Flux, from_s: float, to_s: float) -> Onset | None:
    """The strongest onset of a stretch, or None where nothing rises at all."""
    place = flux.between(from_s, to_s)
    part = flux.values[place]
    if not len(part) or part.max() <= 0:
        return None
    top = place.start + int(part.argmax())
    start = max(0, top - round(BACK_S * RATE / HOP))
    rising = np.flatnonzero(flux.values[start : top + 1] >= RISE * flux.values[top])
    first = start + int(rising[0])
    # The flux compares with four frames before: the sound begins somewhere within them.
    coarse_s = (first * HOP + FRAME / 2) / RATE
    at_s = _refined(flux.fine, coarse_s)
    after = flux.energy[top : top + 16].max()
    before = flux.energy[max(0, first - 12) : max(1, first - 3)]
    return Onset(at_s, float(flux.values[top]), float(max(0.0, after - before.mean())))


def _refined(fine: Samples, coarse_s: float) -> float:
    """The millisecond in which the highs rise out of what was before."""
    middle = round(coarse_s * RATE / FINE)
    low, high = max(0, middle - 14), min(len(fine), middle + 12)
    part = fine[low:high]
    if len(part) < 8:
        return coarse_s
    background = float(np.median(part[:6]))
    rise = background + FINE_RISE * (float(part.max()) - background)
    above = np.flatnonzero(part[3:] > rise)
    return (low + 3 + int(above[0])) * FINE / RATE if len(above) else coarse_s


def blind_delay_s(flux: Flux, landings_s: Samples, count_in_s: Samples, longest_s: float) -> float:
    """Without a click: when the take's first beat is, from the landings themselves.

    landings_s, count_in_s: from that beat on. It is where strong onsets stand at the landings and none in the
    count-in.
    """
    hop_s = HOP / RATE
    kernel = np.exp(-0.5 * (np.arange(-24, 25) / 8) ** 2)
    smooth = np.convolve(flux.values, kernel, "same")
    top = np.sort(smooth)[-max(1, round(len(landings_s) * 0.05 / hop_s)) :]
    capped = np.minimum(smooth / (float(np.median(top)) or 1.0), 1.0)
    lags = np.arange(-0.1, max(longest_s, hop_s), hop_s)

    def at(times: Samples) -> Samples:
        places = np.round(((lags[:, None] + times[None, :]) * RATE - FRAME / 2) / HOP).astype(int)
        inside = (places >= 0) & (places < len(capped))
        found: Samples = np.where(inside, capped[np.clip(places, 0, len(capped) - 1)], 0.0)
        return found

    score = at(landings_s).sum(axis=1)
    if len(count_in_s):
        score -= 0.6 * at(count_in_s).sum(axis=1)
    return float(lags[int(score.argmax())])
