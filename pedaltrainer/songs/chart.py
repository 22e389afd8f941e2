"""The chart: a song in plain text, in the notation players write on paper. Pure.

`docs/guide/songs.md` is the grammar, for players. A chart is read line by line: headers (`tempo: 96`),
sections (`[Verse] x2`), and lines of bars (`| Am / / G | F . E7 . |`); `#` begins a comment.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from pathlib import PurePath

from pedaltrainer.errors import InputError
from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs.bar_lines import AS_BEFORE, BarLine, Line, UnreadableError, read_bar, words_of
from pedaltrainer.songs.dates import parse_day
from pedaltrainer.songs.metre import FOUR_FOUR, Metre, parse_metre
from pedaltrainer.songs.repeats import Repeats
from pedaltrainer.songs.song import Bar, Mark, Section, Slot, Song

LONGEST_CHART = 200_000
"""Characters."""
MOST_BARS = 2_000
MOST_SLOTS = 20_000
"""In a song written out."""
MOST_TIMES = 99
LEAST_BPM, MOST_BPM = 10, 600
USUAL_BPM = 100.0
LONGEST_TITLE = 120
STRUMS = {
    "4ths": Fraction(1, 4),
    "8ths": Fraction(1, 8),
    "triplets": Fraction(1, 12),
    "swing": Fraction(1, 12),
    "16ths": Fraction(1, 16),
}
"""The finest stroke of the strumming hand, as part of a whole note."""

_HEADER = re.compile(r"(?P<name>[A-Za-z]+)\s*:(?P<value>.*)")
_SECTION = re.compile(r"\[(?P<name>[^\[\]]*)\](?:\s*[x×]\s*(?P<times>\d+))?")
_COMMENT = re.compile(r"(?:^|(?<=\s))#(?P<note>.*)")
_TEMPO = re.compile(r"(?P<bpm>[0-9]{1,3}(?:\.[0-9]{1,20})?)(?:\s*bpm)?", re.IGNORECASE)


def parse_chart(text: str, name: str, today: date | None = None) -> Song:
    """Read a chart. name: what to call it in a message. today: for a date without a year (the next one).

    Raises InputError, one sentence with the name, the line, the bar and the mend, for whatever is no chart.
    """
    if len(text) > LONGEST_CHART:
        raise InputError(
            f"{name} has {len(text):,} characters, and a chart has {LONGEST_CHART:,} at most; "
            "write what comes again as a section or a repeat."
        )
    reader = _ChartReader(Song(as_name(PurePath(name).stem) or "Song", ()), today)
    try:
        for line in text.removeprefix("\ufeff").splitlines():
            reader.line_number += 1
            reader.read(line)
        return reader.finish()
    except UnreadableError as error:
        raise InputError(f"{name}, {reader.place}: {error}.") from error


def as_name(text: str) -> str:
    """A text as a title or a section can have it: one line, single spaces, not too long."""
    return " ".join(text.replace("[", "(").replace("]", ")").split())[:LONGEST_TITLE].rstrip()


@dataclass(slots=True)
class _ChartReader:
    """What has been read so far."""

    song: Song
    today: date | None
    line_number: int = 0
    bar_number: int = 0
    in_bars: bool = False
    at_bar_line: bool = False
    heads: set[str] = field(default_factory=set)
    tempo_bpm: float = USUAL_BPM
    metre: Metre = FOUR_FOUR
    name: str | None = None
    """Of the section being read; None before the first."""
    times: int = 1
    section_line: int = 0
    repeats: Repeats = field(default_factory=Repeats)
    last_bar: Bar | None = None
    has_chord: bool = False
    bars_written_out: int = 0
    slots_written_out: int = 0

    @property
    def place(self) -> str:
        """Where the reader is, in words."""
        line = f"line {max(self.line_number, 1)}"
        if self.at_bar_line:
            return f"{line}, after bar {self.bar_number}" if self.bar_number else line
        return f"{line}, bar {self.bar_number + 1}" if self.in_bars else line

    def read(self, line: str) -> None:
        """Read one line."""
        self.in_bars = False
        plain = line.strip()
        if section := _SECTION.match(plain):
            rest = self._without_note(plain[section.end() :]).strip()
            if rest:
                raise UnreadableError(f"“{rest}” is no part of a section's line; write it as in [Verse] x2")
            self._begin_section(section["name"], section["times"])
            return
        header = _HEADER.fullmatch(plain)
        if header and header["name"].lower() == "title":
            self._read_header("title", header["value"])  # a # in a title is part of it
            return
        plain = self._without_note(plain)
        header = _HEADER.fullmatch(plain)
        if header:
            self._read_header(header["name"].lower(), header["value"])
        elif plain.startswith("|"):
            self.in_bars = True
            self._read_bars(plain)
            self.in_bars = False
        elif plain:
            raise UnreadableError(
                f"“{_short(plain)}” is no header (tempo: 96), section ([Verse]) or bar (| Am / / G |); "
                "begin a line of bars with | and a comment with #"
            )

    def finish(self) -> Song:
        """The song, when all lines are read."""
        self._end_section()
        if not self.song.sections:
            raise UnreadableError("there are no bars; write them between bar lines, such as | Am / / G |")
        return self.song

    def _without_note(self, text: str) -> str:
        found = _COMMENT.search(text)
        if found is None:
            return text
        note = " ".join(found["note"].split())
        if note:
            self.song = replace(self.song, notes=(*self.song.notes, note))
        return text[: found.start()].strip()

    def _read_header(self, name: str, value: str) -> None:
        value = " ".join(value.split())
        if name not in _HEADERS:
            raise UnreadableError(f"“{name}:” is no header; use one of {', '.join(_HEADERS)}")
        if name not in _ANYWHERE:
            if self.last_bar is not None:
                raise UnreadableError(f"{name}: holds for the whole song; write it above the first bar")
            if name in self.heads:
                raise UnreadableError(f"{name}: is written twice; delete one of the two lines")
        self.heads.add(name)
        _HEADERS[name](self, value)

    def _title(self, value: str) -> None:
        if not value or value != as_name(value):
            raise UnreadableError(
                f"a title has 1 to {LONGEST_TITLE} characters and no square brackets; mend “{_short(value)}”"
            )
        self.song = replace(self.song, title=value)

    def _tempo(self, value: str) -> None:
        found = _TEMPO.fullmatch(value)
        bpm = float(found["bpm"]) if found else 0.0
        if not LEAST_BPM <= bpm <= MOST_BPM:
            raise UnreadableError(
                f"the tempo “{_short(value)}” is not {LEAST_BPM} to {MOST_BPM} beats a minute; "
                "write it as in tempo: 96"
            )
        self.tempo_bpm = bpm

    def _metre(self, value: str) -> None:
        metre = parse_metre(value)
        if metre is None:
            raise UnreadableError(
                f"“{_short(value)}” is no metre; write one such as 4/4, 3/4, 6/8, or 6/8 in 6"
            )
        self.metre = metre

    def _strum(self, value: str) -> None:
        if value not in STRUMS:
            raise UnreadableError(f"the strum “{_short(value)}” is not known; use one of {', '.join(STRUMS)}")
        self.song = replace(self.song, strum=STRUMS[value])

    def _gap(self, value: str) -> None:
        if value not in set(Gap):
            raise UnreadableError(f"the gap “{_short(value)}” is not known; use one of {', '.join(Gap)}")
        self.song = replace(self.song, gap=Gap(value))

    def _by(self, value: str) -> None:
        day = parse_day(value, self.today)
        if day is None:
            raise UnreadableError(
                f"“{_short(value)}” is no day; write one such as 2026-12-12 or 12 December 2026"
            )
        self.song = replace(self.song, by=day)

    def _begin_section(self, name: str, times: str | None) -> None:
        self._end_section()
        name = " ".join(name.split())
        if name != as_name(name):
            raise UnreadableError(f"a section's name has {LONGEST_TITLE} characters at most; shorten it")
        self.name, self.times, self.section_line = name, _times(times or "1"), self.line_number

    def _end_section(self) -> None:
        bars = self.repeats.finish()
        self.repeats = Repeats()
        if self.name is None and not bars:
            return
        if not bars:
            bars = next((old.bars for old in reversed(self.song.sections) if old.name == self.name), ())
        if not bars:
            raise UnreadableError(
                f"the section [{self.name}] of line {self.section_line} has no bars; write them below it, "
                "or its name as an earlier section has it"
            )
        section = Section(self.name or "", bars, self.times)
        self._count(section)
        self.song = replace(self.song, sections=(*self.song.sections, section))

    def _count(self, section: Section) -> None:
        self.bars_written_out += section.times * len(section.bars)
        self.slots_written_out += section.times * sum(len(bar.slots) for bar in section.bars)
        if self.bars_written_out > MOST_BARS or self.slots_written_out > MOST_SLOTS:
            raise UnreadableError(_TOO_LONG)

    def _read_bars(self, text: str) -> None:
        words: list[str] = []
        before: BarLine | None = None
        for word in words_of(text):
            if isinstance(word, str):
                words.append(word)
                continue
            if words:
                self._add_bar(words)
                words = []
            elif before is not None and before.line is word.line is Line.PLAIN:
                raise UnreadableError(
                    "the bar is empty; write % for the bar before again, or N.C. for no chord"
                )
            self._bar_line(word)
            before = word
        if words:
            raise UnreadableError(f"the bar with {words[0]} is not closed; end the line with |")

    def _add_bar(self, words: list[str]) -> None:
        slots = self._as_before() if words == [AS_BEFORE] else read_bar(words, self.metre)
        for slot in slots:
            if not self.has_chord and slot.mark in (Mark.STRUCK, Mark.HELD):
                raise UnreadableError(
                    f"“{slot.mark}” comes before any chord; write the chord, or - for nothing"
                )
            self.has_chord = self.has_chord or slot.chord is not None
        self.last_bar = Bar(slots, self.metre.beats, self.metre.beat_unit, self.tempo_bpm)
        self.repeats.add(self.last_bar)
        self.bar_number += 1

    def _as_before(self) -> tuple[Slot, ...]:
        before = self.last_bar
        if before is None:
            raise UnreadableError("% repeats the bar before, and there is none; write the chords")
        if (before.beats, before.beat_unit) != self.metre:
            raise UnreadableError("% repeats a bar of another metre; write the chords")
        return before.slots

    def _bar_line(self, bar_line: BarLine) -> None:
        line, self.at_bar_line = bar_line.line, True
        if line in (Line.CLOSE, Line.CLOSE_AND_OPEN):
            self.repeats.close(_times(str(bar_line.times)))
        if line in (Line.OPEN, Line.CLOSE_AND_OPEN):
            self.repeats.open(self.line_number)
        if line is Line.FIRST_ENDING:
            self.repeats.first_ending()
        if line is Line.SECOND_ENDING:
            self.repeats.second_ending()
        if len(self.repeats.bars) > MOST_BARS:
            raise UnreadableError(_TOO_LONG)
        self.at_bar_line = False


_TOO_LONG = f"a song has {MOST_BARS:,} bars and {MOST_SLOTS:,} slots at most, written out; repeat fewer times"
_ANYWHERE = frozenset({"tempo", "metre"})
_HEADERS = {
    "title": _ChartReader._title,
    "tempo": _ChartReader._tempo,
    "metre": _ChartReader._metre,
    "strum": _ChartReader._strum,
    "gap": _ChartReader._gap,
    "by": _ChartReader._by,
}


def _times(text: str) -> int:
    times = int(text[:9])
    if not 1 <= times <= MOST_TIMES:
        raise UnreadableError(f"“x{text[:9]}” is not x1 to x{MOST_TIMES}; say how often it is played")
    return times


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:39]}…"
