"""Is practice working? From a player's takes to dated clean tempos, a verdict and what to do. Pure."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import NamedTuple, TypeVar

import numpy as np

from pedaltrainer.errors import InputError
from pedaltrainer.practice import clean_tempo
from pedaltrainer.practice.drill import Drill, Kind, parse_drill
from pedaltrainer.practice.evidence import minutes_of
from pedaltrainer.practice.rungs import TOO_WIDE
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import FEWEST_DAYS, SITTING_GAP_H, Reach, Trend, Verdict, trend_of

DatedTake = tuple[datetime, Take]
T = TypeVar("T")

SKETCH_COLUMNS = 36
ENDS, BEYOND, DOT, TARGET = "├┤", "◀▶", "●", "┊"
NINE_IN_TEN = 1.645
"""Standard deviations either side of the mean that hold 90 % of a normal law."""
TARGET_IN_SIGHT = 1.5
"""A target up to this many times the fastest tempo shown is drawn; one further off would squash the rest."""

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


def in_words(one: Progress, today: date | None = None, sketch: bool = True) -> str:
    """A drill's progress for reading: a line a day, the verdict, the outlook and what to do.

    today: to say so when the dates of an outlook have passed. sketch: with the intervals drawn.
    """
    if not one.days:
        return f"{one.drill.title}: no take counts yet."
    if one.drill.kind in MEASURES_NOTHING:
        return "\n".join([one.drill.title, *_day_lines(one, sketch=False)])
    lines = [one.drill.title, *_day_lines(one, sketch), verdict_words(one.trend)]
    if one.target_bpm is not None and one.reach is not None:
        lines.append(f"{one.target_bpm:g} BPM: {reach_words(one.reach, today)}.")
    advice = advice_for(one)
    return "\n".join([*lines, *((advice,) if advice else ())])


def reach_words(reach: Reach, today: date | None) -> str:
    """When a target would be reached; that the dates have passed, where they have."""
    passed = today is not None and reach.latest is not None and reach.latest < today
    return reach.words + (", had it gone on; play again to see where it is now" if passed else "")


def _day_lines(one: Progress, sketch: bool) -> list[str]:
    words = [day_words(one.drill, day) for day in one.days]
    width = max(map(len, words))
    scale = scale_of(one) if sketch else None
    lines = [
        f"  {day.date.isoformat()}  {said:<{width}}"
        + (f"  {_bar(day, scale, one.target_bpm)}" if scale else "")
        for day, said in zip(one.days, words, strict=True)
    ]
    if scale:
        low, high = (f"{end:.0f}" for end in scale)
        lines.append(f"{'':{width + 16}}{low}{f'{high} BPM':>{SKETCH_COLUMNS - len(low)}}")
    return [line.rstrip() for line in lines]


def scale_of(one: Progress) -> tuple[float, float]:
    """The slowest and the fastest tempo of the sketch: what the days tell, and the target when in sight."""
    # The far end of a wide interval is mostly the prior's: it may run off the edge.
    told = [day for day in one.days if day.bpm is not None or None in (day.low_bpm, day.high_bpm)]
    ends = [end for day in told or one.days for end in (day.low_bpm, day.high_bpm) if end is not None]
    low, high = min(ends) / 1.02, max(ends) * 1.02
    target = one.target_bpm
    if target is not None and low / TARGET_IN_SIGHT < target < high * TARGET_IN_SIGHT:
        low, high = min(low, target), max(high, target)
    return low, high


def _bar(day: Day, scale: tuple[float, float], target_bpm: float | None) -> str:
    """The interval as a bar on a logarithmic scale, the clean tempo a dot; an arrow where no end is known."""
    low, high = scale

    def column(bpm: float) -> int:
        return round(math.log(bpm / low) / math.log(high / low) * (SKETCH_COLUMNS - 1))

    cells = [" "] * SKETCH_COLUMNS
    if target_bpm is not None and low <= target_bpm <= high:
        cells[column(target_bpm)] = TARGET
    first, last = 0, SKETCH_COLUMNS - 1
    left = -1 if day.low_bpm is None else column(day.low_bpm)
    right = last + 1 if day.high_bpm is None else column(day.high_bpm)
    start, end = min(max(left, first), last), min(max(right, first), last)
    cells[start : end + 1] = "─" * (end - start + 1)
    cells[start] = ENDS[0] if left >= first else BEYOND[0]
    cells[end] = ENDS[1] if right <= last else BEYOND[1]
    if day.bpm is not None:
        cells[column(day.bpm)] = DOT
    return "".join(cells)


def day_words(drill: Drill, day: Day) -> str:
    """What there is to say of a day: the clean tempo, or how much was played where nothing is measured."""
    if drill.kind not in MEASURES_NOTHING:
        return tempo_words(day)
    minutes = "less than a minute" if day.minutes < 0.5 else f"{day.minutes:.0f} min"
    return f"{day.takes} take{'' if day.takes == 1 else 's'}, {minutes}"


def tempo_words(day: Day) -> str:
    """A day's clean tempo with no more certainty than there is."""
    if day.high_bpm is None:
        return f"above {day.low_bpm:.0f}"
    if day.low_bpm is None:
        return f"below {day.high_bpm:.0f}"
    if day.bpm is None:
        return f"somewhere in {day.low_bpm:.0f} to {day.high_bpm:.0f}"
    return f"{day.bpm:.0f} ({day.low_bpm:.0f} to {day.high_bpm:.0f})"


def verdict_words(found: Trend) -> str:
    """The verdict with its probability and, where it can be told, the rate."""
    if found.verdict is Verdict.TOO_EARLY:
        so_far = f"Too early to say: {found.days} sitting{'' if found.days == 1 else 's'} so far"
        if found.days < FEWEST_DAYS:
            return f"{so_far}, and it takes {FEWEST_DAYS} at least, on different days."
        leaning = "rising" if found.per_day > 0 else "falling"
        return f"{so_far}; the chance that it is {leaning} is {found.probability * 100:.0f} %."
    week_low, week, week_high = (
        math.expm1(7 * rate) * 100 for rate in (found.per_day_low, found.per_day, found.per_day_high)
    )
    sure = "more than 99 %" if found.probability > 0.99 else f"{found.probability * 100:.0f} %"
    return (
        f"{str(found.verdict).capitalize()} ({sure} sure): "
        f"{week:+.1f} % a week, between {week_low:+.1f} and {week_high:+.1f}."
    )


def advice_for(one: Progress) -> str | None:
    """What to do when the number does not rise: the smaller pieces of the change."""
    if one.trend.verdict not in {Verdict.FLAT, Verdict.FALLING}:
        return None
    if one.drill.kind is Kind.CHANGE:
        first, second = one.drill.chords
        beats = f" --beats {one.drill.beats_per_chord}" if one.drill.beats_per_chord > 1 else ""
        return (
            "It does not rise this way: drop to the smaller pieces, each shape landed alone, for a few days: "
            f'pedaltrainer play "{first}"{beats} and pedaltrainer play "{second}"{beats}; '
            "then come back to the change."
        )
    return "It does not rise this way. Slow down, press lightly, or rest a few days; a teacher can help."


def span_words(all_of_them: Sequence[Progress], whole: bool, days: int | None, elsewhere: int = 0) -> str:
    """How far back the takes go that this is told from.

    whole: they are all there are. Otherwise they are those of the last so many days with takes, and of
    `elsewhere` drills there are only older ones.
    """
    since = min((one.days[0].date.isoformat() for one in all_of_them if one.days), default=None)
    if whole or since is None:
        return f"From every take, since {since}." if since else "No take counts yet."
    others = f" {elsewhere} more drill{' was' if elsewhere == 1 else 's were'} last practised before that."
    return (
        f"From the last {days} days with takes, since {since}; --all goes back to the first."
        f"{others if elsewhere else ''}"
    )


# --- JSON -----------------------------------------------------------------------


def as_json(all_of_them: Iterable[Progress], whole: bool = True) -> str:
    """A list of objects, one a drill; times are ISO 8601 in UTC, tempos in BPM, rates in per cent a day.

    whole: whether the takes told of are all there are.
    """
    return json.dumps([_plain(one) | {"from_every_take": whole} for one in all_of_them], indent=2)


def _plain(one: Progress) -> dict[str, object]:
    measures = one.drill.kind not in MEASURES_NOTHING
    reach = one.reach
    return {
        "drill": one.drill.key,
        "verdict": str(one.trend.verdict) if measures else None,
        "probability": round(one.trend.probability, 4) if measures else None,
        "percent_per_day": [
            round(math.expm1(rate) * 100, 4)
            for rate in (one.trend.per_day_low, one.trend.per_day, one.trend.per_day_high)
            if measures
        ],
        "advice": advice_for(one),
        "target_bpm": one.target_bpm,
        "target": reach.words if reach else None,
        "target_earliest": reach.earliest.isoformat() if reach and reach.earliest else None,
        "target_latest": reach.latest.isoformat() if reach and reach.latest else None,
        "days": [_plain_day(day) for day in one.days],
    }


def _plain_day(day: Day) -> dict[str, object]:
    return {
        "date": day.date.isoformat(),
        "began_utc": _utc_text(day.began),
        "takes": day.takes,
        "minutes": round(day.minutes, 1),
        "clean_bpm": _rounded(day.bpm),
        "low_bpm": _rounded(day.low_bpm),
        "high_bpm": _rounded(day.high_bpm),
    }


def _rounded(bpm: float | None) -> float | None:
    return None if bpm is None else round(bpm, 2)


def _utc_text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
