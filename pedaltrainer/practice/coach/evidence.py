"""What the log tells of a drill.

The belief on the clean tempo is carried from sitting to sitting as before any session: a sitting ends
in an estimate with its interval (`found`), and the next one begins with that, widened for the days
between (`clean_tempo.prior`). What was never played is believed from its relatives: a change from its
two shapes and from the other changes of theirs, a shape from the changes that it is part of.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from pedaltrainer.neck.gap import LIFTS, Gap
from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.take import DatedTake, Outcome, minutes_of
from pedaltrainer.practice.trend import SITTING_GAP_H, Trend, as_utc, trend_of

SITTINGS = 3
"""Sittings that the belief is made of. A day's difference (4 %) and a sitting's error (5 %) leave each
sitting with about 0.4 of the weight of the one after it, so a fourth one back would count for a twentieth."""
MOST_TAKES = 40
"""Takes that the belief is made of. At 0.5 % of wandering a take, one further back stands off by more
than 3 %, as much as another day would."""
RULE_OF_THUMB = 5 / 6
"""A change comes to about this share of its slower shape (common practice, no published source)."""
LEAST_RELATED_SD = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What is known of one drill now.

    belief: on the clean tempo, as the last take left it. last: when that began. found: the same as a ladder
    takes its history, to be widened for the days since; None without takes. minutes: of playing in the takes
    given, count-ins included. trend: only when it was asked for.
    """

    drill: Drill
    belief: ct.Posterior
    takes: int = 0
    last: datetime | None = None
    trend: Trend | None = None
    minutes: float = 0.0
    found: PastResult | None = None

    @property
    def estimate(self) -> ct.Estimate:
        return ct.estimate(self.belief)

    def days_since(self, now: datetime) -> float | None:
        """Days since the last take, none below 0; None without takes."""
        return None if self.last is None else _days(self.last, now)


Known = Mapping[str, Evidence]
"""Evidence by the drill's key."""


def evidence_of(
    drill: Drill,
    dated_takes: Iterable[DatedTake],
    now: datetime,
    *,
    reaction_s: float = 0.25,
    with_trend: bool = False,
) -> Evidence:
    """The evidence of a drill's dated takes, in any order. Void takes tell nothing.

    The belief is made of the last SITTINGS sittings and MOST_TAKES takes: give those, and older ones for
    the trend alone (with_trend, which is dear). Raises ValueError for a time without a time zone.
    """
    kept = sorted(
        ((as_utc(when), take) for when, take in dated_takes if take.outcome is not Outcome.VOID),
        key=lambda pair: pair[0],
    )
    if not kept:
        return Evidence(drill, ct.prior())
    belief, before, last = ct.prior(), None, kept[-1][0]
    sittings = _sittings(kept[-MOST_TAKES:])[-SITTINGS:]
    next_began = [sitting[0][0] for sitting in sittings[1:]] + [as_utc(now)]
    for sitting, following in zip(sittings, next_began, strict=True):
        if before is not None:
            belief = ct.prior((before,))
        belief = ct.update_all(belief, (take for _, take in sitting), reaction_s)
        before = past_result(belief, _days(sitting[-1][0], following))
    trend = trend_of(kept, reaction_s) if with_trend else None
    return Evidence(drill, belief, len(kept), last, trend, sum(minutes_of(take) for _, take in kept), before)


def past_result(belief: ct.Posterior, days_ago: float = 0.0) -> PastResult:
    """A belief as a ladder's history keeps it."""
    found = ct.estimate(belief)
    return PastResult(found.bpm, found.low_bpm, found.high_bpm, days_ago)


def _sittings(kept: Sequence[DatedTake]) -> list[list[DatedTake]]:
    sittings: list[list[DatedTake]] = []
    for when, take in kept:
        if not sittings or when - sittings[-1][-1][0] > timedelta(hours=SITTING_GAP_H):
            sittings.append([])
        sittings[-1].append((when, take))
    return sittings


def _days(since: datetime, now: datetime) -> float:
    # A clock that was set back must not make the past lie in the future.
    return max(0.0, (as_utc(now) - as_utc(since)).total_seconds() / 86_400)


# --- relatives ----------------------------------------------------------------------


def shape_drill(change: Drill, chord: str) -> Drill:
    """The re-landing that a change is compared with: of the same gap, lifted for an instant change."""
    gap = Gap.LIFTED if change.gap is Gap.INSTANT else change.gap
    return Drill(Kind.RE_LAND, (chord,), gap=gap)


def same_air(of: Drill, like: Drill) -> float:
    """What a tempo of drill `of` is multiplied by to give the tempo of `like` with the same air time."""
    return _SAME_AIR[of.gap, like.gap]


_SAME_AIR = {(of, like): float(LIFTS[like] / LIFTS[of]) for of in Gap for like in Gap}


def history_of(drill: Drill, known: Known, ratio: float = RULE_OF_THUMB) -> tuple[PastResult, ...]:
    """What a ladder may start from: the drill's own last result, else what its relatives suggest."""
    own = known.get(drill.key)
    if own is not None and own.found is not None:
        return (own.found,)
    return related(drill, known, ratio)


def belief_on(drill: Drill, known: Known, ratio: float = RULE_OF_THUMB) -> ct.Posterior:
    """What is believed of a drill from its own takes and its relatives; of one never seen, when neither."""
    own = known.get(drill.key)
    kin = related(drill, known, ratio)
    if own is None or not own.takes:
        return ct.prior(kin)
    if not kin:
        return own.belief
    # Relatives weigh as they would have before the first take: Bayes' rule does not mind the order.
    mass = own.belief.mass * (ct.prior(kin).mass / ct.prior().mass)
    return ct.Posterior(mass / mass.sum(), own.belief.takes)


def related(drill: Drill, known: Known, ratio: float = RULE_OF_THUMB) -> tuple[PastResult, ...]:
    """What other drills suggest of this one, as related history: one result, pooled.

    A change: `ratio` of its slower shape, and the other changes of its shapes. A shape: its changes over
    `ratio`. Without any of these, all changes and shapes of the player, turned alike. Pooled into one, since
    relatives rest on each other: four of them are not four independent witnesses.
    """
    if drill.kind not in {Kind.CHANGE, Kind.RE_LAND}:
        return ()
    near: list[tuple[float, Kind]] = []
    far: list[tuple[float, Kind]] = []
    own_key = drill.key
    for key, other in known.items():
        if key == own_key or other.found is None or other.drill.kind not in {Kind.CHANGE, Kind.RE_LAND}:
            continue
        level = math.log(other.found.bpm * same_air(other.drill, drill))
        level += math.log(ratio) * ((drill.kind is Kind.CHANGE) - (other.drill.kind is Kind.CHANGE))
        (near if set(other.drill.chords) & set(drill.chords) else far).append((level, other.drill.kind))
    shapes = [level for level, kind in near if kind is Kind.RE_LAND]
    if drill.kind is Kind.CHANGE and len(shapes) == 2:
        return (_pooled([min(shapes), *(level for level, kind in near if kind is Kind.CHANGE)]),)
    levels = [level for level, _ in near or far]
    return (_pooled(levels, 0.0 if near else ct.RELATED_SD),) if levels else ()


def _pooled(levels: Sequence[float], more_sd: float = 0.0) -> PastResult:
    mean = sum(levels) / len(levels)
    spread = math.sqrt(sum((level - mean) ** 2 for level in levels) / len(levels))
    sd = math.hypot(LEAST_RELATED_SD, spread / math.sqrt(len(levels)), more_sd)
    return PastResult(
        math.exp(mean), math.exp(mean - 1.645 * sd), math.exp(mean + 1.645 * sd), 0.0, related=True
    )
