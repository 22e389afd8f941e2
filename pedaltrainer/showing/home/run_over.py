"""After a run-through: where it broke, and what can be done about it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.run_through import LEAST_PER_CENT, MOST_PER_CENT, STEP_PER_CENT
from pedaltrainer.screen.view import BarsView, SongBar
from pedaltrainer.session.home import Leaf, LeafRow
from pedaltrainer.showing.home.pages import do, drills_value, page, play
from pedaltrainer.showing.run_through import shown_name

RUN_OVER = "run over"
REST = "Twenty minutes without a rest: let the hand hang for two."
MOST_LISTED = 6
"""Flags with a row of their own."""


@dataclass(frozen=True, slots=True)
class Flag:
    """A press, by its number in the pass: the bar it is about, counted from 1, and the change."""

    mark: int
    bar: int
    drill: Drill | None
    dropped: bool


@dataclass(frozen=True, slots=True)
class RunFacts:
    """A run-through's last pass. first, end: its bars in the song written out. section: the one with most
    flags, where the pass was more than that: its name, first and end. bars: the first chord of each, and does
    a section begin with it?"""

    title: str
    per_cent: int
    first: int
    end: int
    whole: bool
    flags: tuple[Flag, ...]
    bars: tuple[tuple[str, bool], ...]
    rest_clean: bool = False
    section: tuple[str, int, int] | None = None
    tires: bool = False
    """It is time for a rest."""


def run_value(title: str, per_cent: int, first: int = 0, end: int = 0) -> str:
    """What is run through, as the value of an errand. end: 0 for the song's."""
    return f"{per_cent} {first} {end} {title}"


def read_run_value(value: str) -> tuple[str, int, int, int | None]:
    """The title, the per cent, and the bars [first, end)."""
    per_cent, first, end, title = value.split(" ", 3)
    return title, int(per_cent), int(first), int(end) or None


def run_row(words: str, value: str) -> LeafRow:
    """A row that begins a run-through; after it comes the page of how it went."""
    row = play(words, "run", value)
    return LeafRow(words, type(row.errand)(row.errand.verb, row.errand.to, value, RUN_OVER))


def run_over(one: RunFacts) -> Leaf:
    """How it went, and what now: the likeliest first."""
    standing = [flag for flag in one.flags if not flag.dropped]
    drills = list(dict.fromkeys(flag.drill for flag in standing if flag.drill is not None))
    again = run_row("Again", run_value(one.title, one.per_cent, one.first, one.end))
    rows = [again]
    if drills:
        rows.insert(0, play(_practise_words(drills), "drills", drills_value(drills)))
    if one.section is not None:
        name, first, end = one.section
        rows.append(run_row(f"Only {name}", run_value(one.title, one.per_cent, first, end)))
    for words, step in (("Slower", -STEP_PER_CENT), ("Faster", STEP_PER_CENT)):
        per_cent = one.per_cent + step
        if LEAST_PER_CENT <= per_cent <= MOST_PER_CENT:
            rows.append(run_row(f"{words}: {per_cent} %", run_value(one.title, per_cent, one.first, one.end)))
    rows.append(do(f"All else was clean: {'yes' if one.rest_clean else 'not said'}", "run rest"))
    rows += [do(_flag_words(flag), "run mark", str(flag.mark)) for flag in one.flags[:MOST_LISTED]]
    if one.tires:
        rows.insert(0, do("I have rested", "rested"))
    lines = (REST,) if one.tires else ()
    return page(RUN_OVER, _title(standing, one.whole), rows, bars=_strip(one, standing), lines=lines)


def _title(standing: Sequence[Flag], whole: bool) -> str:
    bars = sorted({flag.bar for flag in standing})
    if not bars:
        return "Nothing flagged" if whole else "Stopped, nothing flagged"
    return f"Bar {bars[0]} flagged" if len(bars) == 1 else f"{len(bars)} bars flagged"


def _practise_words(drills: Sequence[Drill]) -> str:
    return f"Practise {drills[0].title}" if len(drills) == 1 else f"Practise those {len(drills)} changes"


def _flag_words(flag: Flag) -> str:
    change = f", {flag.drill.title}" if flag.drill is not None else ""
    return f"Bar {flag.bar}{change}: {'was fine' if flag.dropped else 'missed'}"


def _strip(one: RunFacts, standing: Sequence[Flag]) -> BarsView:
    flagged = {flag.bar - 1 - one.first for flag in standing}
    return BarsView(
        tuple(
            SongBar(shown_name(chord) if chord else "–", is_hardest=number in flagged, begins=begins)
            for number, (chord, begins) in enumerate(one.bars)
        )
    )
