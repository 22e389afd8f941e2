"""Two judges of one take, foot and ear: how often they agree, and what a kind foot adds. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo

from pedaltrainer.ear.verdicts import HeardTake
from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.ladders.rungs import finding_of, told_of
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import SITTING_GAP_H

FEWEST_TAKES, MOST_TAKES = 20, 60
"""Of fewer takes nothing is said of the clean tempo: one answer would move it by more than a kind foot does.
Of more the last ones count: a player's clean tempo moves."""


@dataclass(frozen=True, slots=True)
class TwiceJudged:
    """A take with the foot's own answer, clean or missed, and the ear's. take: as the foot answered it."""

    at: datetime
    take: Take
    ear: HeardTake


@dataclass(frozen=True, slots=True)
class Agreement:
    """Of takes that foot and ear have judged. unsure: the ear was. only_ear, only_foot: called missed by
    that one alone."""

    takes: int
    unsure: int
    only_ear: int
    only_foot: int

    @property
    def decided(self) -> int:
        return self.takes - self.unsure

    @property
    def alike(self) -> int:
        return self.decided - self.only_ear - self.only_foot


@dataclass(frozen=True, slots=True)
class Flattery:
    """A drill's clean tempo by the foot, and where a take that the ear calls missed is so.

    takes: on how many it rests, the last on which the ear was sure.
    """

    foot_bpm: float
    both_bpm: float
    takes: int

    @property
    def share(self) -> float:
        """By how much the foot's is higher, as a share."""
        return self.foot_bpm / self.both_bpm - 1


@dataclass(frozen=True, slots=True)
class TwoJudges:
    """Foot and ear of one drill. days: local, oldest first; there is at least one."""

    whole: Agreement
    days: Mapping[date, Agreement]
    flattery: Flattery | None


def judges_of(judged: Sequence[TwiceJudged], zone: tzinfo | None = None) -> TwoJudges | None:
    """Of one drill's takes, oldest first; None without any. zone: of the days (None: this machine's)."""
    if not judged:
        return None
    return TwoJudges(agreement_of(judged), by_day(judged, zone), flattery_of(judged))


def agreement_of(judged: Iterable[TwiceJudged]) -> Agreement:
    """How often the two agree."""
    pairs = [(one.take.outcome is Outcome.PASS_, one.ear) for one in judged]
    return Agreement(
        len(pairs),
        sum(ear is HeardTake.UNSURE for _, ear in pairs),
        pairs.count((True, HeardTake.MISSED)),
        pairs.count((False, HeardTake.CLEAN)),
    )


def by_day(judged: Iterable[TwiceJudged], zone: tzinfo | None = None) -> dict[date, Agreement]:
    """The same by local day, oldest first; playing on past midnight belongs to the evening."""
    days: dict[date, list[TwiceJudged]] = {}
    before: datetime | None = None
    for one in sorted(judged, key=lambda one: one.at):
        if before is None or one.at - before > timedelta(hours=SITTING_GAP_H):
            day = one.at.astimezone(zone).date()
        days.setdefault(day, []).append(one)
        before = one.at
    return {day: agreement_of(found) for day, found in days.items()}


def flattery_of(judged: Sequence[TwiceJudged]) -> Flattery | None:
    """Of one drill's takes, oldest first; None while there are too few, or the clean tempo is open.

    What the foot misses and the ear does not is missed: a buzz, a string that the ear cannot tell.
    """
    decided = [one for one in judged if one.ear is not HeardTake.UNSURE][-MOST_TAKES:]
    if len(decided) < FEWEST_TAKES:
        return None
    foot = [one.take for one in decided]
    both = [
        replace(one.take, outcome=Outcome.FAIL) if one.ear is HeardTake.MISSED else one.take
        for one in decided
    ]
    foot_bpm, both_bpm = _clean_tempo(foot), _clean_tempo(both)
    return Flattery(foot_bpm, both_bpm, len(decided)) if foot_bpm and both_bpm else None


def _clean_tempo(takes: Sequence[Take]) -> float | None:
    found = ct.estimate(ct.update_all(ct.prior(), takes))
    outcomes = {take.outcome for take in takes}
    told = finding_of(found, Outcome.PASS_ in outcomes, Outcome.FAIL in outcomes, knew=False)
    return told_of(found, told).bpm
