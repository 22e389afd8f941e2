"""A teacher's page: all pupils in one table, who needs attention first, and a section for each. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from pedaltrainer.history.told import Asked, Pupil
from pedaltrainer.page import content as c
from pedaltrainer.practice.trend import Verdict
from pedaltrainer.showing.results import CLEAN_TEMPO
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling import progress_words
from pedaltrainer.telling import songs as song_words
from pedaltrainer.telling.report import IN_ORDER
from pedaltrainer.telling.report_drill import has_verdict, title_of, titles_with

AWAY_DAYS = 14
"""Not played for so long is worth a word."""
MOST_NAMED = 2
NO_PUPILS = "There is no session of anybody in these logs yet."
HOW_ORDERED = (
    f"Who needs attention comes first: falling, then not played for {AWAY_DAYS} days or more, leaning down, "
    "flat, too early to say, leaning up, and rising last; what only leans is not sure yet. Each name leads "
    "to that pupil’s drills."
)


def players_page(pupils: Sequence[Pupil], today: date, days: int) -> c.Page:
    """All pupils, as of a day, from their takes in the last so many days."""
    title = f"Practice report: {counted(len(pupils), 'pupil')}"
    said = f"As of {today.isoformat()}, from the takes of the last {counted(days, 'day')}."
    if not pupils:
        return c.Page(title, (c.Lines((said, NO_PUPILS)),), ())
    ordered = sorted(pupils, key=lambda one: (attention(one), _gone(one), one.name.casefold(), one.log or ""))
    keyed = [(one, f"pupil-{number}") for number, one in enumerate(ordered, start=1)]
    several = len({one.log for one in pupils}) > 1
    table = c.Table(
        "All pupils",
        (
            "pupil",
            *(("log",) if several else ()),
            "how it goes",
            "on what",
            "minutes last week",
            "last played",
            "set: reached",
        ),
        tuple(_row(one, key, several) for one, key in keyed),
        frozenset({3 + several}),
    )
    overview = c.PageSection("all", "All pupils", (c.Lines((HOW_ORDERED, CLEAN_TEMPO)), table))
    each = tuple(_pupil(one, key, several) for one, key in keyed)
    return c.Page(
        title, (c.Lines((said,)),), (overview, c.PageSection("each", "Each pupil", (), each, apart=True))
    )


def attention(one: Pupil) -> int:
    """The place in the order of who needs a look: 0 first."""
    if titles_with(one.found, Verdict.FALLING):
        return 0
    if _gone(one) <= -AWAY_DAYS:
        return 1
    of_each = {each.trend.verdict for each in one.found if has_verdict(each)}
    return 2 + next((place for place, verdict in enumerate(_AFTER) if verdict in of_each), len(_AFTER))


_AFTER = (
    Verdict.LEANING_DOWN,
    Verdict.FLAT,
    Verdict.TOO_EARLY,
    Verdict.LEANING_UP,
    Verdict.RISING,
)
_ON = {0: Verdict.FALLING, **dict(enumerate(_AFTER, start=2))}


def _gone(one: Pupil) -> int:
    """Days since the last take, as a number below 0: who was away longest comes first."""
    return -100_000 if one.last_played is None else (one.last_played - one.today).days


def _row(one: Pupil, key: str, several: bool) -> tuple[c.Words, ...]:
    place = attention(one)
    verdict = _ON.get(place)
    titles = titles_with(one.found, verdict) if verdict else []
    away = f"not played for {counted(-_gone(one), 'day')}" if place == 1 and one.last_played else ""
    return (
        c.Name(one.name, to=key),
        *((c.Name(one.log or ""),) if several else ()),
        away or str(verdict or "nothing measured"),
        _listed(titles),
        f"{one.minutes_last_week:.0f}",
        one.last_played.isoformat() if one.last_played else "never",
        _set_words(one.asked),
    )


def _listed(titles: Sequence[str]) -> str:
    if len(titles) <= MOST_NAMED:
        return ", ".join(titles) or "–"
    return f"{', '.join(titles[:MOST_NAMED])} and {len(titles) - MOST_NAMED} more"


def _set_words(asked: Sequence[Asked]) -> c.Words:
    if not asked:
        return "–"
    said: list[str | c.Name] = []
    for one in asked:
        said += ["; "] if said else []
        said += [
            c.Name(one.title),
            f": {'yes' if one.reached == one.of else 'no'}, {one.reached} of {one.of}",
        ]
    return tuple(said)


def _pupil(one: Pupil, key: str, several: bool) -> c.PageSection:
    heading: c.Words = (c.Name(one.name), " (", c.Name(one.log or ""), ")") if several else c.Name(one.name)
    last = one.last_played.isoformat() if one.last_played else "never"
    week = f"{one.minutes_last_week:.0f} minutes last week; last played: {last}."
    blocks: list[c.Block] = [c.Lines((week, *_songs(one)))]
    ordered = sorted(
        (each for each in one.found if each.days), key=lambda each: IN_ORDER.index(each.trend.verdict)
    )
    if ordered:
        rows = tuple(
            (
                title_of(each),
                progress_words.verdict_words(each.trend) if has_verdict(each) else "nothing is measured",
                progress_words.day_words(each.drill, each.days[-1]),
                each.days[-1].date.isoformat(),
            )
            for each in ordered
        )
        heads = ("drill", "how it goes", "last clean tempo, BPM (90 %)", "on")
        blocks.append(c.Table("Drills, what wants a look first", heads, rows))
    return c.PageSection(key, heading, tuple(blocks))


def _songs(one: Pupil) -> list[c.Words]:
    said: list[c.Words] = []
    for each in one.asked:
        by = f", {song_words.by_words(each.by, one.today)}" if each.by else ""
        said.append((c.Name(each.title), f"{by}: {_asked_words(each)}"))
    return said


def _asked_words(one: Asked) -> str:
    if one.standing is not None:
        return f"{song_words.ready_count(one.standing)} {song_words.whole_words(one.standing)}"
    named = ", ".join(f"{each.drill.title} at {each.target_bpm:g} BPM" for each in one.to_go)
    return f"Not reached yet: {named}." if named else "All reached."
