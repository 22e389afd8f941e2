"""A take heard: recordings in, verdicts out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pedaltrainer.ear.alone import is_alone
from pedaltrainer.ear.deciding import Beside, chord_of, lateness_of, surely_timed, surely_wrong, take_of
from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.leak import Samples
from pedaltrainer.ear.measuring import Landed, Measured, measure
from pedaltrainer.ear.strings import Norm, fit_strings, foreign_notes, norm_of, notes_of, own_share
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, LandingHeard, TakeHeard, Unheard, UnheardError
from pedaltrainer.timing.grid import RATE

SILENT_PEAK = 0.002
MOST_MORE_S = 60.0
"""A recording may last so much longer than its take: in a long one another place may look like it."""
FULL, CLIPPED_SHARE = 0.999, 0.0005
GUARD_DB, LANDING_GUARD = 10.0, 4.0
"""How far the click must lie below the landings, and how many times a landing must rise above it."""
IN_PLACE_MS, STRONG = 80.0, 0.35
WRONG_SHARE = 0.7
CLEAR_FRAME = 960
"""20 ms."""
ROOM = 10**-7.5
"""No room is quieter than -75 dB of full scale: what is, is an input that was closed in between."""
FEWEST_ALIKE = 3
"""Landings of a chord that can be held against each other; with fewer no odd one can be told."""
OWN_NOTES = 0.42
"""Of a chord that is right at least 0.52 are its own notes; of one with one note in common 0.44 at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """How this player sounds here. lag_ms: how late a clean landing is; rise, strength: of its onset."""

    norms: Mapping[str, Norm]
    lag_ms: float
    rise: float
    strength: float
    delay_s: float
    click: bool


def listen(
    expected: Expected, take: Samples, references: Sequence[Samples] = (), click: bool | None = None
) -> TakeHeard:
    """What a take was. take, references: each (n,) at 48 kHz; the references are clean takes of the same.

    click: whether the click is in the recordings; None: find out.
    Raises UnheardError where a recording allows no verdict.
    """
    known = [
        _measured(expected, samples, click, number) for number, samples in enumerate(references, start=1)
    ]
    reference = reference_of(expected, known) if known else None
    heard = _measured(expected, take, click, 0, reference)
    beside = reference or reference_of(expected, [heard])
    _check_chords(heard, beside, 1 if known else 0)
    for number, one in enumerate(known, start=1):
        _check_alone(expected, one, None, number)
    found = judge(expected, heard, beside, reference is not None)
    _check_alone(expected, heard, reference)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class HeardTogether:
    """A take that was heard in a session: what was expected, what was measured, and what it was.

    clearness_db: how far its loud moments stand above its quiet ones.
    """

    expected: Expected
    measured: Measured
    heard: TakeHeard
    clearness_db: float


def hear(expected: Expected, take: Samples, clean: Sequence[HeardTogether] = ()) -> HeardTogether:
    """A take of a session, (n,) at 48 kHz. clean: takes of its drill, at any tempo, known as clean.

    Raises UnheardError where the recording allows no verdict.
    """
    reference = reference_in([(one.expected, one.measured) for one in clean]) if clean else None
    measured = _measured(expected, take, None, 0, reference)
    beside = reference or reference_of(expected, [measured])
    _check_chords(measured, beside, 0)
    heard = judge(expected, measured, beside, reference is not None)
    _check_alone(expected, measured, reference)
    return HeardTogether(expected, measured, heard, clearness_db(take))


def clearness_db(samples: Samples) -> float:
    """How far the loud moments of a recording (n,) at 48 kHz stand above its quiet ones."""
    frames = samples[: len(samples) // CLEAR_FRAME * CLEAR_FRAME].reshape(-1, CLEAR_FRAME)
    quiet, loud = np.percentile((frames**2).mean(axis=1), (5, 95))
    return 10 * float(np.log10((loud + 1e-12) / (quiet + ROOM)))


def _check_chords(heard: Measured, beside: Reference, number: int) -> None:
    """Raises UnheardError where what sounds is mostly no note of the chords."""
    own = np.mean([own_share(norm.notes, norm.sounding) for norm in beside.norms.values()])
    if heard.guard_db >= GUARD_DB and own < OWN_NOTES:
        raise UnheardError(Unheard.OTHER_CHORD, number)


def _check_alone(expected: Expected, heard: Measured, reference: Reference | None, number: int = 0) -> None:
    """Raises UnheardError where another guitar plays along, or other music."""
    if heard.guard_db >= GUARD_DB and not is_alone(expected, heard, reference.norms if reference else None):
        raise UnheardError(Unheard.NOT_ALONE, number)


def reference_of(expected: Expected, clean: Sequence[Measured]) -> Reference:
    """From clean takes; or from the take itself, whose landings then are held against each other."""
    return reference_in([(expected, take) for take in clean])


def reference_in(clean: Sequence[tuple[Expected, Measured]]) -> Reference:
    """From clean takes of one drill, each with what was expected of it."""
    landed = [one for _, take in clean for one in take.landings if one.onset is not None]
    norms = {}
    for chord, shape in {one.chord: one.shape for one in clean[0][0].landings}.items():
        powers = [
            one.power
            for expected, take in clean
            for one, wanted in zip(take.landings, expected.landings, strict=True)
            if wanted.chord == chord and one.power is not None
        ]
        if not powers:
            raise UnheardError(Unheard.NO_CHORDS, 1)
        norms[chord] = norm_of(shape, powers)
    return Reference(
        norms,
        float(np.median([one.lag_ms for one in landed])),
        float(np.median([one.onset.rise for one in landed if one.onset is not None])),
        float(np.median([one.onset.strength for one in landed if one.onset is not None])),
        float(np.mean([take.delay_s for _, take in clean])),
        all(take.click for _, take in clean),
    )


def judge(expected: Expected, heard: Measured, reference: Reference, has_reference: bool) -> TakeHeard:
    """What a measured take was, beside clean ones."""
    guard = heard.guard_db >= GUARD_DB
    usual_lag_ms = reference.lag_ms if heard.click == reference.click else 0.0
    if heard.click and not has_reference:
        # Without clean takes the click itself says what is late.
        usual_lag_ms = min(usual_lag_ms, 15.0)
    landings = []
    for wanted, landed in zip(expected.landings, heard.landings, strict=True):
        if not guard:
            landings.append(LandingHeard(HeardAs.UNSURE, None))
            continue
        landings.append(
            _landing(wanted.chord, landed, reference, usual_lag_ms, has_reference, heard.click_rise)
        )
    if not has_reference:
        times = Counter(wanted.chord for wanted in expected.landings)
        landings = [
            replace(one, verdict=HeardAs.UNSURE)
            if one.verdict is HeardAs.OK and times[wanted.chord] < FEWEST_ALIKE
            else one
            for wanted, one in zip(expected.landings, landings, strict=True)
        ]
    if sum(one.verdict is HeardAs.WRONG for one in landings) > WRONG_SHARE * len(landings):
        raise UnheardError(Unheard.OTHER_CHORD)
    verdict = take_of(landings) if guard else HeardTake.UNSURE
    return TakeHeard(verdict, 1000 * heard.delay_s, guard, has_reference, tuple(landings))


def _landing(
    chord: str,
    landed: Landed,
    reference: Reference,
    usual_lag_ms: float,
    has_reference: bool,
    click_rise: float,
) -> LandingHeard:
    lag_ms = landed.lag_ms - usual_lag_ms
    onset = landed.onset
    if onset is None:
        return LandingHeard(HeardAs.ABSENT, None, sure=True)
    rise_db = 10 * float(np.log10((onset.rise + 1e-15) / (reference.rise + 1e-15)))
    strength = onset.strength / (reference.strength or 1.0)
    timed = lateness_of(lag_ms, rise_db, strength)
    sure = surely_timed(timed, lag_ms, rise_db, strength)
    if timed is HeardAs.ABSENT:
        return LandingHeard(HeardAs.ABSENT, None, sure=sure)
    if onset.rise < LANDING_GUARD * click_rise:
        # What rose here may be the click.
        return LandingHeard(HeardAs.UNSURE, None)
    if landed.power is None:
        return LandingHeard(HeardAs.UNSURE if timed is HeardAs.OK else timed, lag_ms, sure=sure)
    beside = beside_of(landed.power, reference.norms[chord])
    verdict, strings = chord_of(beside, has_reference)
    # A late chord is a miss whatever else it is; what is unsure of the time leaves the chord's own miss.
    if timed is HeardAs.LATE:
        return LandingHeard(HeardAs.LATE, lag_ms, strings if verdict is HeardAs.DEAD else (), sure)
    if verdict is HeardAs.WRONG:
        return LandingHeard(verdict, lag_ms, sure=timed is HeardAs.OK and surely_wrong(beside))
    return LandingHeard(timed if verdict is HeardAs.OK else verdict, lag_ms, strings)


def beside_of(power: Samples, norm: Norm) -> Beside:
    """A chord's spectrum beside the clean ones."""
    fit, notes = fit_strings(power, norm), notes_of(power)
    likeness = float(notes @ norm.notes / (np.linalg.norm(notes) * np.linalg.norm(norm.notes) + 1e-12))
    more = foreign_notes(notes, norm)
    return Beside(
        norm.cells.strings, fit,
        likeness, float(more.sum()), float(more.max()),
    )  # fmt: skip


def _measured(
    expected: Expected, samples: Samples, click: bool | None, number: int, known: Reference | None = None
) -> Measured:
    """A recording measured, when it is one of this drill. number: which it is, in what is raised."""
    found = measured(expected, samples, click, number, known)
    _check_in_place(expected, found, number)
    return found


def measured(
    expected: Expected, samples: Samples, click: bool | None, number: int, known: Reference | None = None
) -> Measured:
    """A recording measured, when it can be heard; whether it is one of this drill is not asked."""
    if len(samples) > (expected.landings[-1].at_s + MOST_MORE_S) * RATE:
        raise UnheardError(Unheard.LONG, number)
    peak = float(np.abs(samples).max(initial=0.0))
    if peak < SILENT_PEAK:
        raise UnheardError(Unheard.SILENT, number)
    if float((np.abs(samples) >= FULL * max(peak, 0.9)).mean()) > CLIPPED_SHARE:
        raise UnheardError(Unheard.CLIPPED, number)
    if len(samples) < (expected.landings[-1].at_s - expected.landings[0].at_s + 0.3) * RATE:
        raise UnheardError(Unheard.SHORT, number)
    usual = known.delay_s if known is not None and not known.click else None
    found = measure(expected, samples, click, usual)
    if click and found.likeness < 0.4:
        raise UnheardError(Unheard.NO_CLICK, number)
    return found


def _check_in_place(expected: Expected, found: Measured, number: int) -> None:
    """Raises UnheardError where the chords are not where this drill has them."""
    landed = [one for one in found.landings if one.onset is not None]
    strengths = np.array([one.onset.strength for one in landed if one.onset is not None])
    if not len(landed):
        raise UnheardError(Unheard.NO_CHORDS, number)
    strong = strengths >= STRONG * float(np.percentile(found.flux.values, 99.5))
    lags = np.array([one.lag_ms for one in landed])
    middle = float(np.median(lags))
    in_place = strong & (np.abs(lags - middle) < IN_PLACE_MS)
    if in_place.sum() < len(expected.landings) / 2:
        raise UnheardError(Unheard.OTHER_TEMPO, number)
