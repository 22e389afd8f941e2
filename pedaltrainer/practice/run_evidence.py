"""What a run-through tells of single changes. Pure.

A press is late by the player's own reaction, so it may be about one of several landings: each has its share,
the density of the foot's lateness at the press less the landing, times the chance that it goes wrong at that
tempo. What is a miss of one change by that share was a pass of it by the rest. After a miss the hand is lost
until the bar is over: the landings from there to the next bar line tell nothing. A landing that was not
flagged went well, or nobody spoke up of it: how often is not known, so each share of FORGOTTEN is thought of,
and of those of FORGOTTEN_WHEN_CLEAN where the player said that all else was clean. Every landing counts at
the drill tempo that leaves the same air time.

The changes of one song are relatives: what the others say of the player's level is what a change that was
never practised is judged from.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.foot import FEET, STRAY_PRESS
from pedaltrainer.practice.kinds import Kind
from pedaltrainer.practice.run_through import PassLanding
from pedaltrainer.practice.take import REACTION_S, Outcome, Take

Array = NDArray[np.float64]
GoesWrong = Callable[[Drill, float], float]
"""The chance that a landing of a drill at a drill tempo is missed, as believed before the run-through."""

FORGOTTEN = ((0.05, 0.25), (0.25, 0.35), (0.5, 0.25), (0.7, 0.15))
FORGOTTEN_WHEN_CLEAN = ((0.02, 0.5), (0.1, 0.35), (0.3, 0.15))
"""Shares of misses that no foot speaks up of, each with its weight. Ours: no published source; how feet fare
that are otherwise is in docs/evidence/measuring.md."""
FARTHEST_S = 1.2
"""Landings further before a press than this are not thought of."""
SONG_SD = 0.06
"""How far a change in a song may lie from the same change in a drill of the same air time, in log tempo."""
UP_TO_IT_SD = 0.30
"""How far a player's level may lie from the tempo at which they run a song through: who does that is about up
to it. Ours: no published source."""


@dataclass(frozen=True, slots=True)
class ChangeHeard:
    """What one pass tells of one change at one drill tempo.

    missed: of each of its landings, the chance that it was flagged. said: that all else was clean.
    """

    drill: Drill
    tempo_bpm: float
    missed: tuple[float, ...]
    said: bool = False


def heard_in(
    landings: Sequence[PassLanding],
    marks: Sequence[float],
    said: bool,
    goes_wrong: GoesWrong,
    reaction_s: float = REACTION_S,
) -> tuple[ChangeHeard, ...]:
    """What the presses of a pass tell of its changes.

    landings: those that were come to, in order. marks: presses in order, in seconds on their clock.
    """
    shares = np.zeros(len(landings))
    void = np.zeros(len(landings), bool)
    for mark in marks:
        weights = _shares(landings, mark, goes_wrong, reaction_s)
        if not weights.any():
            continue
        shares = 1 - (1 - shares) * (1 - weights)
        meant = int(np.argmax(weights))
        for later in range(meant + 1, len(landings)):
            if landings[later].bar != landings[meant].bar:
                break
            void[later] = True
    tell = [landing for landing, tells_nothing in zip(landings, void, strict=True) if not tells_nothing]
    return _by_change(tell, shares[~void], said)


def heard_in_take(take: Take, goes_wrong: GoesWrong) -> tuple[ChangeHeard, ...]:
    """What a take of several chords in turn tells of the changes in it; nothing where it is void.

    A miss that was spoken up of is shared among the landings near it, and what came after it tells nothing;
    one that was only said at the end is shared among all.
    """
    drill, beat_s = take.drill, 60 / take.tempo_bpm
    landings = [
        PassLanding(float(drill.landing_beat(number)) * beat_s, 0, change, 0.0, take.tempo_bpm)
        for number in range(1, take.landings)
        if (change := _change_at(drill, number)) is not None
    ]
    if take.outcome is Outcome.VOID or not landings:
        return ()
    if take.outcome is Outcome.PASS_:
        return heard_in(landings, (), True, goes_wrong)
    if take.first_miss is not None:
        missed_s = float(drill.landing_beat(take.first_miss - 1)) * beat_s
        until = [landing for landing in landings if landing.at_s <= missed_s + REACTION_S]
        return heard_in(until, (missed_s + REACTION_S,), True, goes_wrong)
    chances = np.array([goes_wrong(landing.drill, landing.tempo_bpm) for landing in landings])
    return _by_change(landings, chances / max(chances.sum(), 1e-9), True)


def _change_at(drill: Drill, landing: int) -> Drill | None:
    here, there = drill.chord_at(landing - 1), drill.chord_at(landing)
    return None if here == there else Drill(Kind.CHANGE, (here, there), gap=drill.gap)


def _by_change(
    landings: Iterable[PassLanding], shares: Iterable[float], said: bool
) -> tuple[ChangeHeard, ...]:
    found: dict[tuple[Drill, float], list[float]] = defaultdict(list)
    for landing, share in zip(landings, shares, strict=True):
        found[landing.drill, landing.tempo_bpm].append(round(float(share), 3))
    return tuple(ChangeHeard(drill, tempo, tuple(missed), said) for (drill, tempo), missed in found.items())


def _shares(landings: Sequence[PassLanding], mark: float, goes_wrong: GoesWrong, reaction_s: float) -> Array:
    """Each landing's share of a press; none where no landing is near enough, and of a press for nothing."""
    shares = np.zeros(len(landings))
    for place, landing in enumerate(landings):
        late_s = mark - landing.at_s
        if 0 <= late_s < FARTHEST_S:
            chance = goes_wrong(landing.drill, landing.tempo_bpm)
            shares[place] = _density(late_s - reaction_s + REACTION_S) * chance
    total = shares.sum()
    return shares * ((1 - STRAY_PRESS) / total) if total > 0 else shares


def _density(late_s: float) -> float:
    """Of a foot that speaks up so late, in 1/s: quick or slow, since nobody knows whose it is."""
    return sum(
        share / sd_s * math.exp(-0.5 * ((late_s - mean_s) / sd_s) ** 2) for share, mean_s, sd_s in FEET
    )


@lru_cache(maxsize=4096)
def likelihood_of(tempo_bpm: float, missed: tuple[float, ...], said: bool) -> Array:
    """The likelihood of what a pass tells of a change at one tempo: [spreads, tempos], read-only."""
    keep = np.exp(ct.log_keep(math.log(tempo_bpm)))
    likelihood = np.zeros_like(keep)
    for forgotten, weight in FORGOTTEN_WHEN_CLEAN if said else FORGOTTEN:
        unsaid, flagged = keep + forgotten * (1 - keep), (1 - forgotten) * (1 - keep)
        product = np.full_like(keep, weight)
        for share in missed:
            product *= share * flagged + (1 - share) * unsaid
        likelihood += product
    likelihood /= likelihood.max()
    likelihood.setflags(write=False)
    return likelihood


def likelihood_of_all(heard: Iterable[ChangeHeard]) -> Array:
    """The likelihood of all that several passes tell of one change: [spreads, tempos]."""
    product = np.ones((len(ct.SPREADS), len(ct.LOG_TEMPOS)))
    for one in heard:
        product *= likelihood_of(one.tempo_bpm, one.missed, one.said)
        product /= product.max()
    told: Array = product @ _bells(SONG_SD)
    return told


def levels(
    heard: Mapping[Drill, Sequence[ChangeHeard]], known: Mapping[Drill, PastResult]
) -> dict[Drill, PastResult]:
    """For each change of a run-through, what the others tell of the player's level, as related history.

    Changes lie around their player's level by RELATED_SD. known: what was known of some before.
    """
    if not heard:
        return {}
    told = {}
    for drill, each in heard.items():
        before = ct.prior((known[drill],)).mass if drill in known else ct.spread_prior()[:, None]
        told[drill] = np.log(_bells(ct.RELATED_SD) @ (before * likelihood_of_all(each)).sum(axis=0))
    played = [math.log(one.tempo_bpm) for each in heard.values() for one in each]
    up_to_it = -0.5 * ((ct.LOG_TEMPOS - sum(played) / len(played)) / UP_TO_IT_SD) ** 2
    whole = up_to_it + sum(told.values())
    return {drill: _related(whole - own) for drill, own in told.items()}


@lru_cache(maxsize=4)
def _bells(sd: float) -> Array:
    """A bell around every tempo of the grid: [tempos, tempos], each summing to 1."""
    off = np.subtract.outer(ct.LOG_TEMPOS, ct.LOG_TEMPOS)
    bells: Array = np.exp(-0.5 * (off / sd) ** 2)
    bells /= bells.sum(axis=0)
    return bells


def _related(log_mass: Array) -> PastResult:
    mass = np.exp(log_mass - log_mass.max())
    mass /= mass.sum()
    mean = float(mass @ ct.LOG_TEMPOS)
    sd = math.sqrt(float(mass @ (ct.LOG_TEMPOS - mean) ** 2))
    bpm, low_bpm, high_bpm = (math.exp(mean + off * sd) for off in (0.0, -1.645, 1.645))
    return PastResult(bpm, low_bpm, high_bpm, related=True)


def believed_wrong(beliefs: Callable[[Drill], ct.Posterior]) -> GoesWrong:
    """The chance that a landing is missed, by what is believed of its drill."""

    @cache
    def chance(drill: Drill, tempo_bpm: float) -> float:
        keep = np.exp(ct.log_keep(math.log(tempo_bpm)))
        return float(1 - (beliefs(drill).mass * keep).sum())

    return chance
