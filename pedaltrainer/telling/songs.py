"""How ready songs are, as a player reads it: a table hardest first, and the bottleneck in words. Pure."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from tabulate import tabulate

from pedaltrainer.practice.clean_tempo import Estimate
from pedaltrainer.practice.coach.limits import Limit, Which
from pedaltrainer.practice.coach.plan import Task
from pedaltrainer.practice.coach.readiness import SongStanding, Standing, needs_of
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.showing.plan_words import next_words
from pedaltrainer.showing.results import CLEAN_TEMPO, tempo_words
from pedaltrainer.songs.song import Song
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling.text_boxes import Terminal

NO_SONGS = "No songs yet; add one: pedaltrainer song add FILE (a bar chart in plain text, or MusicXML)."
TO_PRACTISE = "To practise today's plan: pedaltrainer"
HASTY_MS = 120.0
"""About the least time in which a hand changes chords (common practice, no published source)."""
UNPLAYED = "not played"


@dataclass(frozen=True, slots=True)
class Ready:
    """How ready the songs are. songs: each beside its standing. changes: of all of them, hardest first.

    next_up: what the plan of today begins with, whatever asks for it.
    """

    songs: tuple[tuple[Song, SongStanding], ...]
    changes: tuple[Standing, ...]
    next_up: Task | None = None


# --- single figures ---------------------------------------------------------------------


def chance_words(chance: float) -> str:
    """ "84 %"; never quite certain."""
    if chance < 0.01:
        return "< 1 %"
    return "> 99 %" if chance > 0.99 else f"{chance * 100:.0f} %"


def is_told(one: Standing) -> bool:
    """Is the clean tempo known well enough for one number?"""
    return one.told.bpm is not None


def clean_words(one: Standing) -> str:
    """The clean tempo as surely as it was measured: "84 (78 to 90)", "above 92", "not played"."""
    return tempo_words(one.told) or UNPLAYED


def readiness_words(one: Standing) -> str:
    """The clean tempo as a share of the needed one: "88 %"; "?" while that is known only roughly."""
    if one.readiness is None or not is_told(one):
        return "?"
    return f"{one.readiness * 100:.0f} %"


def ready_words(one: Standing) -> str:
    """The chance that it is ready: "yes 93 %", "23 %"; of what was never played there is none."""
    if one.need.is_beyond_a_drill:
        return "no drill"
    if not one.takes:
        return UNPLAYED
    return f"yes {chance_words(one.chance)}" if one.is_ready else chance_words(one.chance)


def limit_words(one: Standing) -> str:
    """What holds a change back, or what to measure to know; "" when it is ready."""
    if one.is_ready:
        return ""
    named = limit_name(one.need.drill, one.limit)
    if named:
        return f"{named} ({chance_words(one.limit.chance)})"
    if one.limit.measure_first is None:
        return str(one.limit.which)
    return f"measure {_to_measure(one.limit, 'it', '')}: {one.limit.seconds} s"


def limit_alone_words(limit: Limit) -> str:
    """The same with no change beside it: "travel (84 %)", "not sure yet: measure F alone first, 40 s"."""
    if limit.which is not Which.UNSURE:
        return f"{limit.which} ({chance_words(limit.chance)})"
    the_change = limit.measure_first.title if limit.measure_first else ""
    return f"{limit.which}{_to_be_sure(limit, the_change)}"


def limit_name(change: Drill, limit: Limit) -> str:
    """ "landing F", "the travel"; "" when it is not sure."""
    first, second = change.names
    words = {
        Which.FIRST: f"landing {first}",
        Which.SECOND: f"landing {second}",
        Which.TRAVEL: "the travel",
    }
    return words.get(limit.which, "")


def _to_measure(limit: Limit, the_change: str, alone: str = " alone") -> str:
    """ "F alone", or how the change itself is called."""
    drill = limit.measure_first
    if drill is None or drill.kind is Kind.CHANGE:
        return the_change
    return drill.names[0] + alone


def date_words(day: date) -> str:
    """ "12 December 2026"."""
    return f"{day.day} {day:%B %Y}"


def by_words(by: date, today: date) -> str:
    """ "by 12 December 2026, in 17 days"."""
    days = (by - today).days
    when = {0: "today", 1: "tomorrow", -1: "yesterday"}.get(days)
    return f"by {date_words(by)}, {when or (f'in {days} days' if days > 0 else f'{-days} days ago')}"


def of_what_words(song: Song) -> str:
    """ "28 bars, 13 changes; Am – F has the least time, 288 ms in the air"."""
    needs = needs_of([song])
    words = f"{counted(len(song.bars), 'bar')}, {counted(len(needs), 'change')}"
    if not needs:
        return words
    least = min(needs, key=lambda need: need.air_ms)
    return f"{words}; {least.drill.title} has the least time, {least.air_ms:.0f} ms in the air"


# --- the table --------------------------------------------------------------------------

_LEAST_NEEDED = ("times", "air ms", "that is")
"""Columns left out, in this order, where the terminal is too narrow."""
_LEFT = frozenset({"change", "clean today", "what holds it back"})
_LEAST_WIDTH = 16
"""Of the last column, which is wrapped where nothing else helps."""


def titles_of(standings: Sequence[Standing]) -> list[str]:
    """What to call each change; with its frets where two have the same name."""
    titles = Counter(one.need.drill.title for one in standings)
    return [
        one.need.drill.title if titles[one.need.drill.title] == 1 else one.need.drill.words
        for one in standings
    ]


def changes_table(standings: Sequence[Standing], columns: int) -> str:
    """A row a change. at BPM: the tempo of a drill that leaves the same air time as the song."""
    table = {
        "change": titles_of(standings),
        "times": [str(one.need.count) for one in standings],
        "air ms": [f"{one.need.air_ms:.0f}" for one in standings],
        "at BPM": [f"{one.need.tempo_bpm:.0f}" for one in standings],
        "clean today": [clean_words(one) for one in standings],
        "that is": [readiness_words(one) for one in standings],
        "ready?": [ready_words(one) for one in standings],
        "what holds it back": [limit_words(one) for one in standings],
    }
    for name in _LEAST_NEEDED:
        if _width(_drawn(table)) <= columns:
            break
        del table[name]
    drawn = _drawn(table)
    *_, last = table.values()
    room = max(_LEAST_WIDTH, columns - _width(drawn) + max(map(len, last)))
    return drawn if _width(drawn) <= columns else _drawn(table, room)


def _drawn(table: Mapping[str, list[str]], widest_last: int | None = None) -> str:
    return plain_table(table, _LEFT, [*(None for _ in list(table)[1:]), widest_last])


def plain_table(
    table: Mapping[str, Sequence[str]], left: Collection[str], widths: Sequence[int | None] | None = None
) -> str:
    """A table of plain letters; columns named in `left` are set to the left, all others to the right."""
    # The heads are a row like the others: tabulate would make the columns under them wider.
    rows = [list(table), *zip(*table.values(), strict=True)]
    align = ["left" if name in left else "right" for name in table]
    drawn = tabulate(
        rows, tablefmt="plain", disable_numparse=True, colalign=align, maxcolwidths=list(widths or ()) or None
    )
    return "\n".join(line.rstrip() for line in str(drawn).splitlines())


def _width(drawn: str) -> int:
    return max(map(len, drawn.splitlines()))


# --- sentences --------------------------------------------------------------------------


def bottleneck_words(standings: Sequence[Standing]) -> str:
    """The one change to see to first, in words. standings: hardest first."""
    first, title = standings[0], titles_of(standings)[0]
    if first.clean is None:
        least = min(standings, key=lambda one: one.need.air_ms)
        return f"Nothing is measured yet. {least.need.drill.title} has the least time: {_asked(least)}."
    if all(one.is_ready for one in standings):
        return f"Every change is ready; the closest call is {title} ({readiness_words(first)})."
    if not first.takes:
        return f"The bottleneck may be {title}: {_asked(first)}. It was never played; {_guess(first.clean)}."
    holds = limit_name(first.need.drill, first.limit)
    why = (
        f"what holds it back is {holds} ({chance_words(first.limit.chance)})"
        if holds
        else f"what holds it back is not sure yet{_to_be_sure(first.limit, 'the change itself')}"
    )
    return f"The bottleneck is {title}: {_asked(first)}, and its clean tempo is {clean_words(first)}; {why}."


def _to_be_sure(limit: Limit, the_change: str) -> str:
    if limit.measure_first is None:
        return ""
    return f": measure {_to_measure(limit, the_change)} first, {limit.seconds} s"


def _asked(one: Standing) -> str:
    """The air time, and the drill that has the same."""
    return f"{one.need.air_ms:.0f} ms in the air, as in a drill at {one.need.tempo_bpm:.0f} BPM"


def _guess(clean: Estimate) -> str:
    return f"from your other drills it may be {clean.low_bpm:.0f} to {clean.high_bpm:.0f}"


def whole_words(one: SongStanding) -> str:
    """The tempo at which the song comes out whole one time in two."""
    unplayed = sum(not each.takes for each in one.asked)
    if unplayed:
        its = "one of its changes has" if unplayed == 1 else f"{unplayed} of its changes have"
        return f"At what tempo it comes out whole is not known: {its} never been played."
    if one.whole_bpm is None:
        return "It does not come out whole yet at any tempo; take its changes one by one."
    landings = counted(sum(each.need.count for each in one.standings), "landing")
    whole = math.floor(one.whole_bpm)
    at = f"at {whole} BPM of its own {one.tempo_bpm:g}"
    if whole >= one.tempo_bpm:
        at = f"at its own {one.tempo_bpm:g} BPM, and up to {whole}"
    return f"All its {landings} come out clean one time in two {at}."


# --- reports ----------------------------------------------------------------------------


def ready_report(ready: Ready, today: date, terminal: Terminal) -> str:
    """How ready one song is, or the whole set."""
    if not ready.songs:
        return NO_SONGS
    parts = [_heading(song, one, today, terminal) for song, one in ready.songs]
    if not ready.changes:
        return "\n\n".join(
            [*parts, "There is no change in it." if len(parts) == 1 else "No changes in them."]
        )
    table = changes_table(ready.changes, terminal.columns)
    parts += [f"{table}\n{CLEAN_TEMPO}", terminal.wrapped(bottleneck_words(ready.changes), "")]
    return "\n\n".join([*parts, to_practise(ready.next_up)])


def to_practise(next_up: Task | None) -> str:
    """The next thing to do, and how."""
    return f"{next_words(next_up.drill, next_up.target_bpm)} {TO_PRACTISE}" if next_up else TO_PRACTISE


def _heading(song: Song, one: SongStanding, today: date, terminal: Terminal) -> str:
    by = f"; {by_words(song.by, today)}" if song.by else ""
    lines = [f"{song.title}: {one.tempo_bpm:g} BPM{by}"]
    if one.asked:
        lines += [ready_count(one), whole_words(one)]
    lines += hasty_words(one)
    return "\n".join(terminal.wrapped(line) for line in lines)


def hasty_words(one: SongStanding) -> list[str]:
    """A sentence for each change that leaves less time than a hand needs for one."""
    return [
        f"{each.need.drill.title} leaves {each.need.air_ms:.0f} ms in the air, less than a hand needs "
        "to change chords: lift a little earlier, or let the old chord ring."
        for each in one.standings
        if each.need.air_ms <= HASTY_MS
    ]


def ready_count(one: SongStanding) -> str:
    """ "5 of 12 changes are ready." """
    ready, of = sum(each.is_ready for each in one.asked), len(one.asked)
    return f"{ready} of {counted(of, 'change')} {'is' if ready == 1 else 'are'} ready."
