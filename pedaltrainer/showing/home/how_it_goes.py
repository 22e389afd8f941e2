"""How it goes: the drills with their clean tempos, and one drill's days drawn. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.ladders.rungs import ToldTempo
from pedaltrainer.practice.progress import Day, LinePoint
from pedaltrainer.screen.view import ClimbDay, ClimbView
from pedaltrainer.session.home import Errand, Leaf, LeafRow, Verb
from pedaltrainer.showing.home.pages import drills_value, page, play, turn
from pedaltrainer.showing.results import tempo_words
from pedaltrainer.system.amounts import counted

MOST_DRILLS = 12
"""Drills in the list, those practised last: a foot goes through it row by row."""


@dataclass(frozen=True, slots=True)
class Going:
    """A drill and what its days tell. told: of the last one. said: the verdict, in a sentence or two."""

    drill: Drill
    told: ToldTempo
    is_rising: bool = False
    said: str = ""
    days: tuple[Day, ...] = ()
    line: tuple[LinePoint, ...] = ()
    target_bpm: float | None = None


@dataclass(frozen=True, slots=True)
class LastWeek:
    """What the last seven days came to."""

    minutes: float
    takes: int


def how_it_goes(week: LastWeek, drills: Sequence[Going], has_songs: bool) -> Leaf:
    """This week, what rises, and a row for each drill."""
    rows = [turn(_row(one), "drill", one.drill.key) for one in drills[:MOST_DRILLS]]
    if has_songs:
        rows.append(turn("How ready the songs are", "songs"))
    rows.append(turn("Foot on the beat", "foot"))
    return page("how it goes", "How it goes", rows, lines=(_week_words(week), _rising_words(drills)))


def drill(one: Going, after: Drill | None) -> Leaf:
    """One drill's days, its verdict, and the way to the next drill in the list."""
    rows: list[LeafRow] = []
    if after is not None:
        rows.append(LeafRow(f"On to {after.title}", Errand(Verb.ACROSS, "drill", after.key)))
    rows.append(play("Practise it", "drills", drills_value([one.drill])))
    said = tempo_words(one.told)
    title = f"{one.drill.title}: {said}" if said else one.drill.title
    return page("drill", title, rows, value=one.drill.key, lines=(one.said,), climb=climb_of(one))


def climb_of(one: Going) -> ClimbView | None:
    """The days as they are drawn; None of fewer than two: a dot alone is no way."""
    days = [day for day in one.days if day.low_bpm is not None or day.high_bpm is not None]
    if len(days) < 2:
        return None
    first, last = days[0].began, days[-1].began
    span_s = (last - first).total_seconds()
    if span_s <= 0:
        return None

    return ClimbView(
        days=tuple(
            ClimbDay((day.began - first).total_seconds() / span_s, day.bpm, day.low_bpm, day.high_bpm)
            for day in days
        ),
        first_day=day_words(days[0].date),
        last_day=day_words(days[-1].date),
        line=tuple(
            (at, point.bpm)
            for point in one.line
            if 0 <= (at := (point.when - first).total_seconds() / span_s) <= 1
        ),
        target_bpm=one.target_bpm,
    )


def day_words(day: date) -> str:
    """A day as it is written under a picture: "3 Mar"."""
    return f"{day.day} {day:%b}"


def _row(one: Going) -> str:
    bpm, low_bpm, high_bpm = one.told
    if bpm is not None:
        said = f"{bpm:.0f}"
    elif low_bpm is not None and high_bpm is not None:
        said = f"{low_bpm:.0f} to {high_bpm:.0f}"
    else:
        said = tempo_words(one.told)
    return "".join((one.drill.title, f": {said}" if said else "", ", rising" if one.is_rising else ""))


def _week_words(week: LastWeek) -> str:
    if not week.takes:
        return "Nothing was played for seven days."
    return f"Seven days: {week.minutes:.0f} min, {counted(week.takes, 'take')}."


def _rising_words(drills: Sequence[Going]) -> str:
    rising = sum(one.is_rising for one in drills)
    return f"Rising: {rising} of {counted(len(drills), 'drill')}." if rising else "None is known to rise yet."
