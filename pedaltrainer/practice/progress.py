"""Is practice working? From a player's takes to dated clean tempos, a verdict and what to do. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from typing import NamedTuple, TypeVar

import numpy as np

from pedaltrainer.errors import InputError
from pedaltrainer.practice import clean_tempo
from pedaltrainer.practice.clean_tempo import TOO_WIDE
from pedaltrainer.practice.drill import Drill, Kind, parse_drill
from pedaltrainer.practice.take import DatedTake, Outcome, minutes_of
from pedaltrainer.practice.trend import FEWEST_DAYS, SITTING_GAP_H, Reach, Trend, trend_of

T = TypeVar("T")

NINE_IN_TEN = 1.645
"""Standard deviations either side of the mean that hold 90 % of a normal law."""

MEASURES_NOTHING = frozenset({Kind.PRESSURE})
"""Kinds without a clean tempo: of these there is only how much was played."""


@dataclass(frozen=True, slots=True)
class Day:
    """One day's clean tempo with its 90 % interval, by its takes alone.

    date is local. bpm is None when the takes do not tell it well enough for a number; low_bpm
    when no take was clean, high_bpm when none was missed: that end then is a guess from the
    model's prior, and nothing the player did. All three are None where nothing is measured.
    """

    date: date
    began: datetime
    takes: int
    bpm: float | None
    low_bpm: float | None
    high_bpm: float | None
    minutes: float = 0.0


@dataclass(frozen=True, slots=True)
class Progress:
    """A drill's days, oldest first, the trend through its takes, and when a target would be reached."""

    drill: Drill
    days: tuple[Day, ...]
    trend: Trend
    target_bpm: float | None = None
    reach: Reach | None = None


class LinePoint(NamedTuple):
    """The trend's line at a moment, with the ends of its 90 % band, in BPM."""

    when: datetime
    bpm: float
    low_bpm: float
    high_bpm: float


def chosen(
    by_drill: Mapping[Drill, T], words: str | None = None, beats_per_chord: int | None = None
) -> dict[Drill, T]:
    """The drills a player asked for by their words, or by the drill's name in the log; None asks for all.

    "Am E" is the change from either side, at every number of beats on a chord unless one is given.
    Raises InputError, naming the drills there are, when there is no such drill, or for no chord.
    """

    # A word that is no chord is said as that, also where the log is empty.
    is_key = words is None or any(words == drill.key for drill in by_drill)
    named = None if words is None or is_key else parse_drill(words)

    def meant(drill: Drill) -> bool:
        if beats_per_chord is not None and drill.beats_per_chord != beats_per_chord:
            return False
        if words is None or words == drill.key:
            return True
        return named is not None and replace(named, beats_per_chord=drill.beats_per_chord).key == drill.key

    found = {drill: what for drill, what in by_drill.items() if meant(drill)}
    if not found and (words is not None or by_drill):
        asked = f"“{words}”" if words is not None else "any drill"
        beats = f" at {beats_per_chord} beats" if beats_per_chord is not None else ""
        there = ", ".join(f"“{key}”" for key in sorted(drill.key for drill in by_drill)) or "none yet"
        raise InputError(f"The log has no takes of {asked}{beats}; its drills are {there}.")
    return found


def progress_of(
    drill: Drill, dated: Iterable[DatedTake], target_bpm: float | None = None, zone: tzinfo | None = None
) -> Progress:
    """What the takes of one drill say. Void takes say nothing; times carry their time zone.

    zone: where a day is a day (None: this machine's). Raises ValueError unless target_bpm > 0.
    """
    counted = sorted(
        ((when, take) for when, take in dated if take.outcome is not Outcome.VOID), key=lambda pair: pair[0]
    )
    by_date = _by_date(counted, zone).items()
    if drill.kind in MEASURES_NOTHING:
        return Progress(drill, tuple(_played(day, takes) for day, takes in by_date), trend_of(()))
    found = trend_of(counted)
    reach = found.when_reached(target_bpm) if target_bpm is not None else None
    return Progress(drill, tuple(_day(day, takes) for day, takes in by_date), found, target_bpm, reach)


def _by_date(counted: Sequence[DatedTake], zone: tzinfo | None) -> dict[date, list[DatedTake]]:
    """Takes by the local date their sitting began on: playing past midnight belongs to the evening."""
    by_date: dict[date, list[DatedTake]] = {}
    before: datetime | None = None
    for when, take in counted:
        if before is None or when - before > timedelta(hours=SITTING_GAP_H):
            day = when.astimezone(zone).date()
        by_date.setdefault(day, []).append((when, take))
        before = when
    return by_date


def _played(day: date, takes: Sequence[DatedTake]) -> Day:
    minutes = sum(minutes_of(take) for _, take in takes)
    return Day(day, takes[0][0], len(takes), None, None, None, minutes)


def _day(day: date, takes: Sequence[DatedTake]) -> Day:
    found = clean_tempo.estimate(clean_tempo.update_all(clean_tempo.prior(), (take for _, take in takes)))
    outcomes = {take.outcome for _, take in takes}
    told = len(outcomes) == 2 and found.half_width <= TOO_WIDE
    return replace(
        _played(day, takes),
        bpm=found.bpm if told else None,
        low_bpm=found.low_bpm if Outcome.PASS_ in outcomes else None,
        high_bpm=found.high_bpm if Outcome.FAIL in outcomes else None,
    )


def trend_line(one: Progress, steps: int = 60) -> tuple[LinePoint, ...]:
    """The line through the days with its 90 % band, from the first day to the last; () before the third."""
    last = one.trend.last
    if last is None or one.trend.slopes.size < FEWEST_DAYS:
        return ()
    first = one.days[0].began
    points: list[LinePoint] = []
    for before_last in np.linspace((first - last) / timedelta(days=1), 0.0, steps):
        # By moments: quantiles of a grid seen aslant jump from line to line of it.
        at = one.trend.levels[None, :] + one.trend.slopes[:, None] * before_last
        middle = float((one.trend.belief * at).sum())
        off = NINE_IN_TEN * math.sqrt(float((one.trend.belief * (at - middle) ** 2).sum()))
        when = last + timedelta(days=float(before_last))
        points.append(LinePoint(when, math.exp(middle), math.exp(middle - off), math.exp(middle + off)))
    return tuple(points)


def the_only(found: Sequence[Progress]) -> Progress:
    """The one drill of which a picture is asked. Raises InputError when there are several or none."""
    if len(found) != 1:
        raise InputError(
            f'A picture shows one drill and here are {len(found)}; name it, such as "Am E" (and its --beats).'
        )
    return found[0]


# --- words ----------------------------------------------------------------------


# --- JSON -----------------------------------------------------------------------
