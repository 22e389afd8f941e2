"""Which strings ring in a chord.

A chord is a sum of partials of its strings. What share of each partial is whose is worked out once from the
player's own clean takes; in a take the gain of each string is then what explains best how its partials stand
beside those of the clean takes. How much worse that gets with a string left out says whether it rings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls
from scipy.signal import resample_poly

from pedaltrainer.ear.leak import Samples
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.timing.grid import RATE

IntArray = npt.NDArray[np.int64]

SLOWER = 4
SIZE = 8192
BIN_HZ = RATE / SLOWER / SIZE
FROM_S, UNTIL_S, SHORTEST_S = 0.045, 0.350, 0.120
STIFFNESS = 6e-5
"""Partial k of a string is sharp by sqrt(1 + B k^2) (H. Fletcher, 1964); B of a guitar's strings is 2e-5 to
3e-4."""
PARTIALS, HIGHEST_HZ, SLOPE = 16, 4500.0, 1.2
APART_HZ = 13.0
REST = 0.012
"""What stays of a partial when its strings are silent: noise, and what rang before."""
GAINS_DB = np.arange(-30.0, 10.5, 1.5)
RINGS_DB, SILENT_DB = -7.5, -15.0
SPREAD_DB, MOST_SD = 3.5, 3.0
LOWEST_NOTE, HIGHEST_NOTE = 38, 84
THIRDS = 69.3 * 2 ** (np.arange(0, 36 * 6) / 36)
"""Thirds of semitones from a little above C#2 (69.3 Hz), six octaves."""


def power_of(samples: Samples, onset_s: float, until_s: float) -> Samples | None:
    """The power spectrum of a chord after its stroke, every 1.46 Hz; None where too little of it sounds."""
    start, end = round((onset_s + FROM_S) * RATE), round(min(onset_s + UNTIL_S, until_s) * RATE)
    end = min(max(end, start + round(SHORTEST_S * RATE)), len(samples))
    if end - start < SHORTEST_S * RATE - 1:
        return None
    return _power(samples[start:end])


def power_between(samples: Samples, from_s: float, until_s: float) -> Samples:
    """The same of any stretch of a recording; what is not in it is silence."""
    start, end = round(from_s * RATE), round(until_s * RATE)
    part = samples[max(0, start) : max(0, end)]
    return _power(np.pad(part, (max(0, -start), end - max(0, start) - len(part))))


def _power(part: Samples) -> Samples:
    slower = resample_poly(part, 1, SLOWER)
    window = np.hanning(len(slower))
    found: Samples = np.abs(np.fft.rfft(slower * window, SIZE) / window.sum()) ** 2
    return found


def peaks(power: Samples, places_hz: Sequence[float]) -> Samples:
    """The highest power near each frequency."""
    near = [(hz, _slack_hz(hz)) for hz in places_hz]
    return np.array(
        [power[int((hz - s) / BIN_HZ) : int(np.ceil((hz + s) / BIN_HZ)) + 1].max() for hz, s in near]
    )


def _slack_hz(hz: float) -> float:
    """How far from its place a partial may be."""
    return max(5.0, 0.006 * hz)


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Partials of a chord that can be told apart. strings: 0-based, those that sound.

    low, high: (cells,) bins; hz: (cells,); model: (cells, strings) power of each string there, by the
    template.
    """

    strings: tuple[int, ...]
    low: IntArray
    high: IntArray
    hz: Samples
    model: Samples

    def powers(self, power: Samples) -> Samples:
        """The highest power in each cell."""
        return np.array([power[low : high + 1].max() for low, high in zip(self.low, self.high, strict=True)])


def cells_of(shape: Shape) -> Cells:
    """The cells of a shape's chord."""
    strings = tuple(string for string, fret in enumerate(shape.frets) if fret is not None)
    rows = sorted((hz, place, level) for place, note in enumerate(shape.midi) for hz, level in partials(note))
    groups: list[list[tuple[float, int, float]]] = []
    for row in rows:
        if groups and row[0] - groups[-1][-1][0] < APART_HZ and row[0] - groups[-1][0][0] < 2 * APART_HZ:
            groups[-1].append(row)
        else:
            groups.append([row])
    model = np.zeros((len(groups), len(strings)))
    for at, group in enumerate(groups):
        for _, place, level in group:
            model[at, place] += level**2
    slack = [_slack_hz(group[0][0]) for group in groups]
    low = np.array([int((g[0][0] - s) / BIN_HZ) for g, s in zip(groups, slack, strict=True)])
    high = np.array([int(np.ceil((g[-1][0] + s) / BIN_HZ)) for g, s in zip(groups, slack, strict=True)])
    hz = np.array([np.mean([row[0] for row in group]) for group in groups])
    return Cells(strings, low, high, hz, model)


def partials(note: float) -> list[tuple[float, float]]:
    """(frequency in Hz, amplitude) of the partials of a MIDI note, by the template."""
    first = 440 * 2 ** ((note - 69) / 12)
    rows = [(k * first * np.sqrt(1 + STIFFNESS * k * k), k**-SLOPE) for k in range(1, PARTIALS + 1)]
    return [(float(hz), float(level)) for hz, level in rows if hz <= HIGHEST_HZ]


@dataclass(frozen=True, slots=True, eq=False)
class Norm:
    """How a chord sounds when it is clean. level_db, sd_db: (cells,); share: (cells, strings); notes:
    (notes,).

    sounding: the MIDI notes of its strings.
    """

    cells: Cells
    sounding: tuple[int, ...]
    level_db: Samples
    sd_db: Samples
    share: Samples
    notes: Samples


def norm_of(shape: Shape, powers: Sequence[Samples]) -> Norm:
    """From the spectra of the chord in clean takes, at least one."""
    cells = cells_of(shape)
    levels = 10 * np.log10(np.stack([cells.powers(power) for power in powers]) + 1e-14)
    levels -= np.median(levels, axis=1, keepdims=True)
    level = np.median(levels, axis=0)
    # With few clean landings their own spread says little: a common one is mixed in.
    known = len(levels)
    spread = np.sqrt((((levels - level) ** 2).sum(axis=0) + 4 * SPREAD_DB**2) / (known + 3))
    mean = 10 ** (level / 10)
    weight = 1 / (mean + 0.01 * mean.max())
    gains, _ = nnls(cells.model * weight[:, None], mean * weight)
    each = cells.model * np.maximum(gains, 0.02 * (gains.max() or 1.0))
    share = each / each.sum(axis=1, keepdims=True)
    notes = np.mean([notes_of(power) for power in powers], axis=0)
    return Norm(cells, shape.midi, level, spread, share, notes)


@dataclass(frozen=True, slots=True, eq=False)
class StringFit:
    """Of one landing beside its norm, an entry a string: gain_db, and worse: how much the fit loses without
    it.

    alone: how many clear partials are its own. own_db: by how much those stand above the clean takes,
    weighed by its share. misfit: what the best fit leaves, on average.
    """

    gain_db: Samples
    worse: Samples
    alone: Samples
    own_db: Samples
    misfit: float


def fit_strings(power: Samples, norm: Norm) -> StringFit:
    """The gain of each string beside the clean takes."""
    levels = 10 * np.log10(norm.cells.powers(power) + 1e-14)
    floor = 10 * np.log10(float(np.percentile(power[: int(HIGHEST_HZ / BIN_HZ)], 30)) + 1e-14)
    difference = levels - np.median(levels) - norm.level_db
    clear = 1 / (1 + 10 ** (-(norm.level_db + np.median(levels) - floor - 9) / 5))
    sd = norm.sd_db
    octaves = np.log2(norm.cells.hz / 700)
    count = norm.share.shape[1]
    gains, tilt = np.zeros(count), 0.0
    steps = 10 ** (GAINS_DB / 10)
    tilts = np.arange(-6.0, 6.5, 1.0)

    def cost(modelled: Samples) -> Samples:
        """(..., cells) modelled power ratios -> (...)."""
        off = np.abs(difference - 10 * np.log10(modelled)) / sd
        met: Samples = (np.minimum(off, MOST_SD) ** 2 * clear).sum(axis=-1) / 2
        return met

    def slope(value: Samples | float) -> Samples:
        turned: Samples = 10 ** (np.multiply.outer(value, octaves) / 10)
        return turned

    def ways(string: int) -> tuple[Samples, Samples]:
        others = norm.share @ (10 ** (gains / 10)) - norm.share[:, string] * 10 ** (gains[string] / 10)
        modelled = (others + np.multiply.outer(steps, norm.share[:, string]) + REST) * slope(tilt)
        plain = cost(modelled)
        return plain, plain + (np.maximum(np.abs(GAINS_DB), 0) / 6) ** 2 / 2

    for _ in range(4):
        total = norm.share @ (10 ** (gains / 10)) + REST
        tilt = float(tilts[int((cost(total * slope(tilts)) + (tilts / 3) ** 2 / 2).argmin())])
        for string in range(count):
            gains[string] = GAINS_DB[int(ways(string)[1].argmin())]
    worse = np.zeros(count)
    for string in range(count):
        plain, _ = ways(string)
        worse[string] = plain[GAINS_DB <= SILENT_DB].min() - plain[GAINS_DB >= RINGS_DB].min()
    alone = (norm.share**2 * clear[:, None]).sum(axis=0)
    best = cost((norm.share @ (10 ** (gains / 10)) + REST) * slope(tilt))
    weight = norm.share**2 * (clear / sd**2)[:, None]
    level = difference - 10 * np.log10(slope(tilt)) - float(np.median(10 * np.log10(total)))
    own_db = (weight * np.clip(level, -20, 10)[:, None]).sum(axis=0) / (weight.sum(axis=0) + 1e-9)
    return StringFit(gains - np.median(gains), worse, alone, own_db, float(best / max(1.0, clear.sum())))


def _dictionary() -> Samples:
    """(thirds of semitones, notes): each note's template."""
    table = np.zeros((len(THIRDS), HIGHEST_NOTE - LOWEST_NOTE + 1))
    for at, note in enumerate(range(LOWEST_NOTE, HIGHEST_NOTE + 1)):
        for hz, level in partials(note):
            place = round(36 * float(np.log2(hz / THIRDS[0])))
            if 0 <= place < len(THIRDS):
                table[place, at] += level
                for beside in (place - 1, place + 1):
                    if 0 <= beside < len(THIRDS):
                        table[beside, at] += 0.4 * level
    return table


DICTIONARY = _dictionary()
_EDGES = np.round(THIRDS[:, None] * 2 ** (np.array([-0.5, 0.5]) / 36) / BIN_HZ).astype(int)


def notes_of(power: Samples) -> Samples:
    """How much of each note from D2 to C6 a spectrum has, by non-negative least squares; they sum to 1."""
    size = np.sqrt([power[low : max(low, high) + 1].max() for low, high in _EDGES])
    # The square root of the amplitude: a quiet string is to count for something beside a loud one.
    found, _ = nnls(DICTIONARY, np.sqrt(size))
    total = float(found.sum())
    weights: Samples = found / total if total else found
    return weights


def own_share(notes: Samples, chord: Sequence[int]) -> float:
    """How much of what sounds are notes of a chord (MIDI), in any octave. notes: as from `notes_of`."""
    own = {note % 12 for note in chord}
    names = range(LOWEST_NOTE, HIGHEST_NOTE + 1)
    return float(sum(part for note, part in zip(names, notes, strict=True) if note % 12 in own))


def foreign_notes(notes: Samples, norm: Norm) -> Samples:
    """(notes,): what there is more of each note than in clean takes, those of its strings left out."""
    more: Samples = np.maximum(0, notes - 1.3 * norm.notes)
    more[[note - LOWEST_NOTE for note in norm.sounding if LOWEST_NOTE <= note <= HIGHEST_NOTE]] = 0
    return more
