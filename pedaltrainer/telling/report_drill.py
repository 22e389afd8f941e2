"""A drill in a report: its verdict, its plot, and its days as a table. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime, tzinfo

from pedaltrainer.history.told import Span
from pedaltrainer.page import content as c
from pedaltrainer.practice import progress
from pedaltrainer.practice.progress import Progress
from pedaltrainer.practice.trend import Verdict
from pedaltrainer.showing.results import silent_list, tempo_words
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling import progress_words


def titles_with(found: Iterable[Progress], verdict: Verdict) -> list[str]:
    """The drills of one verdict, in a player's words."""
    return [title_of(one) for one in found if has_verdict(one) and one.trend.verdict is verdict]


def has_verdict(one: Progress) -> bool:
    """Does this drill have a clean tempo to rise or fall?"""
    return bool(one.days) and not one.drill.row.measures_nothing


def title_of(one: Progress) -> str:
    """A drill's title, with its beats on a chord where those are several."""
    beats = one.drill.beats_per_chord
    return (
        one.drill.title
        if beats == 1 or "beats" in one.drill.title
        else f"{one.drill.title}, {beats} beats each"
    )


def drill_section(one: Progress, key: str, span: Span, apart: bool = False) -> c.PageSection:
    """A drill: its verdict, its plot, and the same figures as a table; of a first day one sentence."""
    if len(one.days) == 1:
        return c.PageSection(key, title_of(one), (c.Lines((_first_day(one),)),))
    measured = not one.drill.row.measures_nothing
    blocks: list[c.Block] = []
    if measured:
        blocks += [c.Lines(tuple(_said_of(one, span.last))), trend_plot(one, span.zone)]
    else:
        minutes = sum(day.minutes for day in one.days)
        blocks.append(c.Lines((f"{counted(len(one.days), 'day')}, {minutes:.0f} minutes.",)))
    return c.PageSection(key, title_of(one), (*blocks, _days_table(one, measured)), apart=apart)


def _first_day(one: Progress) -> str:
    """What there is to say of a drill with one day: no plot, no trend."""
    (day,) = one.days
    takes = counted(day.takes, "take") if day.takes else "played in songs"
    played = f"{takes}, {progress_words.minutes_words(day.minutes)}"
    found = f"clean tempo {tempo_words(day.told)} BPM, " if has_verdict(one) else ""
    asked = f"; asked for: {one.target_bpm:.0f} BPM" if one.target_bpm is not None and found else ""
    return f"One day so far, {day.date.isoformat()}: {found}{played}{asked}."


def _said_of(one: Progress, today: date) -> Iterator[str]:
    yield progress_words.verdict_words(one.trend)
    if one.target_bpm is not None and one.reach is not None:
        yield f"Asked for: {one.target_bpm:.0f} BPM; {progress_words.reach_words(one.reach, today)}."
    if (advice := progress_words.advice_for(one)) is not None:
        yield advice


def trend_plot(one: Progress, zone: tzinfo | None) -> c.TrendPlot:
    """The plot of a drill with at least one day."""
    days = tuple(c.PlotDay(day.date, day.bpm, day.low_bpm, day.high_bpm) for day in one.days)
    line = tuple(
        c.PlotPoint(_at_days(point.when.astimezone(zone)), *point[1:]) for point in progress.trend_line(one)
    )
    # The line may run on below or above the last day that told a number.
    ends = (*progress_words.scale_of(one), *(point.bpm for point in line))
    low_bpm, high_bpm = min(ends), max(ends)
    told = (
        f"{counted(len(days), 'day')} of clean tempos, from {days[0].at.isoformat()} to "
        f"{days[-1].at.isoformat()}; the last one {tempo_words(one.days[-1].told)} BPM. "
        "The same figures stand in the table below."
    )
    return c.TrendPlot(f"Clean tempo of {title_of(one)}", told, days, line, low_bpm, high_bpm, one.target_bpm)


def _at_days(moment: datetime) -> float:
    return moment.toordinal() + (moment.hour * 60 + moment.minute) / 1440


def _days_table(one: Progress, measured: bool) -> c.Table:
    by_string = one.drill.row.by_string
    heads = (
        "day",
        *(("clean tempo, BPM (90 %)",) if measured else ()),
        "takes",
        "minutes",
        *(("did not ring, in takes",) if by_string else ()),
    )
    rows = tuple(
        (
            day.date.isoformat(),
            *((tempo_words(day.told),) if measured else ()),
            f"{day.takes}" if day.takes else "in songs",
            f"{day.minutes:.0f}" if day.minutes >= 0.5 else "< 1",
            *((silent_list(day.silent) or "–",) if by_string else ()),
        )
        for day in reversed(one.days)
    )
    return c.Table(
        f"The figures of {title_of(one)}, newest first",
        heads,
        rows,
        frozenset({1 + measured, 2 + measured}),
        folded=True,
    )
