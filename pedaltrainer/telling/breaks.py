"""Where a song breaks, in words, as plain data, and as the strip that is drawn of it. Pure."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from pedaltrainer.history.breaks import Breaks, Broke
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.paper.strip import Cell, Level, Part, Stretch, Strip
from pedaltrainer.songs.changes import Change, Spot
from pedaltrainer.songs.song import NO_CHORD, Bar, Song
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling.charts import changes_by_spot, section_name
from pedaltrainer.telling.songs import plain_table
from pedaltrainer.telling.text_boxes import Terminal

SOMETIMES, OFTEN = 0.2, 0.4
LEVELS = {
    Level.READY: "never flagged",
    Level.NEAR: f"below {SOMETIMES * 100:.0f} %",
    Level.SHORT: f"{SOMETIMES * 100:.0f} to {OFTEN * 100:.0f} %",
    Level.FAR: f"{OFTEN * 100:.0f} % or more",
    Level.UNKNOWN: "not run through yet",
}
FIGURES = "Figures: how often a change was flagged, of the times that it was played."
MOST_ROWS = 12


def breaks_report(song: Song, found: Breaks, terminal: Terminal) -> str:
    """The changes that were flagged, the most often flagged first."""
    if not found.passes:
        told = [f"{song.title} has not been run through yet.", f'To do it: pedaltrainer run "{song.title}"']
        return "\n".join([told[0], *_elsewhere(found), "", told[1]])
    rows = _rows(song, found)
    head = f"{song.title}, {_last(found.passes)}:"
    if not rows:
        return "\n".join([head, "Nothing was flagged.", *_elsewhere(found)])
    table = {
        "section": [song.sections[spot.section].name for spot, _, _ in rows],
        "bar": [str(change.bar + 1) for _, change, _ in rows],
        "change": [f"{_name(change.here)} – {_name(change.there)}" for _, change, _ in rows],
        "flagged": [f"{broke.flagged} of {broke.played}" for _, _, broke in rows],
    }
    more = len(rows) - MOST_ROWS
    cut = {name: column[:MOST_ROWS] for name, column in table.items()}
    rest = [f"and {counted(more, 'change')} more"] if more > 0 else []
    return "\n".join([head, "", plain_table(cut, {"section", "change"}), *rest, *_elsewhere(found)])


def _last(passes: int) -> str:
    return "its last run-through" if passes == 1 else f"its last {passes} run-throughs"


def _elsewhere(found: Breaks) -> list[str]:
    if not found.passed_over:
        return []
    return [f"{counted(found.passed_over, 'run-through')} of another version of its chart are not counted."]


def _rows(song: Song, found: Breaks) -> list[tuple[Spot, Change, Broke]]:
    changes = changes_by_spot(song)
    rows = [
        (spot, changes[spot][0], broke)
        for spot, broke in found.landings.items()
        if broke.flagged and spot in changes
    ]
    return sorted(rows, key=lambda row: (-row[2].share, -row[2].flagged, row[0]))


def breaks_json(song: Song, found: Breaks) -> dict[str, Any]:
    """What `song breaks` prints. bar: from 1, of the song written out; beat: from 1, a fraction."""
    changes = changes_by_spot(song)
    return {
        "title": song.title,
        "passes": found.passes,
        "passed_over": found.passed_over,
        "landings": [
            {
                "here": changes[spot][0].here,
                "there": changes[spot][0].there,
                "section": song.sections[spot.section].name,
                "bar": changes[spot][0].bar + 1,
                "beat": str(spot.beat + 1),
                "played": broke.played,
                "flagged": broke.flagged,
            }
            for spot, broke in sorted(found.landings.items())
            if spot in changes
        ],
    }


def breaks_strip(song: Song, found: Breaks) -> Strip:
    """The song's bars as they are written, each change as dark as it is often flagged."""
    parts, first_bar = [], 1
    for number, section in enumerate(song.sections):
        cells = tuple(
            Cell(first_bar + at, _stretches(song, bar, Spot(number, at, Fraction(0)), found))
            for at, bar in enumerate(section.bars)
        )
        parts.append(Part(section_name(section), cells))
        first_bar += section.times * len(section.bars)
    below = [f"{_last(found.passes)[:1].upper()}{_last(found.passes)[1:]}.", *_elsewhere(found)]
    return Strip(f"{song.title}: where it breaks", below, parts, LEVELS, "", FIGURES)


def _stretches(song: Song, bar: Bar, spot: Spot, found: Breaks) -> tuple[Stretch, ...]:
    chords = [slot for slot in bar.slots if slot.chord is not None]
    ends = [*(slot.beat for slot in chords[1:]), Fraction(bar.beats)]
    changes = changes_by_spot(song)
    stretches = []
    for slot, end in zip(chords, ends, strict=False):
        here = spot._replace(beat=slot.beat)
        share = (float(slot.beat / bar.beats), float(end / bar.beats))
        if here not in changes:
            stretches.append(Stretch(*share, _name(str(slot.chord))))
            continue
        broke = found.landings.get(here, Broke())
        figure = f"{broke.flagged}/{broke.played}" if broke.played else ""
        stretches.append(Stretch(*share, _name(str(slot.chord)), _level(broke), figure))
    return tuple(stretches)


def _level(broke: Broke) -> Level:
    if not broke.played:
        return Level.UNKNOWN
    if not broke.flagged:
        return Level.READY
    return Level.FAR if broke.share >= OFTEN else Level.SHORT if broke.share >= SOMETIMES else Level.NEAR


def _name(chord: str) -> str:
    return chord if chord == NO_CHORD else str(parse_chosen(chord).symbol)
