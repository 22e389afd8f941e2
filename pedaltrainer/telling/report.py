"""A player's report: from what was worked out to the content of a page. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from pedaltrainer.history.told import REST_MINUTES, NoteTold, SongWeeks, Span, Told
from pedaltrainer.page import content as c
from pedaltrainer.practice.coach.limits import Which
from pedaltrainer.practice.coach.readiness import SongStanding, Standing
from pedaltrainer.practice.progress import Progress
from pedaltrainer.practice.trend import Verdict
from pedaltrainer.showing.pages import CAUTIONS, SEE_SOMEBODY
from pedaltrainer.showing.plan_words import listed
from pedaltrainer.showing.results import CLEAN_TEMPO
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling import foot_and_ear, progress_words
from pedaltrainer.telling import songs as song_words
from pedaltrainer.telling.report_drill import drill_section, titles_with

MOST_WEEKS = 53
REST_EVERY_MINUTES = 20
IN_ORDER = (
    Verdict.FALLING,
    Verdict.LEANING_DOWN,
    Verdict.FLAT,
    Verdict.LEANING_UP,
    Verdict.RISING,
    Verdict.TOO_EARLY,
)
"""What wants a look comes first."""
HOW_TO_READ = (
    "Dots and bars: a day’s clean tempo, in BPM, and the interval that holds it nine times in ten. Dashed, "
    "with an arrow: a day that tells one side only. The line and its band: the trend. The long dashes: what "
    "is asked for by a song or a pack."
)
SONGS_NOW = "A change is ready when it comes out clean at the song’s tempo with a chance of 80 % or more."
SONGS_WEEK_BY_WEEK = (
    "As it was known at the end of each week: how many changes were ready at the song’s tempo (with a "
    "chance of 80 % or more), and how fast it could be played. Solid is ready, of all its changes."
)
NOTHING = "No take counts in these days. What was played before is in the log: ask for more --days."


def player_page(told: Told) -> c.Page:
    """The whole report of one player."""
    sections = (
        _drills(told),
        _two_judges(told),
        _minutes(told),
        _songs(told),
        _limits(told),
        _notes(told),
        _care(told),
    )
    title = ("Practice report: ", c.Name(told.player))
    return c.Page(title, _lead(told), tuple(one for one in sections if one is not None))


# --- the summary ----------------------------------------------------------------------


def _lead(told: Told) -> tuple[c.Block, ...]:
    span = told.span
    of_days = f"{span.first.isoformat()} to {span.last.isoformat()}: the last {counted(span.days, 'day')}."
    lines = [of_days, *_verdict_lines(told.found), *_in_the_way(told)]
    if not told.found:
        lines.append(NOTHING)
    if told.unread:
        lines.append(progress_words.unread_words(told.unread))
    return (c.Lines(tuple(lines)), c.Facts(tuple(_facts(told))))


def _verdict_lines(found: Sequence[Progress]) -> Iterator[str]:
    for verdict in IN_ORDER:
        titles = titles_with(found, verdict)
        if titles and verdict is Verdict.TOO_EARLY:
            yield f"Too few days yet to say how it goes: {listed(titles)}."
        elif titles:
            not_sure = "" if verdict.claims else ", not sure yet"
            yield f"{str(verdict).capitalize()}{not_sure}: {', '.join(titles)}."


def _in_the_way(told: Told) -> Iterator[str]:
    if told.standings:
        yield song_words.bottleneck_words(told.standings)
        return
    named = [(drill.title, limit) for drill, limit in told.limits if limit.which is not Which.UNSURE]
    if named:
        said = [f"{title}: {song_words.limit_alone_words(limit)}" for title, limit in named[:3]]
        yield f"What stands in the way: {'; '.join(said)}."


def _facts(told: Told) -> Iterator[tuple[str, str]]:
    days = {day: what for day, what in told.played.items() if told.span.first <= day <= told.span.last}
    yield "minutes played", f"{sum(one.minutes for one in days.values()):,.0f}"
    yield "takes", f"{sum(one.takes for one in days.values()):,}"
    yield "days with practice", f"{len(days)} of {told.span.days}"
    yield "rests taken", f"{told.rests.count:,}"
    if told.rests.longest_on is not None:
        yield "longest without a rest", f"{told.rests.longest_minutes:.0f} min"


# --- drills ---------------------------------------------------------------------------


def _drills(told: Told) -> c.PageSection | None:
    shown = [one for one in told.found if one.days]
    if not shown:
        return None
    ordered = sorted(shown, key=lambda one: IN_ORDER.index(one.trend.verdict))
    parts = tuple(
        drill_section(one, f"drill-{number}", told.span, apart=number > 1)
        for number, one in enumerate(ordered, start=1)
    )
    drawn = any(isinstance(block, c.TrendPlot) for part in parts for block in part.blocks)
    said = (CLEAN_TEMPO, HOW_TO_READ) if drawn else (CLEAN_TEMPO,)
    return c.PageSection("drills", "Drills", (c.Lines(said),), parts)


# --- foot and ear ---------------------------------------------------------------------


def _two_judges(told: Told) -> c.PageSection | None:
    if not told.two_judges:
        return None
    rows = tuple(
        (
            drill.title,
            f"{both.whole.takes}",
            f"{both.whole.alike}",
            f"{both.whole.only_ear}",
            f"{both.whole.only_foot}",
            f"{both.whole.unsure}",
        )
        for drill, both in told.two_judges
    )
    table = c.Table(
        "Takes that foot and ear have both judged",
        ("drill", "takes", "alike", "missed for the ear alone", "for the foot alone", "ear not sure"),
        rows,
        frozenset({1, 2, 3, 4, 5}),
    )
    lines = tuple(
        f"{drill.title}: {foot_and_ear.flattery_words(both.flattery)}"
        for drill, both in told.two_judges
        if both.flattery is not None
    )
    return c.PageSection("foot-and-ear", "Foot and ear", (table, *((c.Lines(lines),) if lines else ())))


# --- minutes --------------------------------------------------------------------------


def _minutes(told: Told) -> c.PageSection | None:
    if not told.played:
        return None
    takes = sum(one.takes for one in told.played.values())
    ever = (
        f"In all, since {min(told.played).isoformat()}: "
        f"{sum(one.minutes for one in told.played.values()):,.0f} minutes in {counted(takes, 'take')} "
        f"on {counted(len(told.played), 'day')}. Count-ins are played time, rests are not."
    )
    weeks = weeks_of(told)
    drawn = (c.Weeks("Minutes played each week.", weeks),) if len(weeks) > 1 else ()
    return c.PageSection("minutes", "Minutes", (*drawn, c.Lines((ever,))))


def weeks_of(told: Told) -> tuple[c.Week, ...]:
    """The weeks of the span, MOST_WEEKS at most, from the first with practice to today's."""
    span = told.span
    in_span = {day: one.minutes for day, one in told.played.items() if span.first <= day <= span.last}
    if not in_span:
        return ()
    last = _monday(span.last)
    first = max(_monday(min(in_span)), last - timedelta(weeks=MOST_WEEKS - 1))
    weeks = []
    for number in range((last - first).days // 7 + 1):
        monday = first + timedelta(weeks=number)
        played = [minutes for day, minutes in in_span.items() if _monday(day) == monday]
        weeks.append(c.Week(monday, sum(played), len(played)))
    return tuple(weeks)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


# --- songs ----------------------------------------------------------------------------


def _songs(told: Told) -> c.PageSection | None:
    if not told.songs:
        return None
    parts = tuple(_song(one, f"song-{number}", told.span) for number, one in enumerate(told.songs, start=1))
    drawn = any(isinstance(block, c.Bars) for part in parts for block in part.blocks)
    said = SONGS_WEEK_BY_WEEK if drawn else SONGS_NOW
    return c.PageSection("songs", "How ready the songs are", (c.Lines((said,)),), parts, apart=True)


def _song(one: SongWeeks, key: str, span: Span) -> c.PageSection:
    (_, now), title = one.weeks[-1], one.song.title
    if not now.standings:
        return c.PageSection(key, c.Name(title), (c.Lines(("There is no change in it.",)),))
    by = f"; {song_words.by_words(one.song.by, span.last)}" if one.song.by else ""
    lines = (
        f"{now.tempo_bpm:g} BPM{by}.",
        song_words.ready_count(now),
        song_words.whole_words(now),
    )
    weeks = _since_played(one)
    if len(weeks) < 2:
        return c.PageSection(key, c.Name(title), (c.Lines(lines),))
    counts = tuple((day, _ready(standing.standings)) for day, standing in weeks)
    rows = tuple(
        (
            day.isoformat(),
            f"{_ready(standing.standings)} of {len(standing.standings)}",
            "not known" if standing.whole_bpm is None else f"{standing.whole_bpm:.0f}",
            _hardest(standing.standings),
        )
        for day, standing in reversed(weeks)
    )
    bars = c.Bars(
        f"Changes ready in {title}",
        f"{counts[0][1]} on {counts[0][0].isoformat()}, {counts[-1][1]} of {len(now.standings)} on "
        f"{counts[-1][0].isoformat()}. The same figures stand in the table below.",
        counts,
        len(now.standings),
    )
    table = c.Table(
        "Week by week, newest first", ("at the end of", "ready", "playable at, BPM", "hardest change"), rows,
        frozenset({1, 2}), folded=True,
    )  # fmt: skip
    return c.PageSection(key, c.Name(title), (c.Lines(lines), bars, table))


def _since_played(one: SongWeeks) -> tuple[tuple[date, SongStanding], ...]:
    """The weeks from the first on at whose end something of the song had been played."""
    played = [any(each.takes for each in week.standings) for _, week in one.weeks]
    return one.weeks[played.index(True) :] if any(played) else ()


def _ready(standings: Sequence[Standing]) -> int:
    return sum(each.is_ready for each in standings)


def _hardest(standings: Sequence[Standing]) -> str:
    first = standings[0]
    return (
        f"{first.need.drill.title} ({song_words.readiness_words(first)})" if first.takes else "not played yet"
    )


# --- what holds back ------------------------------------------------------------------


def _limits(told: Told) -> c.PageSection | None:
    blocks: list[c.Block] = []
    if told.standings:
        blocks.append(_changes_table(told.standings))
    if told.limits:
        rows = tuple((drill.title, song_words.limit_alone_words(limit)) for drill, limit in told.limits)
        blocks.append(c.Table("Other changes practised", ("change", "what holds it back"), rows))
    return c.PageSection("limits", "What holds back", tuple(blocks), apart=True) if blocks else None


def _changes_table(standings: Sequence[Standing]) -> c.Table:
    heads = ("change", "asked, BPM", "clean today", "that is", "ready?", "what holds it back")
    rows = tuple(
        (
            title,
            f"{one.need.tempo_bpm:.0f}",
            song_words.clean_words(one),
            song_words.readiness_words(one),
            song_words.ready_words(one),
            song_words.limit_words(one) or "–",
        )
        for title, one in zip(song_words.titles_of(standings), standings, strict=True)
    )
    return c.Table("The changes of your songs, hardest first", heads, rows, frozenset({1, 3}))


# --- care -----------------------------------------------------------------------------


NOTED = {"hurts": "it hurt", "buzz": "a string buzzed", "wrong finger": "a wrong finger"}
"""What a note says in a report."""


def _notes(told: Told) -> c.PageSection | None:
    if not told.notes:
        return None
    zone = told.span.zone
    rows = tuple(
        (one.at.astimezone(zone).strftime("%Y-%m-%d %H:%M"), one.drill.title, f"{one.tempo_bpm}", words)
        for one in reversed(told.notes)
        if (words := _note_words(one))
    )
    table = c.Table("What the player noted", ("take", "drill", "BPM", "note"), rows, frozenset({2}))
    hurt = any(one.note == "hurts" for one in told.notes)
    lines = (c.Lines((f"It hurt while practising. {SEE_SOMEBODY}",)),) if hurt else ()
    return c.PageSection("notes", "Noted while practising", (*lines, table))


def _note_words(one: NoteTold) -> str:
    named = f"{one.note} did not ring" if one.drill.row.by_string else one.note
    return NOTED.get(one.note, named)


def _care(told: Told) -> c.PageSection:
    rests = told.rests
    lines: list[str] = []
    if rests.longest_on is not None and rests.longest_minutes > REST_EVERY_MINUTES:
        lines.append(
            f"The longest stretch without a rest was {rests.longest_minutes:.0f} minutes, on "
            f"{rests.longest_on.isoformat()}: rest a few minutes in every {REST_EVERY_MINUTES}."
        )
    counted_as = (
        f"A rest here is a pause of {REST_MINUTES:g} minutes or more between two takes of one sitting."
    )
    return c.PageSection(
        "care", "Take care", (c.Lines((*lines, counted_as)), c.Lines((*CAUTIONS, SEE_SOMEBODY), marked=True))
    )
