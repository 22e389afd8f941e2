"""The chart: a song in plain text, in the notation players write on paper. Pure.

`docs/guide/songs.md` is the grammar, for players. A chart is read line by line: headers (`tempo: 96`),
sections (`[Verse] x2`, `Verse:`, `Verse`), lines of bars (`| Am / / G | F . E7 . |`), and lines of chords
without bars, above words or among them; `#` begins a comment. What is taken otherwise than it stands there is
told (`Song.told`); what stays unclear is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import PurePath

from pedaltrainer.errors import InputError
from pedaltrainer.songs import heads, loose_lines
from pedaltrainer.songs.bar_lines import BAR_SIGNS, UnreadableError, signs_in, times_of
from pedaltrainer.songs.bar_reader import MOST_BARS, MOST_SLOTS, TOO_LONG, BarReader, checked_times
from pedaltrainer.songs.degrees import looks_like_degree
from pedaltrainer.songs.header_reader import HEADERS, LONGEST_TITLE, HeaderReader, as_name
from pedaltrainer.songs.headings import (
    bare_heading,
    has_usual_name,
    heading_and_rest,
    letter,
    name_and_times,
    times_on_a_line,
)
from pedaltrainer.songs.heads import short
from pedaltrainer.songs.loose_lines import LineKind, kind_of
from pedaltrainer.songs.song import Section, Song
from pedaltrainer.songs.written import WrittenPart, played

LONGEST_CHART = 200_000
"""Characters."""

_HEADER = re.compile(r"(?P<name>[A-Za-z][A-Za-z0-9 ()'&-]{0,150}?)\s*:(?!\|)(?P<value>.*)")
_SECTION = re.compile(r"\[(?P<name>[^\[\]]*)\](?P<rest>.*)")
_SQUARE = re.compile(r"\[: .*(?:\||:\])")
"""A line of bars whose repeats are written with square brackets."""
_TITLE = re.compile(r"[\w\"“„«'‘]")
"""How a title begins that has no header."""
_EMPHASIS = re.compile(r"^\*{1,3}(?=\[)|(?<=\])\*{1,3}$")
_COMMENT = re.compile(r"(?:^|(?<=\s))#(?P<note>.*)")
_RULE = re.compile(r"([-=_~*])\1{2,}")
"""A line drawn below a name."""
_STAFF = re.compile(r"(?:[A-Ga-g][#b]?)?\s*\|[-\dhpbrstvxX/\\~().<>^*\s|]*--[-\dhpbrstvxX/\\~().<>^*\s|]*")
"""A string of a staff of tablature."""


def parse_chart(text: str, name: str, today: date | None = None) -> Song:
    """Read a chart. name: what to call it in a message. today: for a date without a year (the next one).

    Raises InputError, one sentence with the name, the line, the bar and the mend, for whatever is no chart.
    """
    if len(text) > LONGEST_CHART:
        raise InputError(
            f"{name} has {len(text):,} characters, and a chart has {LONGEST_CHART:,} at most; "
            "write what comes again as a section or a repeat."
        )
    bars = BarReader()
    song = Song(as_name(PurePath(name).stem) or "Song", ())
    reader = _ChartReader(HeaderReader(song, today, bars), bars)
    lines = text.removeprefix("\ufeff").expandtabs(4).splitlines()
    reader.has_bars = any("|" in line.translate(BAR_SIGNS) or "[:" in line for line in lines)
    try:
        for line in lines:
            reader.line_number += 1
            reader.read(line)
        return reader.finish()
    except UnreadableError as error:
        place = f"line {max(reader.line_number, 1)}{bars.place}"
        raise InputError(f"{name}, {place}: {error}.") from error


@dataclass(slots=True)
class _ChartReader:
    """What has been read so far.

    has_bars: some line has bar lines. line_below: that of the last bars or words. name: of the section being
    read, None before the first and where none is on; times: how often it is played. words: lines of words
    that are not kept; loose: how long chords last without bar lines, a sentence each.
    """

    headers: HeaderReader
    bars: BarReader
    has_bars: bool = False
    line_number: int = 0
    line_below: int = 0
    parts: list[WrittenPart] = field(default_factory=list)
    name: str | None = None
    times: int = 1
    section_line: int = 0
    words: int = 0
    loose: dict[str, None] = field(default_factory=dict)
    bars_written_out: int = 0
    slots_written_out: int = 0

    # --- lines -----------------------------------------------------------------------

    def read(self, line: str) -> None:
        """Read one line."""
        self.headers.is_at_the_top = self.name is None and self.bars.last_bar is None
        plain = _EMPHASIS.sub("", line.strip())
        if _SQUARE.match(plain):
            plain = self._without_note(plain).replace("[:", "|:").replace(":]", ":|")
        if plain.lower().startswith("title") and (header := _HEADER.fullmatch(plain)):
            self.headers.read("title", header["value"])  # a # in a title is part of it
        elif not self._section_line(plain):
            plain = self._without_note(plain).translate(BAR_SIGNS)
            if plain and not _RULE.fullmatch(plain):
                reader = next(read for read in _LINES if read(self, plain))
                if reader in (_ChartReader._bars_line, _ChartReader._loose_line):
                    self.line_below = self.line_number + 1

    def _section_line(self, plain: str) -> bool:
        """[Verse], [Chorus 2x], [Verse] x2, or with its bars behind it."""
        section = _SECTION.fullmatch(plain)
        if section is None:
            return False
        rest = section["rest"].strip()
        if not self.has_bars and rest and times_of(rest) is None and loose_lines.begins_with_chord(plain):
            return False
        self._named(section["name"], self._without_note(rest).strip())
        return True

    def _named(self, name: str, rest: str) -> None:
        """A section's name, and what stands behind it on its line."""
        times = times_of(rest.lstrip(":–—-, "))
        if times is not None or not rest.strip(":–—-"):
            rest = ""
        name = " ".join(name.split())
        inner, inside = name_and_times(name)
        if times is None and inside is not None and inner:
            name, times = inner, inside
        is_line = "|" in rest.translate(BAR_SIGNS) or (rest and kind_of(rest) is not LineKind.WORDS)
        if rest and not is_line:
            raise UnreadableError(f"“{rest}” is no part of a section's line; write it as in [Verse] x2")
        self._begin_section(name, 1 if times is None else times)
        if rest:
            self.read(rest)

    def _headers_line(self, plain: str) -> bool:
        """Several headers."""
        pieces = heads.parted(plain, HEADERS)
        for piece in pieces:
            self.read(piece)
        return bool(pieces)

    def _header_line(self, plain: str) -> bool:
        """A header, or a section's name with a colon."""
        header = _HEADER.fullmatch(plain)
        if header is None:
            return False
        name, value = header["name"], header["value"].strip()
        known = self.headers.named(name)
        if known is not None:
            self.headers.read(known, value)
        elif not value or "|" in value or kind_of(value) is not LineKind.WORDS:
            self._named(name, value)
        elif loose_lines.is_chord(name):
            raise UnreadableError(
                f"“{short(plain)}” is no header; write the frets with the chord, as in Am[x02210]"
            )
        elif self.has_bars or len(name.split()) == 1:
            raise UnreadableError(f"“{name}:” is no header; use one of {', '.join(HEADERS)}")
        else:
            return False
        return True

    def _signs_line(self, plain: str) -> bool:
        signs = signs_in(plain)
        if signs:
            self.bars.put(signs)
        return bool(signs)

    def _bars_line(self, plain: str) -> bool:
        if "|" not in plain:
            return False
        if _STAFF.fullmatch(plain):
            raise UnreadableError("a staff of tablature is not read; delete its lines, or put # before them")
        named = heading_and_rest(plain)
        if named is not None and named[1].startswith("|"):
            self._named(*named)
        else:
            self.bars.read(plain.replace("|]", "||"), self.line_number)
        return True

    def _times_line(self, plain: str) -> bool:
        """ "x2" on a line of its own, of a line or of a section that has no bars yet."""
        times = times_on_a_line(plain)
        if times is None:
            return False
        if self.bars.written:
            self.bars.again(times)
        elif self.name is not None and self.times == 1:
            self.times = checked_times(times)
        else:
            raise UnreadableError(
                f"“{plain}” has nothing to be played so often; write it behind a line of bars"
            )
        return True

    def _heading_line(self, plain: str) -> bool:
        """A section's name: "Verse 1", "(Repeat Chorus)", "Intro G D"."""
        heading = letter(plain) if self.has_bars else None
        if heading is not None:
            self.told(f"“{heading.name}” on a line of its own is read as a section's name.")
        heading = heading or bare_heading(plain, [part.name for part in self.parts] + [self.name or ""])
        if heading is None:
            named = heading_and_rest(plain)
            if named is None or kind_of(named[1]) is not LineKind.CHORDS:
                return False
            self._named(*named)
            return True
        self._begin_section(heading.name, heading.times)
        if heading.again:
            self._end_section()
            self.name, self.times = None, 1
        return True

    def _unmarked_line(self, plain: str) -> bool:
        """A header without its colon."""
        found = heads.unmarked(plain.removeprefix("(").removesuffix(")"))
        if found is None:
            return False
        name, value, is_sure = found
        if not is_sure and self.bars.last_bar is not None:
            return False
        try:
            self.headers.read(name, value)
        except UnreadableError:
            if is_sure or (self.has_bars and not _reads_as_words(plain)):
                raise
            return False
        return True

    def _loose_line(self, plain: str) -> bool:
        """Chords without bar lines, a title, or words."""
        plain = loose_lines.with_square_brackets(plain)
        spelling, is_first = self.bars.spelling, self.bars.last_bar is None
        # Where chords come by their letters a number or an I is a word.
        kind = kind_of(plain, bool(spelling.key) and (is_first or spelling.has_degrees))
        if kind is not LineKind.WORDS:
            self.words += kind is LineKind.AMONG_WORDS and loose_lines.has_words(plain)
            bars, lasts = loose_lines.as_bars(plain, self.headers.bars_a_chord, self.bars.metre)
            self.loose[lasts] = None
            self.bars.read(bars, self.line_number)
        elif is_first and len(plain.split()) > 1 and all(map(looks_like_degree, plain.split())):
            raise UnreadableError(f"“{short(plain)}” may be places in the key; write it above, as in key: D")
        elif is_first and as_name(plain) == self.headers.song.title:
            pass  # the title, that a header has said already
        elif self.headers.is_at_the_top and not self.headers.said and not self.words and _TITLE.match(plain):
            self.headers.read("title", as_name(plain))
        elif not self.has_bars or _reads_as_words(plain) or self._is_sung(plain):
            self.words += 1
            if loose_lines.looks_like_times(plain):
                self.told(f"“{short(plain)}” is taken for words.")
        else:
            raise UnreadableError(
                f"“{short(plain)}” is no header (tempo: 96), section ([Verse]) or bar (| Am / / G |); "
                "begin a line of bars with | and a comment with #"
            )
        return True

    def _is_sung(self, plain: str) -> bool:
        """A few words right below a line of bars or of words."""
        words = plain.split()
        plain_words = [word.strip(".,;!?'’\"()…-").replace("'", "").replace("’", "") for word in words]
        are_words = all(map(str.isalpha, plain_words))
        is_name = has_usual_name(plain) or (len(words) == 1 and plain[:1].isupper())
        is_below = self.line_number == self.line_below
        if not is_below or is_name or not are_words:
            return False
        self.told(f"“{short(plain)}” is taken for words.")
        return True

    def finish(self) -> Song:
        """The song, when all lines are read."""
        self._end_section()
        self.headers.end()
        self.bars.refuse_signs_behind()
        if not self.parts:
            raise UnreadableError("there are no bars; write them between bar lines, such as | Am / / G |")
        sections = played(self.parts, self.headers.form, self.told)
        self.bars_written_out = self.slots_written_out = 0
        for section in sections:
            self._count(section)
        lines = "1 line of words is" if self.words == 1 else f"{self.words} lines of words are"
        words = [f"{lines} not kept."] if self.words else []
        told = dict.fromkeys([*self.loose, *words, *self.bars.spelling.told])
        return replace(self.headers.song, sections=sections, told=tuple(told))

    def told(self, sentence: str) -> None:
        """Something was taken otherwise than it stands there."""
        self.bars.spelling.told.append(sentence)

    def _without_note(self, text: str) -> str:
        found = _COMMENT.search(text)
        if found is None:
            return text
        if note := " ".join(found["note"].split()):
            self.headers.note(note)
            if "|" in note and "|" in text[: found.start()]:
                self.told(f"“{short(note)}” is taken for a note.")
        return text[: found.start()].strip()

    # --- sections --------------------------------------------------------------------

    def _begin_section(self, name: str, times: int) -> None:
        self._end_section()
        if name != as_name(name):
            raise UnreadableError(f"a section's name has {LONGEST_TITLE} characters at most; shorten it")
        self.name, self.times, self.section_line = name, checked_times(times), self.line_number

    def _end_section(self) -> None:
        self.headers.end_section()
        part = self.bars.end(self.name or "", self.times)
        if part is None:
            if self.name is None:
                return
            old = self._like(self.name) or self._like_numbered(self.name)
            if old is None:
                raise UnreadableError(
                    f"the section [{self.name}] of line {self.section_line} has no bars; write them below "
                    "it, or its name as an earlier section has it"
                )
            is_same = old.name.casefold() == self.name.casefold()
            part = replace(old, name=old.name if is_same else self.name, times=self.times, signs={})
        self._count(part.section)
        self.parts.append(part)

    def _like(self, name: str) -> WrittenPart | None:
        """The last section of this name, else of one that differs in capitals."""
        alike = [part for part in self.parts if part.name.casefold() == name.casefold()]
        return next((part for part in reversed(alike) if part.name == name), alike[-1] if alike else None)

    def _like_numbered(self, name: str) -> WrittenPart | None:
        """For "Verse 2" the last verse: a song's later verses are often words alone."""
        kind = _numberless(name)
        old = next((part for part in reversed(self.parts) if kind and _numberless(part.name) == kind), None)
        if old is not None:
            self.told(f"[{name}] has no chords of its own: those of [{old.name}] are played.")
        return old

    def _count(self, section: Section) -> None:
        self.bars_written_out += section.times * len(section.bars)
        self.slots_written_out += section.times * sum(len(bar.slots) for bar in section.bars)
        if self.bars_written_out > MOST_BARS or self.slots_written_out > MOST_SLOTS:
            raise UnreadableError(TOO_LONG)


_LINES: tuple[Callable[[_ChartReader, str], bool], ...] = (
    _ChartReader._headers_line,
    _ChartReader._header_line,
    _ChartReader._signs_line,
    _ChartReader._bars_line,
    _ChartReader._times_line,
    _ChartReader._heading_line,
    _ChartReader._unmarked_line,
    _ChartReader._loose_line,
)
"""What a line can be, in the order in which it is asked; the last one takes or refuses all that is left."""


def _numberless(name: str) -> str:
    """A section's name without its number: "verse" for "Verse 2"."""
    return re.sub(r"\s*\d{1,2}$", "", name).casefold()


def _reads_as_words(line: str) -> bool:
    """Several words, most of them of letters alone: nobody means a bar or a header by that."""
    words = line.split()
    plain = [word for word in words if word.strip(".,;!?'\"()…-").replace("'", "").replace("’", "").isalpha()]
    return len(words) >= 3 and len(plain) >= 0.7 * len(words) and ":" not in line
