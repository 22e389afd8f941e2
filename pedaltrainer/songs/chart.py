"""The chart: a song in plain text, in the notation players write on paper. Pure.

`docs/guide/songs.md` is the grammar, for players. A chart is read line by line: headers (`tempo: 96`),
sections (`[Verse] x2`, `Verse:`, `Verse`), lines of bars (`| Am / / G | F . E7 . |`), and lines of chords
without bars, above words or among them; `#` begins a comment. What is taken otherwise than it stands there is
told (`Song.told`); what stays unclear is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from pathlib import PurePath

from pedaltrainer.errors import InputError
from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs import heads
from pedaltrainer.songs.bar_lines import BAR_SIGNS, UnreadableError, signs_in, times_of
from pedaltrainer.songs.bar_reader import MOST_BARS, MOST_SLOTS, TOO_LONG, BarReader, checked_times
from pedaltrainer.songs.dates import parse_day
from pedaltrainer.songs.headings import bare_heading, name_and_times, times_on_a_line
from pedaltrainer.songs.heads import ALIASES, AS_THE_SONG, STRUMS, UNSAID, short
from pedaltrainer.songs.loose_lines import LineKind, as_bars, has_words, is_chord, kind_of, looks_like_times
from pedaltrainer.songs.metre import parse_metre
from pedaltrainer.songs.song import Section, Song
from pedaltrainer.songs.written import WrittenPart, played

LONGEST_CHART = 200_000
"""Characters."""
LONGEST_TITLE = 120

_HEADER = re.compile(r"(?P<name>[A-Za-z][A-Za-z0-9 ()'&-]*?)\s*:(?!\|)(?P<value>.*)")
_SECTION = re.compile(r"\[(?P<name>[^\[\]]*)\](?P<rest>.*)")
_SQUARE = re.compile(r"\[: .*(?:\||:\])")
"""A line of bars whose repeats are written with square brackets."""
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
    reader = _ChartReader(Song(as_name(PurePath(name).stem) or "Song", ()), today)
    lines = text.removeprefix("\ufeff").expandtabs(4).splitlines()
    reader.has_bars = any("|" in line.translate(BAR_SIGNS) or "[:" in line for line in lines)
    try:
        for line in lines:
            reader.line_number += 1
            reader.read(line)
        return reader.finish()
    except UnreadableError as error:
        place = f"line {max(reader.line_number, 1)}{reader.bars.place}"
        raise InputError(f"{name}, {place}: {error}.") from error


def as_name(text: str) -> str:
    """A text as a title or a section can have it: one line, single spaces, not too long."""
    return " ".join(text.replace("[", "(").replace("]", ")").split())[:LONGEST_TITLE].rstrip()


@dataclass(slots=True)
class _ChartReader:
    """What has been read so far.

    has_bars: some line has bar lines. said: the headers so far; holds: of those that hold from where they
    stand, whether for the song only, before which bar, and what. name: of the section being read, None before
    the first; times: how often it is played. words: lines of words that are not kept; loose: how long chords
    last without bar lines, a sentence each.
    """

    song: Song
    today: date | None
    has_bars: bool = False
    line_number: int = 0
    said: set[str] = field(default_factory=set)
    bars: BarReader = field(default_factory=BarReader)
    bars_a_chord: Fraction = Fraction(1)
    form: str = ""
    parts: list[WrittenPart] = field(default_factory=list)
    name: str | None = None
    times: int = 1
    section_line: int = 0
    holds: dict[tuple[str, bool], tuple[int, str]] = field(default_factory=dict)
    words: int = 0
    loose: dict[str, None] = field(default_factory=dict)
    bars_written_out: int = 0
    slots_written_out: int = 0

    @property
    def is_at_the_top(self) -> bool:
        """Above the first section and the first bar."""
        return self.name is None and self.bars.last_bar is None

    # --- lines -----------------------------------------------------------------------

    def read(self, line: str) -> None:
        """Read one line."""
        plain = line.strip()
        if _SQUARE.match(plain):
            plain = self._without_note(plain).replace("[:", "|:").replace(":]", ":|")
        if plain.lower().startswith("title") and (header := _HEADER.fullmatch(plain)):
            self._read_header("title", header["value"])  # a # in a title is part of it
        elif not self._section_line(plain):
            plain = self._without_note(plain).translate(BAR_SIGNS)
            if plain and not _RULE.fullmatch(plain):
                next(read for read in _LINES if read(self, plain))

    def _section_line(self, plain: str) -> bool:
        """[Verse], [Chorus 2x], [Verse] x2, or with its bars behind it."""
        section = _SECTION.fullmatch(plain)
        if section is None:
            return False
        rest = section["rest"]
        among_words = not self.has_bars and rest.strip() and times_of(rest) is None
        if among_words and kind_of(plain) is LineKind.AMONG_WORDS:
            return False
        self._named(section["name"], self._without_note(rest).strip())
        return True

    def _named(self, name: str, rest: str) -> None:
        """A section's name, and what stands behind it on its line."""
        times = times_of(rest.lstrip(":–—-, "))
        if times is not None or not rest.strip(":–—-"):
            rest = ""
        inner, inside = name_and_times(name)
        if times is None and inside is not None and inner:
            name, times = inner, inside
        is_line = "|" in rest.translate(BAR_SIGNS) or (rest and kind_of(rest) is not LineKind.WORDS)
        if rest and not is_line:
            raise UnreadableError(f"“{rest}” is no part of a section's line; write it as in [Verse] x2")
        self._begin_section(name, 1 if times is None else times)
        if rest:
            self.read(rest)

    def _header_line(self, plain: str) -> bool:
        """A header, or a section's name with a colon."""
        header = _HEADER.fullmatch(plain)
        if header is None:
            return False
        name, value = header["name"], header["value"].strip()
        known = " ".join(name.lower().split())
        known = ALIASES.get(known, known)
        if known in _HEADERS:
            self._read_header(known, value)
        elif known in UNSAID:
            self.song = replace(self.song, notes=(*self.song.notes, f"{name}: {value}"))
        elif not value or "|" in value or kind_of(value) is not LineKind.WORDS:
            self._named(name, value)
        elif is_chord(name):
            raise UnreadableError(
                f"“{short(plain)}” is no header; write the frets with the chord, as in Am[x02210]"
            )
        elif self.has_bars or len(name.split()) == 1:
            raise UnreadableError(f"“{name}:” is no header; use one of {', '.join(_HEADERS)}")
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
        self.bars.read(plain, self.line_number)
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
        """A section's name alone: "Verse 1", "(Repeat Chorus)"."""
        heading = bare_heading(plain, [part.name for part in self.parts] + [self.name or ""])
        if heading is None:
            return False
        self._begin_section(heading.name, heading.times)
        if heading.again:
            self._end_section()
            self.name, self.times = None, 1
        return True

    def _unmarked_line(self, plain: str) -> bool:
        """A header without its colon."""
        found = heads.unmarked(plain)
        if found is None:
            return False
        name, value, is_sure = found
        if is_sure:
            self._read_header(name, value)
            return True
        if self.bars.last_bar is not None:
            return False
        try:
            self._read_header(name, value)
        except UnreadableError:
            if self.has_bars and not _reads_as_words(plain):
                raise
            return False
        return True

    def _loose_line(self, plain: str) -> bool:
        """Chords without bar lines, a title, or words."""
        kind = kind_of(plain, bool(self.song.key))
        if kind is not LineKind.WORDS:
            self.words += kind is LineKind.AMONG_WORDS and has_words(plain)
            bars, lasts = as_bars(plain, self.bars_a_chord, self.bars.metre)
            self.loose[lasts] = None
            self.bars.read(bars, self.line_number)
        elif self.is_at_the_top and not self.said and not self.words and plain[0].isalnum():
            self._read_header("title", as_name(plain))
        elif not self.has_bars or _reads_as_words(plain):
            self.words += 1
            if looks_like_times(plain):
                self.told(f"“{short(plain)}” is taken for words.")
        else:
            raise UnreadableError(
                f"“{short(plain)}” is no header (tempo: 96), section ([Verse]) or bar (| Am / / G |); "
                "begin a line of bars with | and a comment with #"
            )
        return True

    def finish(self) -> Song:
        """The song, when all lines are read."""
        self._end_section()
        self._pass_over(list(self.holds))
        self.bars.refuse_signs_behind()
        if not self.parts:
            raise UnreadableError("there are no bars; write them between bar lines, such as | Am / / G |")
        sections = played(self.parts, self.form, self.told)
        self.bars_written_out = self.slots_written_out = 0
        for section in sections:
            self._count(section)
        lines = "1 line of words is" if self.words == 1 else f"{self.words} lines of words are"
        words = [f"{lines} not kept."] if self.words else []
        told = dict.fromkeys([*self.loose, *words, *self.bars.spelling.told])
        return replace(self.song, sections=sections, told=tuple(told))

    def told(self, sentence: str) -> None:
        """Something was taken otherwise than it stands there."""
        self.bars.spelling.told.append(sentence)

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
            if self.bars.last_bar is not None:
                raise UnreadableError(f"{name}: holds for the whole song; write it above the first bar")
            if name in self.said:
                raise UnreadableError(f"{name}: is written twice; delete one of the two lines")
        elif name in _HOLDS:
            here = (name, name in _OF_A_SECTION and self.is_at_the_top)
            self._pass_over([here])
            self.holds[here] = self.bars.number, value
        self.said.add(name)
        _HEADERS[name](self, value)

    def _pass_over(self, names: Iterable[tuple[str, bool]]) -> None:
        """Tell of headers that end to hold before any bar."""
        for name in names:
            number, value = self.holds.pop(name, (-1, ""))
            if number == self.bars.number:
                self.told(f"“{name[0]}: {value}” holds for no bar, and is passed over.")

    def _title(self, value: str) -> None:
        if not value or value != as_name(value):
            raise UnreadableError(
                f"a title has 1 to {LONGEST_TITLE} characters and no square brackets; mend “{short(value)}”"
            )
        self.song = replace(self.song, title=value)

    def _tempo(self, value: str) -> None:
        self.bars.tempo = heads.tempo_of(value)

    def _metre(self, value: str) -> None:
        metre = parse_metre(_METRE_WORDS.get(value.lower(), value))
        if metre is None:
            raise UnreadableError(
                f"“{short(value)}” is no metre; write one such as 4/4, 3/4, 6/8, or 6/8 in 6"
            )
        self.bars.metre = metre

    def _strum(self, value: str) -> None:
        if value not in STRUMS:
            raise UnreadableError(f"the strum “{short(value)}” is not known; use one of {', '.join(STRUMS)}")
        self.song = replace(self.song, strum=STRUMS[value])

    def _gap(self, value: str) -> None:
        if value == AS_THE_SONG:
            self.bars.gap = None
            return
        if value not in set(Gap):
            raise UnreadableError(f"the gap “{short(value)}” is not known; use one of {', '.join(Gap)}")
        if self.is_at_the_top:
            self.song = replace(self.song, gap=Gap(value))
        else:
            self.bars.gap = Gap(value)

    def _pattern(self, value: str) -> None:
        pattern = heads.pattern_of(value)
        if self.is_at_the_top:
            self.bars.pattern = pattern
        else:
            self.bars.section_pattern = pattern

    def _key(self, value: str) -> None:
        key = heads.key_of(value)
        self.bars.spelling.key = key
        if not self.song.key:
            self.song = replace(self.song, key=key)
        elif key != self.song.key:
            self.told(f"The song's key is {self.song.key}: {key} is only what places in it are counted from.")

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
        self.name, self.times, self.section_line = name, checked_times(times), self.line_number

    def _end_section(self) -> None:
        self._pass_over([(name, False) for name in _OF_A_SECTION])
        part = self.bars.end(self.name or "", self.times)
        if part is None:
            if self.name is None:
                return
            old = self._like(self.name)
            if old is None:
                raise UnreadableError(
                    f"the section [{self.name}] of line {self.section_line} has no bars; write them below "
                    "it, or its name as an earlier section has it"
                )
            part = replace(old, times=self.times, signs={})
        self._count(part.section)
        self.parts.append(part)

    def _like(self, name: str) -> WrittenPart | None:
        """The last section of this name, else of one that differs in capitals."""
        alike = [part for part in self.parts if part.name.casefold() == name.casefold()]
        return next((part for part in reversed(alike) if part.name == name), alike[-1] if alike else None)

    def _count(self, section: Section) -> None:
        self.bars_written_out += section.times * len(section.bars)
        self.slots_written_out += section.times * sum(len(bar.slots) for bar in section.bars)
        if self.bars_written_out > MOST_BARS or self.slots_written_out > MOST_SLOTS:
            raise UnreadableError(TOO_LONG)


_ANYWHERE = frozenset({"tempo", "metre", "gap", "pattern", "key", "form"})
_OF_A_SECTION = ("gap", "pattern")
"""Headers that hold for the song at its top, and below it for a section."""
_HOLDS = frozenset({"tempo", "metre", *_OF_A_SECTION})
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
_LINES: tuple[Callable[[_ChartReader, str], bool], ...] = (
    _ChartReader._header_line,
    _ChartReader._signs_line,
    _ChartReader._bars_line,
    _ChartReader._times_line,
    _ChartReader._heading_line,
    _ChartReader._unmarked_line,
    _ChartReader._loose_line,
)
"""What a line can be, in the order in which it is asked; the last one takes or refuses all that is left."""


def _reads_as_words(line: str) -> bool:
    """Several words, most of them of letters alone: nobody means a bar or a header by that."""
    words = line.split()
    plain = [word for word in words if word.strip(".,;!?'\"()…-").replace("'", "").replace("’", "").isalpha()]
    return len(words) >= 3 and len(plain) >= 0.7 * len(words) and ":" not in line
