"""What the log tells of a drill: the one figure that every surface shows.

The belief on the clean tempo is carried from session to session. What a ladder begins with is kept in the
session's settings, so what it ended with follows from that and from the session's takes, and is what the
stage told; the next session begins with it, widened for the days between (`clean_tempo.prior`). What was
never played is believed from its relatives: a change from its two shapes and from the other changes of
theirs, a shape from the changes that it is part of.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from pedaltrainer.neck.gap import LIFTS, Gap
from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.ladders.rungs import Finding, finding_of
from pedaltrainer.practice.run_evidence import ChangeHeard, likelihood_of_all
from pedaltrainer.practice.take import DatedTake, Outcome
from pedaltrainer.practice.trend import SITTING_GAP_H, Trend, as_utc

RULE_OF_THUMB = 5 / 6
"""A change comes to about this share of its slower shape (common practice, no published source)."""
LEAST_RELATED_SD = 0.05


@dataclass(frozen=True, slots=True)
class SessionTakes:
    """The takes of one drill in one session, none void, oldest first; or what run-throughs told of it.

    history: what its ladder began with; empty where the session knew nothing of the drill. heard: when each
    run-through began, and what it told. There is at least one of `dated` and `heard`. first_step: where a
    drill with steps began.
    """

    dated: tuple[DatedTake, ...]
    history: tuple[PastResult, ...] = ()
    heard: tuple[tuple[datetime, ChangeHeard], ...] = ()
    first_step: int = 0

    @property
    def began(self) -> datetime:
        return as_utc((self.dated or self.heard)[0][0])

    @property
    def last(self) -> datetime:
        """When the last take, or run-through, began."""
        return as_utc((self.dated or self.heard)[-1][0])

    @property
    def rests_on_another(self) -> bool:
        """Did it know nothing of its own of the drill? Then the one before it is needed."""
        return all(past.related for past in self.history)

    def until(self, moment: datetime) -> SessionTakes:
        """As the session stood then; it had begun."""
        if self.last < moment:
            return self
        return replace(
            self,
            dated=tuple(pair for pair in self.dated if pair[0] < moment),
            heard=tuple(pair for pair in self.heard if pair[0] < moment),
        )

    def ends(self) -> tuple[bool, bool]:
        """Was anything clean in it, was anything missed?"""
        outcomes = {take.outcome for _, take in self.dated}
        shares = [share for _, one in self.heard for share in one.missed]
        return (
            Outcome.PASS_ in outcomes or any(share < 0.5 for share in shares),
            Outcome.FAIL in outcomes or any(share >= 0.5 for share in shares),
        )


def in_sittings(dated: Iterable[DatedTake]) -> tuple[SessionTakes, ...]:
    """Takes of which no session tells more, in any order, parted where they pause; void ones are left out.

    Raises ValueError for a time without a time zone.
    """
    kept = [(as_utc(when), take) for when, take in dated if take.outcome is not Outcome.VOID]
    kept.sort(key=lambda pair: pair[0])
    sittings: list[list[DatedTake]] = []
    for pair in kept:
        if not sittings or pair[0] - sittings[-1][-1][0] > timedelta(hours=SITTING_GAP_H):
            sittings.append([])
        sittings[-1].append(pair)
    return tuple(SessionTakes(tuple(one)) for one in sittings)


@dataclass(frozen=True, slots=True, eq=False)
class FoundTempo:
    """What a session has found of a drill's clean tempo, as its last take left it."""

    belief: ct.Posterior = field(repr=False)
    estimate: ct.Estimate
    finding: Finding


def last_needed(sessions: Sequence[SessionTakes]) -> Sequence[SessionTakes]:
    """Of a drill's sessions, oldest first, the last ones that are enough to tell the last."""
    needed = 1
    while needed < len(sessions) and sessions[-needed].rests_on_another:
        needed += 1
        if sessions[-needed].dated:
            break
    return sessions[-needed:]


def found_in(sessions: Iterable[SessionTakes], before: Sequence[SessionTakes] = ()) -> Iterator[FoundTempo]:
    """What each of these sessions of a drill, oldest first, has found. before: those that the first rests on.

    A session takes from the one before it, and only where it knew nothing of its own of the drill: its takes
    came from elsewhere, or it was heard in a passage. Of takes it counts what they began with; what was heard
    may itself rest on the one before, and so on.
    """
    last, belief = None, ct.prior()
    for number, one in enumerate((*before, *sessions)):
        history = one.history
        if last is not None and one.rests_on_another:
            kept = belief if last.heard else _after(last, last.history)
            history = (ct.past_result(kept, _days(last.last, one.began)),)
        belief, last = _after(one, history), one
        if number < len(before):
            continue
        estimate = ct.estimate(belief)
        passed, failed = one.ends()
        # Of what run-throughs alone have told, one side of the answers is not enough.
        knew = any(not past.related for past in history) if one.heard else bool(history)
        yield FoundTempo(belief, estimate, finding_of(estimate, passed, failed, knew))


def _after(one: SessionTakes, history: tuple[PastResult, ...]) -> ct.Posterior:
    if not one.heard:
        return ct.update_all(ct.prior(history), (take for _, take in one.dated))
    # A song goes wrong for other reasons too: it moves what drills have measured, and does not overthrow it.
    before = ct.prior(history, surprise=0.0 if any(not past.related for past in history) else ct.SURPRISE)
    mass = before.mass * likelihood_of_all(told for _, told in one.heard)
    return ct.Posterior(mass / mass.sum(), len(one.heard))


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What is known of one drill now.

    belief: on the clean tempo, as the last take left it. takes: of the last session with the drill, or the
    run-throughs that told of it. last: when the last of them began. finding: what can be said of the clean
    tempo. found: the same as a ladder takes its history, to be widened for the days since; None without
    takes. trend: only when it was asked for.
    """

    drill: Drill
    belief: ct.Posterior
    takes: int = 0
    last: datetime | None = None
    trend: Trend | None = None
    found: PastResult | None = None
    finding: Finding = Finding.NONE

    @property
    def estimate(self) -> ct.Estimate:
        return ct.estimate(self.belief)

    def days_since(self, now: datetime) -> float | None:
        """Days since the last take, none below 0; None without takes."""
        return None if self.last is None else _days(self.last, now)


Known = Mapping[str, Evidence]
"""Evidence by the drill's key."""


def evidence_of(
    drill: Drill, sessions: Sequence[SessionTakes], now: datetime, trend: Trend | None = None
) -> Evidence:
    """The evidence of a drill's sessions, oldest first.

    Raises ValueError for a time without a time zone.
    """
    if not sessions:
        return Evidence(drill, ct.prior())
    *_, found = found_in(last_needed(sessions))
    return evidence_after(drill, sessions[-1], found, now, trend)


def evidence_after(
    drill: Drill, last: SessionTakes, found: FoundTempo, now: datetime, trend: Trend | None = None
) -> Evidence:
    """The evidence of a drill whose last session has found this."""
    before = ct.past_result(found.belief, _days(last.last, now))
    return Evidence(
        drill, found.belief, len(last.dated) + len(last.heard), last.last, trend, before, found.finding
    )


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
    """What is believed of a drill: from its own takes, or while it has none from its relatives."""
    own = known.get(drill.key)
    # What its relatives told before its first take is in what its first session began with.
    return own.belief if own is not None and own.takes else ct.prior(related(drill, known, ratio))


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
