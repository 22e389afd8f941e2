"""Which strings ring when a shape is held and they are picked one by one. Pure.

A string that rings has its partials from the stroke on and still has them half a second later; one that is
touched makes a thud, or a note that is gone by then. What rang before is in both spectra, so only what has
risen counts. Thresholds: made-up takes of the development guitars (docs/evidence/ear.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pedaltrainer.ear.deciding import take_of
from pedaltrainer.ear.expected import Expected, ExpectedLanding
from pedaltrainer.ear.hearing import GUARD_DB, IN_PLACE_MS, HeardTogether, clearness_db, measured
from pedaltrainer.ear.leak import Samples, without_click
from pedaltrainer.ear.measuring import Landed, Measured
from pedaltrainer.ear.strings import BIN_HZ, partials, peaks, power_between
from pedaltrainer.ear.verdicts import HeardAs, LandingHeard, TakeHeard, Unheard, UnheardError

BEFORE_S, EARLY_S, LATER_S = (-0.30, -0.02), (0.045, 0.245), (0.25, 0.55)
"""From a stroke on: what rang before it, its sound, and what is left of it."""
RINGS_ON_S = LATER_S[1]
PARTIALS, TELLING = 10, 5
"""How many partials are looked at, and of how many the second highest rise is asked for: one may have been
there before, and another be struck where it has its node."""
RISEN_DB, HARDLY_RISEN_DB = 14.0, 9.0
STAYS_DB, GOES_DB = -13.5, -15.5
"""By how much its sound may fall from the early to the later spectrum; from the second on it dies."""
NEXT_FRET_DB = 3.0
BESIDE_DB = -22.0
"""Another note that is so loud beside the loudest of the take is no ghost: a finger is beside its fret."""
LOWEST_HZ, HIGHEST_HZ = 70.0, 2000.0
STRUCK, STRUCK_RISE = 0.10, 0.01
"""Softer beside the usual stroke of the take, no string was struck."""
OTHER_SHARE = 0.4
"""Of more strings with another note it is told that it was another chord."""


@dataclass(frozen=True, slots=True)
class Rang:
    """Of a picked string. risen_db: how far its partials stand above what rang before; stays_db: how far they
    have fallen later on. next_fret_db: how far those of the note a fret up or down stand above its own, of
    low strings hardly to be told apart. beside_db: the loudest that has risen besides them, and loudest_db of
    all, later on."""

    risen_db: float
    stays_db: float
    next_fret_db: float
    beside_db: float
    loudest_db: float


def hear_picked(expected: Expected, samples: Samples) -> HeardTogether:
    """A take that is played string by string, (n,) at 48 kHz: of each time that the shape was held, from its
    first string to the strum, one landing is told with the strings that did not ring.

    Raises UnheardError where the recording allows no verdict.
    """
    found, strings = strings_heard(expected, samples)
    guard = found.guard_db >= GUARD_DB
    landings = by_hold(expected, strings)
    heard = TakeHeard(take_of(landings), 1000 * found.delay_s, guard, True, landings)
    return HeardTogether(strums_of(expected), found, heard, clearness_db(samples))


def strings_heard(expected: Expected, samples: Samples) -> tuple[Measured, tuple[LandingHeard, ...]]:
    """A recording, (n,) at 48 kHz, and a verdict on each string that was picked alone, in their order.

    Raises UnheardError where it allows none.
    """
    found = measured(expected, samples, None, 0)
    left = without_click(samples, expected, found.delay_s) if found.click else samples
    landings = zip(expected.landings, found.landings, strict=True)
    picks = [(wanted, landed) for wanted, landed in landings if is_picked(wanted)]
    _check_in_place([landed for _, landed in picks])
    rang = [
        None if landed.onset is None else rang_of(left, landed.onset.at_s, wanted.shape.midi[0])
        for wanted, landed in picks
    ]
    loudest_db = max(one.loudest_db for one in rang if one is not None)
    onsets = [landed.onset for _, landed in picks if landed.onset is not None]
    usual_rise = float(np.median([onset.rise for onset in onsets]))
    usual_strength = float(np.median([onset.strength for onset in onsets]))
    strings = []
    for (wanted, landed), one in zip(picks, rang, strict=True):
        struck = landed.onset is not None and (
            landed.onset.strength >= STRUCK * usual_strength and landed.onset.rise >= STRUCK_RISE * usual_rise
        )
        verdict = HeardAs.UNSURE if one is None else _verdict(one, struck, loudest_db)
        silent = () if verdict is HeardAs.OK else (string_of(wanted),)
        strings.append(LandingHeard(verdict, None, silent))
    if sum(one.verdict is HeardAs.WRONG for one in strings) > OTHER_SHARE * len(strings):
        raise UnheardError(Unheard.OTHER_CHORD)
    return found, tuple(strings)


def _verdict(rang: Rang, struck: bool, loudest_db: float) -> HeardAs:
    if rang.risen_db >= RISEN_DB and rang.stays_db >= STAYS_DB:
        return HeardAs.WRONG if rang.next_fret_db > NEXT_FRET_DB else HeardAs.OK
    if rang.beside_db >= loudest_db + BESIDE_DB:
        return HeardAs.WRONG
    dies = rang.risen_db < HARDLY_RISEN_DB or rang.stays_db < GOES_DB
    return HeardAs.DEAD if struck and dies else HeardAs.UNSURE


def is_picked(landing: ExpectedLanding) -> bool:
    """Is it one string, rather than the strum that ends a hold?"""
    return len(landing.shape.midi) == 1


def strums_of(expected: Expected) -> Expected:
    """A landing for each time that the shape is held."""
    return replace(expected, landings=tuple(one for one in expected.landings if not is_picked(one)))


def by_hold(
    expected: Expected, strings: Sequence[LandingHeard], sure: bool = True
) -> tuple[LandingHeard, ...]:
    """What was heard of each string that was picked alone, gathered by the strum that came after. sure: of
    the silent ones, enough to answer by itself."""
    holds: list[list[LandingHeard]] = [[]]
    left = iter(strings)
    for landing in expected.landings:
        if is_picked(landing):
            holds[-1].append(next(left))
        else:
            holds.append([])
    return tuple(_hold(one, sure) for one in holds[:-1])


def _hold(strings: Sequence[LandingHeard], sure: bool) -> LandingHeard:
    silent = tuple(string for one in strings if one.verdict is HeardAs.DEAD for string in one.strings)
    if silent:
        return LandingHeard(HeardAs.DEAD, None, silent, sure)
    doubtful = tuple(string for one in strings for string in one.strings)
    return LandingHeard(HeardAs.UNSURE if doubtful else HeardAs.OK, None, doubtful)


def _check_in_place(picks: Sequence[Landed]) -> None:
    """Raises UnheardError where nothing is struck where the strings should be."""
    strengths = np.array([0.0 if one.onset is None else one.onset.strength for one in picks])
    lags = np.array([one.lag_ms for one in picks])
    struck = strengths > STRUCK * float(np.percentile(strengths, 75))
    near = np.abs(lags - float(np.median(lags[struck]))) < IN_PLACE_MS if struck.any() else struck
    if (struck & near).sum() < len(picks) / 2:
        raise UnheardError(Unheard.OTHER_TEMPO)


def string_of(wanted: ExpectedLanding) -> int:
    """The string that is picked, 0 the lowest."""
    return next(string for string, fret in enumerate(wanted.shape.frets) if fret is not None)


def rang_of(samples: Samples, at_s: float, note: int) -> Rang:
    """Of a string that was picked at an instant of a recording (n,) at 48 kHz. note: its MIDI number."""
    spectra = [
        power_between(samples, at_s + start, at_s + end) for start, end in (BEFORE_S, EARLY_S, LATER_S)
    ]
    own_hz = [hz for hz, _ in partials(note)]
    before, early, later = (peaks(one, own_hz[:PARTIALS]) for one in spectra)
    risen_db = 10 * np.log10((later + 1e-15) / (before + 1e-15))
    came, stays = np.maximum(0, early - before).sum(), np.maximum(0, later - before).sum()
    risen = np.maximum(0, spectra[2] - spectra[0])
    own, *next_frets = (
        10 * np.log10(peaks(risen, [hz for hz, _ in partials(note + fret)[:TELLING]]) + 1e-14)
        for fret in (0, -1, 1)
    )
    hz = np.arange(len(spectra[0])) * BIN_HZ
    others = (hz > LOWEST_HZ) & (hz < HIGHEST_HZ) & (spectra[2] > 10 ** (RISEN_DB / 10) * spectra[0])
    for partial_hz in own_hz:
        others &= np.abs(hz - partial_hz) > max(8.0, 0.012 * partial_hz)
    return Rang(
        float(np.sort(risen_db[:TELLING])[-2]),
        _db((stays + 1e-14) / (came + 1e-14)),
        max(float(np.median(one - own)) for one in next_frets),
        _db(float((spectra[2] * others).max()) + 1e-15),
        _db(float(spectra[2].max()) + 1e-15),
    )


def _db(power: float) -> float:
    return 10 * float(np.log10(power))
