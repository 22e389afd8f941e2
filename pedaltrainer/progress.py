"""Is practice working? From a player's takes to dated clean tempos, a verdict and what to do. Pure."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from pedaltrainer.errors import InputError
from pedaltrainer.practice import clean_tempo
from pedaltrainer.practice.clean_tempo import Estimate
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import SITTING_GAP_H, Reach, Trend, Verdict, trend_of

DatedTake = tuple[datetime, Take]

SKETCH_COLUMNS = 36
LEFT_END, RIGHT_END = "├", "┤"


@dataclass(frozen=True, slots=True)
class Sitting:
    """One sitting's clean tempo with its 90 % interval, by its takes alone."""

    began: datetime
    takes: int
    found: Estimate


@dataclass(frozen=True, slots=True)
class Progress:
    """A drill's sittings, oldest first, the trend through its takes, and when a target would be reached."""

    drill: Drill
    sittings: tuple[Sitting, ...]
    trend: Trend
    target_bpm: float | None = None
    reach: Reach | None = None


def progress_of(drill: Drill, dated: Iterable[DatedTake], target_bpm: float | None = None) -> Progress:
    """What the takes of one drill say. Void takes say nothing; times carry their time zone."""
    counted = sorted(
        ((when, take) for when, take in dated if take.outcome is not Outcome.VOID), key=lambda pair: pair[0]
    )
    found = trend_of(counted)
    reach = found.when_reached(target_bpm) if target_bpm is not None else None
    sittings = tuple(_sitting(takes) for takes in _sittings(counted))
    return Progress(drill, sittings, found, target_bpm, reach)


def _sittings(counted: Sequence[DatedTake]) -> list[list[DatedTake]]:
    gathered: list[list[DatedTake]] = []
    for when, take in counted:
        if not gathered or when - gathered[-1][-1][0] > timedelta(hours=SITTING_GAP_H):
            gathered.append([])
        gathered[-1].append((when, take))
    return gathered


def _sitting(takes: Sequence[DatedTake]) -> Sitting:
    posterior = clean_tempo.prior()
    for _, take in takes:
        posterior = clean_tempo.update(posterior, take)
    return Sitting(takes[0][0], len(takes), clean_tempo.estimate(posterior))


def the_only(found: Sequence[Progress]) -> Progress:
    """The one drill of which a picture is asked. Raises InputError when there are several or none."""
    if len(found) != 1:
        raise InputError(f'A picture shows one drill and here are {len(found)}; name it, such as "Am E".')
    return found[0]


# --- words ----------------------------------------------------------------------


def in_words(one: Progress, zone: tzinfo | None = None) -> str:
    """A drill's progress for reading: a line a sitting with a sketch of its interval, then the verdict."""
    if not one.sittings:
        return f"{one.drill.title}: no take counts yet."
    lines = [f"{one.drill.title}", *_sketch(one.sittings, zone), verdict_words(one.trend)]
    if one.target_bpm is not None and one.reach is not None:
        lines.append(f"{one.target_bpm:g} BPM: {one.reach.words}.")
    advice = advice_for(one)
    return "\n".join([*lines, *((advice,) if advice else ())])


def _sketch(sittings: Sequence[Sitting], zone: tzinfo | None) -> list[str]:
    low = min(sitting.found.low_bpm for sitting in sittings)
    high = max(sitting.found.high_bpm for sitting in sittings)
    return [
        f"  {_local(sitting.began, zone).isoformat()}  {_tempo_words(sitting.found):>16}  "
        f"{_bar(sitting.found, low, high)}"
        for sitting in sittings
    ]


def _bar(found: Estimate, low_bpm: float, high_bpm: float) -> str:
    """The interval as a bar on a logarithmic scale from low to high, the estimate a dot on it."""
    span = math.log(high_bpm / low_bpm) or 1.0

    def column(bpm: float) -> int:
        return round(math.log(bpm / low_bpm) / span * (SKETCH_COLUMNS - 1))

    left, dot, right = (column(bpm) for bpm in (found.low_bpm, found.bpm, found.high_bpm))
    cells = [" "] * left + ["─"] * (right - left + 1)
    cells[left], cells[right] = LEFT_END, RIGHT_END
    cells[dot] = "●"
    return "".join(cells)


def _tempo_words(found: Estimate) -> str:
    return f"{found.bpm:.0f} ({found.low_bpm:.0f} to {found.high_bpm:.0f})"


def verdict_words(found: Trend) -> str:
    """The verdict with its probability and, where it can be told, the rate."""
    if found.verdict is Verdict.TOO_EARLY:
        return f"Too early to say: {found.days} sitting{'' if found.days == 1 else 's'} so far."
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
        return (
            f'It does not rise this way. Land each shape alone: pedaltrainer play "{first}" "{second}"; '
            "then come back to the change."
        )
    return "It does not rise this way. Slow down, press lightly, or rest a few days; a teacher can help."


# --- JSON -----------------------------------------------------------------------


def as_json(all_of_them: Iterable[Progress]) -> str:
    """A list of objects, one a drill; times are ISO 8601 in UTC, tempos in BPM, rates in per cent a day."""
    return json.dumps([_plain(one) for one in all_of_them], indent=2)


def _plain(one: Progress) -> dict[str, object]:
    reach = one.reach
    return {
        "drill": one.drill.key,
        "verdict": str(one.trend.verdict),
        "probability": round(one.trend.probability, 4),
        "percent_per_day": [
            round(math.expm1(rate) * 100, 4)
            for rate in (one.trend.per_day_low, one.trend.per_day, one.trend.per_day_high)
        ],
        "advice": advice_for(one),
        "target_bpm": one.target_bpm,
        "target": reach.words if reach else None,
        "target_earliest": reach.earliest.isoformat() if reach and reach.earliest else None,
        "target_latest": reach.latest.isoformat() if reach and reach.latest else None,
        "sittings": [
            {
                "began_utc": sitting.began.isoformat(timespec="seconds").replace("+00:00", "Z"),
                "takes": sitting.takes,
                "clean_bpm": round(sitting.found.bpm, 2),
                "low_bpm": round(sitting.found.low_bpm, 2),
                "high_bpm": round(sitting.found.high_bpm, 2),
            }
            for sitting in one.sittings
        ],
    }


def _local(moment: datetime, zone: tzinfo | None) -> date:
    return moment.astimezone(zone).date()
