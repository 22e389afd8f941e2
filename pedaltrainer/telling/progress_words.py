"""Progress in words, in a sketch of letters, and as plain data. Pure."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from types import MappingProxyType

from pedaltrainer.paper.progress_picture import with_target
from pedaltrainer.practice.agreement import TwoJudges
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.progress import Day, Progress
from pedaltrainer.practice.trend import FEWEST_DAYS, Outlook, Reach, Trend, Verdict
from pedaltrainer.showing.results import silent_json, silent_words, tempo_words
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling import foot_and_ear

SKETCH_COLUMNS = 36


ENDS, BEYOND, DOT, TARGET = "├┤", "◀▶", "●", "┊"


def in_words(one: Progress, today: date | None = None, sketch: bool = True) -> str:
    """A drill's progress for reading: a line a day, the verdict, the outlook and what to do.

    today: to say so when the dates of an outlook have passed. sketch: with the intervals drawn.
    """
    if not one.days:
        return f"{one.drill.title}: no take counts yet."
    if one.drill.row.measures_nothing:
        return "\n".join([one.drill.title, *_day_lines(one, sketch=False)])
    lines = [one.drill.title, *_day_lines(one, sketch), verdict_words(one.trend)]
    if one.target_bpm is not None and one.reach is not None:
        lines.append(f"{one.target_bpm:g} BPM: {reach_words(one.reach, today)}.")
    advice = advice_for(one)
    return "\n".join([*lines, *((advice,) if advice else ())])


_OUTLOOKS = {
    Outlook.TOO_EARLY: "too early to say",
    Outlook.NEVER_CLEAN: "too early to say; no take has been clean at that tempo yet",
    Outlook.NEARLY: "nearly there; not sure enough yet to be called ready",
    Outlook.REACHED: "ready: reached already",
    Outlook.NOT_AT_THIS_RATE: "not at this rate",
}


def reach_words(reach: Reach, today: date | None) -> str:
    """When a target would be reached; that the dates have passed, where they have."""
    if reach.earliest is None:
        return _OUTLOOKS[reach.outlook]
    if reach.latest is None:
        return f"not before {reach.earliest.isoformat()}"
    dates = f"{reach.earliest.isoformat()} to {reach.latest.isoformat()}"
    passed = today is not None and reach.latest < today
    return dates + (", had it gone on; play again to see where it is now" if passed else "")


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
    return with_target(min(ends) / 1.02, max(ends) * 1.02, one.target_bpm)


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
    if not drill.row.measures_nothing:
        return tempo_words(day.told)
    played = f"{counted(day.takes, 'take')}, {minutes_words(day.minutes)}"
    return f"{played}; now {day.step}" if day.step else f"{played}{silent_words(day.silent)}"


def minutes_words(minutes: float) -> str:
    """So many minutes: "12 min", "less than a minute"."""
    return "less than a minute" if minutes < 0.5 else f"{minutes:.0f} min"


def verdict_alone(found: Trend) -> str:
    """The verdict with its probability. What leans is not claimed."""
    verdict, chance = str(found.verdict).capitalize(), f"{min(found.probability, 0.99) * 100:.0f} %"
    if found.verdict is Verdict.TOO_EARLY:
        return verdict
    if not found.verdict.claims:
        return f"{verdict}: {chance}, not sure yet"
    return f"{verdict} ({'more than ' * (found.probability > 0.99)}{chance} sure)"


def verdict_words(found: Trend) -> str:
    """The verdict with its probability and, where it can be told, the rate."""
    if found.verdict is Verdict.TOO_EARLY:
        so_far = f"{verdict_alone(found)}: {counted(found.days, 'sitting')} so far"
        if found.days < FEWEST_DAYS:
            return f"{so_far}, and it takes {FEWEST_DAYS} at least, on different days."
        leaning = "rising" if found.per_day > 0 else "falling"
        return f"{so_far}; the chance that it is {leaning} is {found.probability * 100:.0f} %."
    week_low, week, week_high = (
        math.expm1(7 * rate) * 100 for rate in (found.per_day_low, found.per_day, found.per_day_high)
    )
    sign = ":" if found.verdict.claims else ";"
    rate = f"{week:+.1f} % a week, between {week_low:+.1f} and {week_high:+.1f}."
    return f"{verdict_alone(found)}{sign} {rate}"


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
    were = "was" if elsewhere == 1 else "were"
    others = f" {counted(elsewhere, 'more drill')} {were} last practised before that."
    return (
        f"From the last {days} days with takes, since {since}; --all goes back to the first."
        f"{others if elsewhere else ''}"
    )


def unread_words(unread: Sequence[str]) -> str:
    """One sentence on the drills that were passed over."""
    named = ", ".join(f"“{key}”" for key in unread)
    return f"Left out, since a newer version of this program wrote them: {named}; update it to see them."


def as_json(
    all_of_them: Iterable[Progress], whole: bool = True, both: Mapping[str, TwoJudges] = MappingProxyType({})
) -> str:
    """A list of objects, one a drill; times are ISO 8601 in UTC, tempos in BPM, rates in per cent a day.

    whole: whether the takes told of are all there are. both: what foot and ear said, by the drill's key.
    """
    rest = {key: {"foot_and_ear": foot_and_ear.plain(one)} for key, one in both.items()}
    return json.dumps(
        [_plain(one) | {"from_every_take": whole} | rest.get(one.drill.key, {}) for one in all_of_them],
        indent=2,
    )


def _plain(one: Progress) -> dict[str, object]:
    measures = not one.drill.row.measures_nothing
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
        "target": reach_words(reach, None) if reach else None,
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
        "step": day.step or None,
        "silent_strings": silent_json(day.silent),
    }


def _rounded(bpm: float | None) -> float | None:
    return None if bpm is None else round(bpm, 2)


def _utc_text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
