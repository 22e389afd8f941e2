"""From figures to verdicts: the thresholds, and what they were fitted on.

Every number here comes from made-up takes on two guitars ("development" in docs/evidence/ear.md); what they
are worth on others is told there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pedaltrainer.ear.leak import Samples
from pedaltrainer.ear.strings import StringFit
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, LandingHeard

LATE_MS, MAYBE_LATE_MS, EARLY_MS = 50.0, 42.0, -75.0
ABSENT_RISE_DB, MAYBE_ABSENT_RISE_DB = -12.0, -9.0
ABSENT_STRENGTH, MAYBE_ABSENT_STRENGTH = 0.20, 0.28
SURE_LATE_MS, SURE_LATE_RISE_DB = 62.0, -7.0
SURE_ABSENT_RISE_DB, SURE_ABSENT_STRENGTH = -12.0, 0.45
SURE_WRONG = 0.95
"""From where on a miss is one without anybody being asked; no landing in order came near. Its lag was read
57 ms at most (played 30 ms late by a rough hand); where a stroke in the gap was taken for it, the energy
rose little; and another chord was 0.87 likely at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """A chord beside the clean ones. strings: 0-based, those of `fit`, in order.

    likeness: of its notes to theirs, 0-1; foreign, most_foreign: what notes there are more, in all and of
    one, as a share.
    """

    strings: tuple[int, ...]
    fit: StringFit
    likeness: float
    foreign: float
    most_foreign: float


def string_figures(beside: Beside) -> Samples:
    """(strings, figures): what the chance of a silent string is worked out from."""
    fit = beside.fit
    worse = np.clip(fit.worse, -20, 40)
    lower = np.minimum(0, fit.own_db)
    figures = (
        worse,
        fit.gain_db,
        np.log(fit.alone + 0.05),
        worse / (1 + fit.alone),
        fit.own_db,
        lower * np.abs(lower) / 10,
        np.full(len(worse), fit.misfit),
    )
    return np.stack(figures, axis=1)


def chord_figures(beside: Beside) -> Samples:
    """(figures,): what the chance of another chord is worked out from."""
    lowest = np.sort(np.clip(beside.fit.own_db, -20, 5))
    foreign = np.sqrt((beside.foreign, beside.most_foreign))
    return np.array((beside.likeness, *foreign, beside.fit.misfit, lowest[0], lowest[:2].mean()))


_STRING = np.array([-7.9198, -0.1079, 0.3878, 4.0387, -2.1209, -0.7033, 0.0602, -0.3068])
_CHORD = np.array([-34.2716, 19.1218, 22.2952, 14.2718, 3.9118, -0.0637, -0.0912])
"""Logistic: what is added, then a weight for each figure."""


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Chances from which a string is called silent, or a chord another one; and from which it is not sure."""

    dead: float
    maybe_dead: float
    wrong: float
    maybe_wrong: float


BESIDE_CLEAN = Thresholds(0.75, 0.30, 0.60, 0.25)
BESIDE_ITSELF = Thresholds(0.90, 0.50, 0.90, 0.50)
"""Without clean takes: a landing is held against the others of its take, any of which may be the odd one."""


def chances(weights: Samples, figures: Samples) -> Samples:
    """Chances, 0-1, of rows of figures."""
    found: Samples = 1 / (1 + np.exp(-np.clip(weights[0] + figures @ weights[1:], -50, 50)))
    return found


def lateness_of(lag_ms: float, rise_db: float, strength: float) -> HeardAs:
    """From an onset: in time, late, nothing struck, or unsure.

    lag_ms: beside clean landings, as are rise_db and strength (a ratio).
    """
    if rise_db < ABSENT_RISE_DB or strength < ABSENT_STRENGTH:
        return HeardAs.ABSENT
    if rise_db < MAYBE_ABSENT_RISE_DB or strength < MAYBE_ABSENT_STRENGTH:
        return HeardAs.UNSURE
    if lag_ms > LATE_MS:
        return HeardAs.LATE
    return HeardAs.UNSURE if lag_ms > MAYBE_LATE_MS or lag_ms < EARLY_MS else HeardAs.OK


def surely_timed(timed: HeardAs, lag_ms: float, rise_db: float, strength: float) -> bool:
    """Is a landing that `lateness_of` calls late or absent so beyond doubt? Of the same figures."""
    if timed is HeardAs.ABSENT:
        # An odd stroke near by may be weak in one of the two; where none was, both are.
        return rise_db < SURE_ABSENT_RISE_DB and strength < SURE_ABSENT_STRENGTH
    return timed is HeardAs.LATE and lag_ms > SURE_LATE_MS and rise_db > SURE_LATE_RISE_DB


def surely_wrong(beside: Beside) -> bool:
    """Is it another chord beyond doubt?"""
    return float(chances(_CHORD, chord_figures(beside)[None, :])[0]) > SURE_WRONG


def chord_of(beside: Beside, has_reference: bool) -> tuple[HeardAs, tuple[int, ...]]:
    """From a chord's sound: in order, another one, strings dead, or unsure; and the strings in question."""
    bars = BESIDE_CLEAN if has_reference else BESIDE_ITSELF
    dead = chances(_STRING, string_figures(beside))
    wrong = float(chances(_CHORD, chord_figures(beside)[None, :])[0])
    if wrong > bars.wrong:
        return HeardAs.WRONG, ()
    verdict = HeardAs.DEAD if dead.max() > bars.dead else HeardAs.UNSURE
    named = tuple(
        string for string, chance in zip(beside.strings, dead, strict=True) if chance > bars.maybe_dead
    )
    if not named and wrong <= bars.maybe_wrong:
        verdict = HeardAs.OK
    return verdict, named


def take_of(landings: Sequence[LandingHeard]) -> HeardTake:
    """Missed when a landing was; clean when all were in order."""
    heard = {one.verdict for one in landings}
    if heard - {HeardAs.OK, HeardAs.UNSURE}:
        return HeardTake.MISSED
    return HeardTake.UNSURE if HeardAs.UNSURE in heard else HeardTake.CLEAN
