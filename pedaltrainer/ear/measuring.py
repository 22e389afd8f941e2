"""From a recording to figures: the delay, the guard, and of each landing its onset and its chord's
spectrum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.leak import HEARD_FROM, Samples, find_click, without_click
from pedaltrainer.ear.onsets import Flux, Onset, blind_delay_s, energies, flux_of, onset_in, window_s
from pedaltrainer.ear.strings import power_of
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.grid import RATE

LIFT_BEATS = 0.5
LOUDEST_CLICK = 4.5
"""The energy of the accent beside that of the count, in the bins that are listened to (rendered: 6.6 dB)."""
CLICK_S = (-0.05, 0.06)
NEAR_CLICK_S = (-0.13, 0.05)
CLICK_HIGHS_HZ = (400.0, 2500.0)
USUAL_S = 0.045
"""So near to where the clean takes had it most landings are, when a take was recorded the same way."""


@dataclass(frozen=True, slots=True, eq=False)
class Landed:
    """What is measured at a landing. lag_ms: its onset after the place where it should be; nan without
    one."""

    onset: Onset | None
    lag_ms: float
    power: Samples | None


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """Of a recording. delay_s: when the count-in's first beat is in it. click: it is heard.

    likeness: of the count-in to its clicks, 0-1.

    click_rise: the highest rise of energy that a click can make; 0 without one.
    guard_db: how far that lies below a landing's; infinite without one.
    """

    delay_s: float
    click: bool
    likeness: float
    click_rise: float
    guard_db: float
    landings: tuple[Landed, ...]
    flux: Flux


def measure(
    expected: Expected, samples: Samples, click: bool | None = None, usual_delay_s: float | None = None
) -> Measured:
    """Of a recording (n,) at 48 kHz. click: whether it is said to be in it; None: nothing is said.

    usual_delay_s: of other recordings made the same way, believed where there is no click and it is near.
    """
    found = find_click(samples, expected)
    # A click that is plainly there is one, whatever was said: taken for chords it would pass every late one.
    heard = found.likeness >= HEARD_FROM or click is True
    beat_s = expected.beat_s
    if heard:
        delay_s = _sharper(expected, samples, found.delay_s)
        left = without_click(samples, expected, delay_s)
        flux = flux_of(left, True)
    else:
        left, flux = samples, flux_of(samples, False)
        delay_s = _delay_of_landings(expected, flux, len(samples) / RATE, usual_delay_s)
    onsets = [onset_in(flux, *window_s(one.at_s + delay_s, beat_s)) for one in expected.landings]
    ends = [one.at_s - LIFT_BEATS * beat_s for one in expected.landings[1:]]
    ends.append(expected.landings[-1].at_s + beat_s)
    landings = tuple(
        Landed(
            onset,
            float("nan") if onset is None else 1000 * (onset.at_s - one.at_s - delay_s),
            None if onset is None else power_of(left, onset.at_s, end_s + delay_s),
        )
        for one, onset, end_s in zip(expected.landings, onsets, ends, strict=True)
    )
    click_rise, guard_db = _guard(expected, samples, delay_s, landings) if heard else (0.0, float("inf"))
    return Measured(delay_s, heard, found.likeness, click_rise, guard_db, landings, flux)


def _sharper(expected: Expected, samples: Samples, delay_s: float) -> float:
    """The delay by the onsets of the clicks before the first landing: reflections draw the filter's later."""
    first = expected.landings[0].at_s - 0.2 * expected.beat_s
    counts = [at_s for at_s, sound in expected.clicks if sound is Sound.COUNT and at_s < first]
    flux = replace(flux_of(samples, False), fine=energies(samples, *CLICK_HIGHS_HZ))
    lags = [
        onset.at_s - at_s - delay_s
        for at_s in counts
        if (onset := onset_in(flux, at_s + delay_s + NEAR_CLICK_S[0], at_s + delay_s + NEAR_CLICK_S[1]))
    ]
    return delay_s + (float(np.median(lags)) if lags else 0.0)


def _delay_of_landings(expected: Expected, flux: Flux, seconds: float, usual_s: float | None) -> float:
    times = np.array([one.at_s for one in expected.landings])
    count_in = np.arange(0, times[0] - expected.beat_s / 2, expected.beat_s)
    if usual_s is not None and _in_place(expected, flux, times + usual_s) >= len(times) / 2:
        return usual_s
    # The chord before its landing may be missing, but its last one is in the recording.
    coarse = blind_delay_s(flux, times, count_in, seconds - float(times[-1]))
    lags = _lags_s(expected, flux, times + coarse)
    return coarse + (float(np.median(lags)) if len(lags) else 0.0)


def _in_place(expected: Expected, flux: Flux, times: Samples) -> int:
    """How many landings begin where they would be expected."""
    return int((np.abs(_lags_s(expected, flux, times)) < USUAL_S).sum())


def _lags_s(expected: Expected, flux: Flux, times: Samples) -> Samples:
    onsets = [onset_in(flux, *window_s(at, expected.beat_s)) for at in times]
    return np.array([one.at_s - at for one, at in zip(onsets, times, strict=True) if one is not None])


def _guard(
    expected: Expected, samples: Samples, delay_s: float, landings: Sequence[Landed]
) -> tuple[float, float]:
    """The highest rise of energy that a click can make, and how far it lies below a landing's.

    Known from the clicks that sound alone, before the first landing, as they came: what is taken away of them
    fits them, but need not fit the clicks beneath the chords, which are louder and other sounds.
    """
    flux = flux_of(samples, True)
    before = [at_s for at_s, _ in expected.clicks if at_s < expected.landings[0].at_s - 0.2 * expected.beat_s]
    rises = [one.onset.rise for one in landings if one.onset is not None]
    left = []
    for at_s in before:
        part = flux.energy[flux.between(at_s + delay_s + CLICK_S[0], at_s + delay_s + CLICK_S[1])]
        if len(part):
            left.append(
                LOUDEST_CLICK * max(float(part.max() - part[:3].mean()), 0.1 * float(part.max()), 1e-12)
            )
    if not left or not rises:
        # With no click by itself there is no knowing what is left of it.
        return float("inf"), float("-inf")
    return max(left), 10 * float(np.log10((np.median(rises) + 1e-15) / (max(left) + 1e-15)))
