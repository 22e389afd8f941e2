"""Songs on the terminal: the list of them, and one song's chart with the air time below each change. Pure."""

from __future__ import annotations

import textwrap
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.songs.changes import Change, Spot, changes_of
from pedaltrainer.songs.heads import STRUMS
from pedaltrainer.songs.metre import Metre
from pedaltrainer.songs.song import Bar, Section, Song
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling.songs import NO_SONGS, by_words, plain_table
from pedaltrainer.telling.text_boxes import Terminal

BARS_A_ROW = (4, 2, 1)
NUMBER_WIDTH = 4
OTHER_COLUMNS = 56
"""Letters that the list needs beside the titles."""
BELOW = "Below each chord: how long the hand is in the air before it, in ms."


def changes_by_spot(song: Song) -> Mapping[Spot, tuple[Change, ...]]:
    """The changes of the song written out, where they stand in the song as it is written."""
    bars = [
        (number, bar)
        for number, section in enumerate(song.sections)
        for _ in range(section.times)
        for bar in range(len(section.bars))
    ]
    found: dict[Spot, list[Change]] = defaultdict(list)
    for change in changes_of(song):
        section, bar = bars[change.bar]
        found[Spot(section, bar, change.beat)].append(change)
    return {spot: tuple(changes) for spot, changes in found.items()}


def section_name(section: Section) -> str:
    """ "Verse x2"."""
    return f"{section.name} x{section.times}".strip() if section.times > 1 else section.name


def length_words(song: Song) -> str:
    """ "2:40"."""
    minutes, seconds = divmod(round(song.seconds), 60)
    return f"{minutes}:{seconds:02}"


# --- the list ---------------------------------------------------------------------------


def songs_table(songs: Sequence[Song], today: date, columns: int = 80) -> str:
    """A row a song; a title that is too long for the terminal is cut."""
    if not songs:
        return NO_SONGS
    table = {
        "song": [textwrap.shorten(song.title, columns - OTHER_COLUMNS, placeholder="…") for song in songs],
        "BPM": [f"{song.tempo_bpm:g}" for song in songs],
        "length": [length_words(song) for song in songs],
        "changes": [str(len(needs_of([song]))) for song in songs],
        "ready by": [by_words(song.by, today).removeprefix("by ") if song.by else "" for song in songs],
    }
    if not any(table["ready by"]):
        del table["ready by"]
    return plain_table(table, {"song", "ready by"})


# --- one chart --------------------------------------------------------------------------


def chart_report(song: Song, today: date, terminal: Terminal) -> str:
    """The song as it is written, in rows of bars, and the air time of every change."""
    spots = changes_by_spot(song)
    air = {spot: f"{min(change.air_ms for change in there):.0f}" for spot, there in spots.items()}
    cells = [
        [_tokens(bar, Spot(section, number, Fraction(0)), air) for number, bar in enumerate(part.bars)]
        for section, part in enumerate(song.sections)
    ]
    a_row, width = _row_of(cells, terminal.columns)
    parts = [_about(song, today, terminal)]
    first_bar, before = 1, _kind(song.bars[0])
    for section, tokens in zip(song.sections, cells, strict=True):
        parts.append("\n".join(_section(section, tokens, first_bar, before, a_row, width)))
        first_bar += section.times * len(section.bars)
        before = _kind(section.bars[-1])
    return "\n\n".join([*parts, terminal.wrapped(BELOW, "")] if air else parts)


def _about(song: Song, today: date, terminal: Terminal) -> str:
    strums = {strum: name for name, strum in STRUMS.items()}
    strum = strums.get(song.strum, str(song.strum))
    first = song.bars[0]
    placed = [f"in {song.key}"] * bool(song.key) + [f"capo at fret {song.capo}"] * bool(song.capo)
    lines = [
        ", ".join((song.title, *placed)),
        f"{song.tempo_bpm:g} BPM, {Metre(first.beats, first.beat_unit)}, strummed in {strum}, "
        f"{song.gap} between chords; {counted(len(song.bars), 'bar')}, {length_words(song)}"
        + (f"; {by_words(song.by, today)}" if song.by else ""),
        *song.notes,
    ]
    return "\n".join(terminal.wrapped(line) for line in lines)


class _Token(NamedTuple):
    """What stands at one place of a bar: share of the bar, above and below."""

    at: float
    top: str
    bottom: str

    @property
    def width(self) -> int:
        return max(len(self.top), len(self.bottom))


def _tokens(bar: Bar, spot: Spot, air: Mapping[Spot, str]) -> tuple[_Token, ...]:
    return tuple(
        _Token(
            float(slot.beat / bar.beats),
            slot.chord or str(slot.mark or ""),
            air.get(spot._replace(beat=slot.beat), ""),
        )
        for slot in bar.slots
    )


def _row_of(cells: Sequence[Sequence[Sequence[_Token]]], columns: int) -> tuple[int, int]:
    """How many bars stand in a row, and how wide each is: as many as there is room for."""
    every = [tokens for part in cells for tokens in part]
    for a_row in BARS_A_ROW:
        width = (columns - NUMBER_WIDTH - 2) // a_row - 2
        if all(_end(_placed(tokens, width)) <= width for tokens in every):
            break
    return a_row, width


def _placed(tokens: Sequence[_Token], width: int) -> list[tuple[int, _Token]]:
    """Each token at its beat, or right behind the one before it."""
    placed: list[tuple[int, _Token]] = []
    for token in tokens:
        placed.append((max(round(token.at * width), _end(placed)), token))
    return placed


def _end(placed: Sequence[tuple[int, _Token]]) -> int:
    return placed[-1][0] + placed[-1][1].width + 1 if placed else 0


def _section(
    section: Section,
    tokens: Sequence[Sequence[_Token]],
    first_bar: int,
    before: str,
    a_row: int,
    width: int,
) -> Iterator[str]:
    """A section's lines; tempo and metre are told where they are other than `before`."""
    if section.name or section.times > 1:
        yield f"[{section.name}]" + (f" x{section.times}" if section.times > 1 else "")
    numbered = list(enumerate(zip(section.bars, tokens, strict=True)))
    for kind, alike in groupby(numbered, key=lambda one: _kind(one[1][0])):
        if kind != before:
            yield f"{'':{NUMBER_WIDTH}} {kind}"
        before = kind
        bars = list(alike)
        for at in range(0, len(bars), a_row):
            row = bars[at : at + a_row]
            yield from _row(first_bar + row[0][0], [its_tokens for _, (_, its_tokens) in row], width)


def _kind(bar: Bar) -> str:
    return f"{bar.tempo_bpm:g} BPM, {Metre(bar.beats, bar.beat_unit)}"


def _row(number: int, cells: Sequence[Sequence[_Token]], width: int) -> Iterator[str]:
    placed = [_placed(tokens, width) for tokens in cells]
    tops = [_line([(at, token.top) for at, token in cell], width) for cell in placed]
    bottoms = [_line([(at, token.bottom) for at, token in cell], width) for cell in placed]
    yield f"{number:>{NUMBER_WIDTH}} | {'| '.join(tops)}|"
    if any(bottom.strip() for bottom in bottoms):
        yield f"{'':{NUMBER_WIDTH}} | {'| '.join(bottoms)}|"


def _line(words: Sequence[tuple[int, str]], width: int) -> str:
    line = ""
    for at, word in words:
        line = f"{line:<{at}}{word}"
    return f"{line:<{width}}"
