"""The chart: a song in plain text, in the notation players write on paper. Pure.

`docs/guide/songs.md` is the grammar, for players. A chart is read line by line: headers (`tempo: 96`),
sections (`[Verse] x2`, `Verse:`), lines of bars (`| Am / / G | F . E7 . |`), and lines of chords without
bars, above words or among them; `#` begins a comment. What is taken otherwise than it stands there is told
(`Song.told`); what stays unclear is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from pathlib import PurePath

from pedaltrainer.errors import InputError
from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs import heads
from pedaltrainer.songs.bar_lines import (
    AS_BEFORE,
    AS_TWO_BEFORE,
    TIMES,
    BarLine,
    Line,
    SignWord,
    UnreadableError,
    read_bar,
    signs_in,
    times_of,
    words_of,
)
from pedaltrainer.songs.dates import parse_day
from pedaltrainer.songs.heads import ALIASES, AS_THE_SONG, LEAST_BPM, MOST_BPM, STRUMS, UNSAID, short
from pedaltrainer.songs.jumps import AT_THE_BEGINNING, SIGN_WORDS, Sign
from pedaltrainer.songs.loose_lines import LineKind, as_bars, bars_words, kind_of
from pedaltrainer.songs.metre import FOUR_FOUR, Metre, parse_metre
from pedaltrainer.songs.repeats import Repeats
from pedaltrainer.songs.slot_words import SlotSpelling, pushed
from pedaltrainer.songs.song import Bar, Mark, Section, Slot, Song
from pedaltrainer.songs.written import WrittenPart, played

__all__ = ["LEAST_BPM", "MOST_BPM", "STRUMS", "as_name", "parse_chart"]

LONGEST_CHART = 200_000
"""Characters."""
MOST_BARS = 2_000
MOST_SLOTS = 20_000
"""In a song written out."""
MOST_TIMES = 99
USUAL_BPM = 100.0
USUAL_TEMPO = heads.Tempo(USUAL_BPM)
LONGEST_TITLE = 120

_HEADER = re.compile(r"(?P<name>[A-Za-z][A-Za-z0-9 ()'&-]*?)\s*:(?!\|)(?P<value>.*)")
_UNMARKED = re.compile(
    r"(?P<name>[^|=:]+=\s*\d+\s*(?:bpm)?|(?:capo|key of|key|tempo|bpm|time|metre|meter)(?=\s))"
    r"(?:\s+(?P<value>.+))?",
    re.IGNORECASE,
)
_SECTION = re.compile(r"\[(?P<name>[^\[\]]*)\]")
_TIMES_INSIDE = re.compile(rf"(?P<name>.*?)[\s,]*(?:{TIMES})\s*", re.IGNORECASE)
_SQUARE = re.compile(r"\[: .*(?:\||:\])")
"""A line of bars whose repeats are written with square brackets."""
_COMMENT = re.compile(r"(?:^|(?<=\s))#(?P<note>.*)")


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
    lines = text.removeprefix("\ufeff").expandtabs(4).splitlines()
    reader.has_bars = any("|" in line or "[:" in line for line in lines)
    try:
        for line in lines:
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
    has_bars: bool = False
    """Some line has bar lines."""
    line_number: int = 0
    bar_number: int = 0
    in_bars: bool = False
    at_bar_line: bool = False
    said: set[str] = field(default_factory=set)
    """The headers so far."""
    tempo: heads.Tempo = USUAL_TEMPO
    metre: Metre = FOUR_FOUR
    bars_a_chord: Fraction = Fraction(1)
    pattern: str = ""
    section_pattern: str | None = None
    section_gap: Gap | None = None
    form: str = ""
    parts: list[WrittenPart] = field(default_factory=list)
    name: str | None = None
    """Of the section being read; None before the first."""
    times: int = 1
    section_line: int = 0
    written: list[Bar] = field(default_factory=list)
    signs: dict[int, set[Sign]] = field(default_factory=dict)
    coming: set[Sign] = field(default_factory=set)
    """Signs of the bar that comes next."""
    repeats: Repeats = field(default_factory=Repeats)
    last_bar: Bar | None = None
    has_chord: bool = False
    spelling: SlotSpelling = field(default_factory=SlotSpelling)
    words: int = 0
    """Lines of words that are not kept."""
    loose: int = 0
    """Lines of chords without bar lines."""
    bars_written_out: int = 0
    slots_written_out: int = 0

    @property
    def place(self) -> str:
        """Where the reader is, in words."""
        line = f"line {max(self.line_number, 1)}"
        if self.at_bar_line:
            return f"{line}, after bar {self.bar_number}" if self.bar_number else line
        return f"{line}, bar {self.bar_number + 1}" if self.in_bars else line

    # --- lines -----------------------------------------------------------------------

    def read(self, line: str) -> None:
        """Read one line."""
        self.in_bars = False
        plain = line.strip()
        if _SQUARE.match(plain):
            plain = self._without_note(plain).replace("[:", "|:").replace(":]", ":|")
        if plain.lower().startswith("title") and (header := _HEADER.fullmatch(plain)):
            self._read_header("title", header["value"])  # a # in a title is part of it
            return
        if section := _SECTION.match(plain):
            rest = plain[section.end() :]
            among_words = not self.has_bars and rest.strip() and times_of(rest) is None
            if not (among_words and kind_of(plain) is LineKind.AMONG_WORDS):
                self._section_line(section["name"], self._without_note(rest).strip())
                return
        plain = self._without_note(plain)
        if not plain:
            return
        if (header := _HEADER.fullmatch(plain)) and self._headed(header["name"], header["value"].strip()):
            return
        if signs := signs_in(plain):
            self._signs(signs)
        elif "|" in plain:
            self._bars_line(plain)
        elif (found := _UNMARKED.fullmatch(plain)) and self._unmarked(found["name"], found["value"] or ""):
            return
        else:
            self._loose_line(plain)

    def _section_line(self, name: str, rest: str) -> None:
        """[Verse], [Chorus 2x], [Verse] x2, or with its bars behind it."""
        inside = _TIMES_INSIDE.fullmatch(name)
        times = times_of(rest)
        if times is not None:
            rest = ""
        elif inside is not None and inside["name"].strip():
            name, times = inside["name"], int((inside["x_times"] or inside["times_x"])[:9])
        is_line = "|" in rest or (rest and kind_of(rest) is LineKind.CHORDS)
        if rest and not is_line:
            raise UnreadableError(f"“{rest}” is no part of a section's line; write it as in [Verse] x2")
        self._begin_section(name, 1 if times is None else times)
        if rest:
            self.read(rest)

    def _headed(self, name: str, value: str) -> bool:
        """A header, or a section's name with a colon; False when the line is something else."""
        known = " ".join(name.lower().split())
        known = ALIASES.get(known, known)
        if known in _HEADERS:
            self._read_header(known, value)
            return True
        if known in UNSAID:
            self.song = replace(self.song, notes=(*self.song.notes, f"{name}: {value}"))
            return True
        if not value or "|" in value or kind_of(value) is not LineKind.WORDS:
            self._section_line(name, value)
            return True
        if self.has_bars or len(name.split()) == 1:
            raise UnreadableError(f"“{name}:” is no header; use one of {', '.join(_HEADERS)}")
        return False

    def _unmarked(self, name: str, value: str) -> bool:
        """A header without its colon: "Capo 2", "1/8 = 180"; False when it is words."""
        if "=" in name:
            self._read_header("tempo", name)
            return True
        if self.last_bar is not None:
            return False
        try:
            self._read_header(ALIASES.get(name.lower(), name.lower()), value)
        except UnreadableError:
            return False
        return True

    def _loose_line(self, plain: str) -> None:
        kind = kind_of(plain, bool(self.song.key))
        if kind is not LineKind.WORDS:
            self.loose += 1
            self._bars_line(as_bars(plain, self.bars_a_chord))
            return
        is_first = self.last_bar is None and self.name is None and not self.said and not self.words
        if is_first and not self.has_bars:
            self._read_header("title", as_name(plain))
        elif not self.has_bars or _reads_as_words(plain):
            self.words += 1
        else:
            raise UnreadableError(
                f"“{short(plain)}” is no header (tempo: 96), section ([Verse]) or bar (| Am / / G |); "
                "begin a line of bars with | and a comment with #"
            )

    def _bars_line(self, plain: str) -> None:
        if not plain.startswith("|"):
            plain = f"| {plain}"
        self.in_bars = True
        self._read_bars(plain)
        self.in_bars = False

    def finish(self) -> Song:
        """The song, when all lines are read."""
        self._end_section()
        if not self.parts:
            raise UnreadableError("there are no bars; write them between bar lines, such as | Am / / G |")
        sections = played(self.parts, self.form, self.told)
        self.bars_written_out = self.slots_written_out = 0
        for section in sections:
            self._count(section)
        return replace(self.song, sections=sections, told=tuple(self._tellings()))

    def told(self, sentence: str) -> None:
        """Something was taken otherwise than it stands there."""
        self.spelling.told.append(sentence)

    def _tellings(self) -> list[str]:
        words = []
        if self.loose:
            words.append(bars_words(str(self.bars_a_chord)))
        if self.words:
            lines = "1 line" if self.words == 1 else f"{self.words} lines"
            words.append(
                f"{lines} of words are not kept." if self.words > 1 else f"{lines} of words is not kept."
            )
        return [*words, *dict.fromkeys(self.spelling.told)]

    def _without_note(self, text: str) -> str:
        found = _COMMENT.search(text)
        if found is None:
            return text
        note = " ".join(found["note"].split())
        if note:
            self.song = replace(self.song, notes=(*self.song.notes, note))
        return text[: found.start()].strip()

    # --- headers ---------------------------------------------------------------------

    def _read_header(self, name: str, value: str) -> None:
        value = " ".join(value.split())
        if name not in _ANYWHERE:
            if self.last_bar is not None:
                raise UnreadableError(f"{name}: holds for the whole song; write it above the first bar")
            if name in self.said:
                raise UnreadableError(f"{name}: is written twice; delete one of the two lines")
        self.said.add(name)
        _HEADERS[name](self, value)

    def _title(self, value: str) -> None:
        if not value or value != as_name(value):
            raise UnreadableError(
                f"a title has 1 to {LONGEST_TITLE} characters and no square brackets; mend “{short(value)}”"
            )
        self.song = replace(self.song, title=value)

    def _tempo(self, value: str) -> None:
        self.tempo = heads.tempo_of(value)

    def _metre(self, value: str) -> None:
        metre = parse_metre(_METRE_WORDS.get(value.lower(), value))
        if metre is None:
            raise UnreadableError(
                f"“{short(value)}” is no metre; write one such as 4/4, 3/4, 6/8, or 6/8 in 6"
            )
        self.metre = metre

    def _strum(self, value: str) -> None:
        if value not in STRUMS:
            raise UnreadableError(f"the strum “{short(value)}” is not known; use one of {', '.join(STRUMS)}")
        self.song = replace(self.song, strum=STRUMS[value])

    def _gap(self, value: str) -> None:
        if value == AS_THE_SONG:
            self.section_gap = None
            return
        if value not in set(Gap):
            raise UnreadableError(f"the gap “{short(value)}” is not known; use one of {', '.join(Gap)}")
        if self.name is None and self.last_bar is None:
            self.song = replace(self.song, gap=Gap(value))
        else:
            self.section_gap = Gap(value)

    def _pattern(self, value: str) -> None:
        pattern = heads.pattern_of(value)
        if self.name is None and self.last_bar is None:
            self.pattern = pattern
        else:
            self.section_pattern = pattern

    def _key(self, value: str) -> None:
        key = heads.key_of(value)
        self.spelling.key = key
        self.song = self.song if self.song.key else replace(self.song, key=key)

    def _capo(self, value: str) -> None:
        self.song = replace(self.song, capo=heads.capo_of(value))

    def _bars(self, value: str) -> None:
        self.bars_a_chord = heads.bars_a_chord(value)

    def _form(self, value: str) -> None:
        self.form = value

    def _by(self, value: str) -> None:
        day = parse_day(value, self.today)
        if day is None:
            raise UnreadableError(
                f"“{short(value)}” is no day; write one such as 2026-12-12 or 12 December 2026"
            )
        self.song = replace(self.song, by=day)

    # --- sections --------------------------------------------------------------------

    def _begin_section(self, name: str, times: int) -> None:
        self._end_section()
        name = " ".join(name.split())
        if name != as_name(name):
            raise UnreadableError(f"a section's name has {LONGEST_TITLE} characters at most; shorten it")
        self.name, self.times, self.section_line = name, _times(times), self.line_number

    def _end_section(self) -> None:
        order = self.repeats.finish()
        bars, signs, passed_over = tuple(self.written), self.signs, frozenset(self.repeats.passed_over)
        self.repeats, self.written, self.signs = Repeats(), [], {}
        self.section_gap = self.section_pattern = None
        if self.name is None and not bars:
            return
        if not bars:
            old = self._like(str(self.name))
            if old is None:
                raise UnreadableError(
                    f"the section [{self.name}] of line {self.section_line} has no bars; write them below "
                    "it, or its name as an earlier section has it"
                )
            part = replace(old, times=self.times, signs={})
        else:
            part = WrittenPart(self.name or "", bars, order, passed_over, self.times, signs)
        self._count(Section("", tuple(part.bars[bar] for bar in part.order), part.times))
        self.parts.append(part)

    def _like(self, name: str) -> WrittenPart | None:
        """The last section of this name, else of one that differs in capitals."""
        alike = [part for part in self.parts if part.name.casefold() == name.casefold()]
        return next((part for part in reversed(alike) if part.name == name), alike[-1] if alike else None)

    def _count(self, section: Section) -> None:
        self.bars_written_out += section.times * len(section.bars)
        self.slots_written_out += section.times * sum(len(bar.slots) for bar in section.bars)
        if self.bars_written_out > MOST_BARS or self.slots_written_out > MOST_SLOTS:
            raise UnreadableError(_TOO_LONG)

    # --- bars ------------------------------------------------------------------------

    def _read_bars(self, text: str) -> None:
        words: list[str] = []
        before: BarLine | None = None
        since = len(self.repeats.bars)
        for word in words_of(text):
            if isinstance(word, str):
                words.append(word)
                continue
            if isinstance(word, SignWord):
                self._signs([word.sign], within=bool(words))
                continue
            if words:
                self._add_bar(words)
                words = []
            elif before is not None and before.line is word.line is Line.PLAIN and not self.at_signs:
                raise UnreadableError(
                    "the bar is empty; write % for the bar before again, or N.C. for no chord"
                )
            self.at_signs = False
            self._bar_line(word, since)
            before = word
        if words:
            self._add_bar(words)

    at_signs: bool = False
    """A sign stands between the last bar line and the next."""

    def _signs(self, signs: list[Sign], within: bool = False) -> None:
        """Signs that stand within a bar, behind one, or on a line of their own."""
        self.at_signs = True
        for sign in signs:
            if sign in AT_THE_BEGINNING or within:
                self.coming.add(sign)
            elif not self.written:
                raise UnreadableError(
                    f"“{SIGN_WORDS[sign]}” stands before any bar; write it behind the bar that it ends"
                )
            else:
                self.signs.setdefault(len(self.written) - 1, set()).add(sign)

    def _add_bar(self, words: list[str]) -> None:
        if words == [AS_TWO_BEFORE]:
            for bar in self._two_before():
                self._keep(bar)
            return
        gap, pattern = self.section_gap, self.section_pattern
        pattern = self.pattern if pattern is None else pattern
        if words == [AS_BEFORE]:
            slots, pushes = self._as_before(), frozenset[int]()
        else:
            spelt, pushes, gaps = self.spelling.bar(words)
            slots = read_bar(spelt, self.metre)
            slots = tuple(replace(slot, gap=gaps.get(slot.chord or "")) for slot in slots) if gaps else slots
        for slot in slots:
            if not self.has_chord and slot.mark in (Mark.STRUCK, Mark.HELD):
                raise UnreadableError(
                    f"“{slot.mark}” comes before any chord; write the chord, or - for nothing"
                )
            self.has_chord = self.has_chord or slot.chord is not None
        unit = self.metre.beat_unit
        bar = Bar(slots, self.metre.beats, unit, self.tempo.in_beats(unit), gap, pattern)
        if not LEAST_BPM <= bar.tempo_bpm <= MOST_BPM:
            raise UnreadableError(
                f"the tempo comes to {bar.tempo_bpm:g} beats a minute of {self.metre}; "
                f"write {LEAST_BPM} to {MOST_BPM}"
            )
        if pushes:
            bar = self._push(bar, pushes)
        self._keep(bar)

    def _push(self, bar: Bar, pushes: frozenset[int]) -> Bar:
        """Chords that land an eighth early; the first of a bar lands in the bar before."""
        before = self.written[-1] if self.written else None
        before, bar = pushed(before, bar, pushes)
        if before is not None:
            self.written[-1] = before
        return bar

    def _keep(self, bar: Bar) -> None:
        if self.coming:
            self.signs.setdefault(len(self.written), set()).update(self.coming)
            self.coming = set()
        self.repeats.add(len(self.written))
        self.written.append(bar)
        self.last_bar = bar
        self.bar_number += 1

    def _as_before(self) -> tuple[Slot, ...]:
        before = self.last_bar
        if before is None:
            raise UnreadableError("% repeats the bar before, and there is none; write the chords")
        if (before.beats, before.beat_unit) != self.metre:
            raise UnreadableError("% repeats a bar of another metre; write the chords")
        return before.slots

    def _two_before(self) -> list[Bar]:
        if len(self.written) < 2:
            raise UnreadableError("%% repeats the two bars before, and there are not two; write the chords")
        return self.written[-2:]

    def _bar_line(self, bar_line: BarLine, since: int) -> None:
        line, self.at_bar_line = bar_line.line, True
        if line in (Line.CLOSE, Line.CLOSE_AND_OPEN):
            self.repeats.close(_times(bar_line.times))
        if line in (Line.OPEN, Line.CLOSE_AND_OPEN):
            self.repeats.open(self.line_number)
        if line is Line.ENDING:
            self._ending(bar_line.rounds)
        if line is Line.NEXT_ENDING:
            self.repeats.next_ending(bar_line.rounds)
        if line is Line.AGAIN:
            self.repeats.again(since, _times(bar_line.times))
        if len(self.repeats.bars) > MOST_BARS:
            raise UnreadableError(_TOO_LONG)
        self.at_bar_line = False

    def _ending(self, rounds: frozenset[int]) -> None:
        if self.repeats.ending is not None and 1 not in rounds:
            self.repeats.next_ending(rounds)
        else:
            self.repeats.first_ending(rounds)


_TOO_LONG = f"a song has {MOST_BARS:,} bars and {MOST_SLOTS:,} slots at most, written out; repeat fewer times"
_ANYWHERE = frozenset({"tempo", "metre", "gap", "pattern", "key", "form"})
_METRE_WORDS = {"c": "4/4", "common": "4/4", "common time": "4/4", "cut": "2/2", "cut time": "2/2"}
_HEADERS: Mapping[str, Callable[[_ChartReader, str], None]] = {
    "title": _ChartReader._title,
    "tempo": _ChartReader._tempo,
    "metre": _ChartReader._metre,
    "strum": _ChartReader._strum,
    "pattern": _ChartReader._pattern,
    "gap": _ChartReader._gap,
    "key": _ChartReader._key,
    "capo": _ChartReader._capo,
    "form": _ChartReader._form,
    "bars": _ChartReader._bars,
    "by": _ChartReader._by,
}


def _reads_as_words(line: str) -> bool:
    """Several words, most of them of letters alone: nobody means a bar or a header by that."""
    words = line.split()
    plain = [word for word in words if word.strip(".,;!?'\"()…-").replace("'", "").replace("’", "").isalpha()]
    return len(words) >= 3 and len(plain) >= 0.7 * len(words) and ":" not in line


def _times(times: int) -> int:
    if not 1 <= times <= MOST_TIMES:
        raise UnreadableError(f"“x{times}” is not x1 to x{MOST_TIMES}; say how often it is played")
    return times
