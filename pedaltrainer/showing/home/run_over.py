"""After a run-through: where it broke, and what can be done about it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.run_through import LEAST_PER_CENT, MOST_PER_CENT, STEP_PER_CENT
from pedaltrainer.screen.view import BarsView, SongBar
from pedaltrainer.session.home import Leaf, LeafRow
from pedaltrainer.showing.home.pages import do, drills_value, page, play, turn
from pedaltrainer.showing.run_through import shown_name

RUN_OVER, FLAGS = "run over", "run flags"
REST = "Twenty minutes without a rest: let the hand hang for two."
FLAGS_A_PAGE = 6
SECTIONS_A_PAGE = 6


@dataclass(frozen=True, slots=True)
class Flag:
    """A press, by its number in the pass: the bar it is about, counted from 1, and the change."""

    mark: int
    bar: int
    drill: Drill | None
    dropped: bool


@dataclass(frozen=True, slots=True)
class RunFacts:
    """A pass of the run-through played last. number: which, from 0; of: how many there are. first, end: its
    bars in the song written out. section: the one with most flags, where the pass was more than that: its
    name, first and end. broke_off: the section, or the bar, that it was stopped in, and the first bar of it.
    bars: the first chord of each, and does a section begin with it?"""

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
    number: int = 0
    of: int = 1
    loop: bool = False
    broke_off: tuple[str, int] | None = None


def run_value(title: str, per_cent: int, first: int = 0, end: int = 0, loop: bool = False) -> str:
    """What is run through, as the value of an errand. end: 0 for the song's."""
    return f"{per_cent} {first} {end} {loop:d} {title}"


def read_run_value(value: str) -> tuple[str, int, int, int | None, bool]:
    """The title, the per cent, the bars [first, end), and is it played over and over?"""
    per_cent, first, end, loop, title = value.split(" ", 4)
    return title, int(per_cent), int(first), int(end) or None, loop == "1"


def run_row(words: str, value: str) -> LeafRow:
    """A row that begins a run-through; after it comes the page of how it went."""
    return play(words, "run", value, RUN_OVER)


def run_over(one: RunFacts) -> Leaf:
    """How it went, and what now: the likeliest first."""
    standing = [flag for flag in one.flags if not flag.dropped]
    drills = list(dict.fromkeys(flag.drill for flag in standing if flag.drill is not None))
    rows = [run_row("Again", _value(one))]
    if drills:
        rows.insert(0, play(_practise_words(drills), "drills", drills_value(drills)))
    if one.broke_off is not None:
        name, first = one.broke_off
        rows.append(run_row(f"On from {name}", run_value(one.title, one.per_cent, first, one.end)))
    if one.section is not None:
        name, first, end = one.section
        rows.append(run_row(f"Only {name}", run_value(one.title, one.per_cent, first, end, one.loop)))
    rows += [run_row(words, _value(one, per_cent)) for words, per_cent in other_shares(one.per_cent)]
    said = "yes" if one.rest_clean else "not said"
    rows.append(do(f"All else was clean: {said}", "run rest", str(one.number)))
    rows += _flag_rows(one, 0)
    if one.of > 1:
        before = (one.number or one.of) - 1
        rows.append(turn(f"Pass {before + 1} of {one.of}", RUN_OVER, str(before)))
    if one.tires:
        rows.insert(0, do("I have rested", "rested"))
    title = _title(standing, one.whole)
    if one.of > 1:
        title = f"Pass {one.number + 1}: {title[0].lower()}{title[1:]}"
    lines = (REST,) if one.tires else ()
    return page(RUN_OVER, title, rows, value=str(one.number), bars=_strip(one, standing), lines=lines)


def more_flags(one: RunFacts, first: int) -> Leaf:
    """The flags from one on, each to be dropped or taken back."""
    standing = [flag for flag in one.flags if not flag.dropped]
    title, value = _title(standing, one.whole), f"{one.number} {first}"
    return page(FLAGS, title, _flag_rows(one, first), value=value, bars=_strip(one, standing))


def _flag_rows(one: RunFacts, first: int) -> list[LeafRow]:
    last = first + FLAGS_A_PAGE
    rows = [do(_flag_words(flag), "run mark", f"{one.number} {flag.mark}") for flag in one.flags[first:last]]
    if len(one.flags) > last:
        rows.append(turn("More flags", FLAGS, f"{one.number} {last}"))
    return rows


def _value(one: RunFacts, per_cent: int | None = None) -> str:
    return run_value(one.title, per_cent or one.per_cent, one.first, one.end, one.loop)


def other_shares(per_cent: int) -> list[tuple[str, int]]:
    """A share of the tempo below and one above, where there are such, in words."""
    steps = (("Slower", per_cent - STEP_PER_CENT), ("Faster", per_cent + STEP_PER_CENT))
    return [
        (f"{words}: {share} %", share) for words, share in steps if LEAST_PER_CENT <= share <= MOST_PER_CENT
    ]


def parts_of_song(
    title: str, shown: str, per_cent: int, sections: Sequence[tuple[str, int, int]], first: int = 0
) -> Leaf:
    """What of a song is run through, and how fast. sections: name, first bar and the one after the last."""
    rows = [] if first else [run_row(f"All of it, at {per_cent} %", run_value(title, per_cent))]
    if not first:
        rows += [turn(words, "run part", f"{share} 0 {title}") for words, share in other_shares(per_cent)]
    for name, begin, end in sections[first : first + SECTIONS_A_PAGE]:
        rows.append(run_row(f"Over and over: {name}", run_value(title, per_cent, begin, end, loop=True)))
    if len(sections) > first + SECTIONS_A_PAGE:
        rows.append(turn("More sections", "run part", f"{per_cent} {first + SECTIONS_A_PAGE} {title}"))
    return page("run part", f"{shown}, at {per_cent} %", rows, value=f"{per_cent} {first} {title}")


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
