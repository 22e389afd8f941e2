"""The header lines of a chart as they are read: of the song, and of the bars behind them. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs import heads
from pedaltrainer.songs.bar_lines import UnreadableError
from pedaltrainer.songs.bar_reader import BarReader
from pedaltrainer.songs.dates import parse_day
from pedaltrainer.songs.heads import ALIASES, AS_THE_SONG, STRUMS, UNSAID, short
from pedaltrainer.songs.metre import parse_metre
from pedaltrainer.songs.song import Song

LONGEST_TITLE = 120
"""Characters."""


def as_name(text: str) -> str:
    """A text as a title or a section can have it: one line, single spaces, not too long."""
    return " ".join(text.replace("[", "(").replace("]", ")").split())[:LONGEST_TITLE].rstrip()


@dataclass(slots=True)
class HeaderReader:
    """The song as far as headers and notes tell, and the bars that they hold for.

    today: for a date without a year. said: the headers so far; holds: of those that hold from where they
    stand, whether for the song only, before which bar, and what. is_at_the_top: above the first section and
    bar.
    """

    song: Song
    today: date | None
    bars: BarReader
    said: set[str] = field(default_factory=set)
    holds: dict[tuple[str, bool], tuple[int, str]] = field(default_factory=dict)
    is_at_the_top: bool = True
    bars_a_chord: Fraction = Fraction(1)
    form: str = ""

    def named(self, name: str) -> str | None:
        """The header of this name or of another name for it; None for none."""
        known = " ".join(name.lower().split())
        known = ALIASES.get(known, known)
        return known if known in HEADERS or known in UNSAID else None

    def read(self, name: str, value: str) -> None:
        """Read a header. Raises UnreadableError with the mend for a value that it cannot have."""
        value = " ".join(value.split())
        if name in UNSAID:
            self.note(f"{name}: {value}")
            return
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
        HEADERS[name](self, value)

    def note(self, text: str) -> None:
        """A note that the player wrote."""
        self.song = replace(self.song, notes=(*self.song.notes, text))

    def end_section(self) -> None:
        """What holds for a section only ends."""
        self._pass_over([(name, False) for name in _OF_A_SECTION])

    def end(self) -> None:
        """There are no more lines."""
        self._pass_over(list(self.holds))

    def _pass_over(self, names: Iterable[tuple[str, bool]]) -> None:
        """Tell of headers that end to hold before any bar."""
        for name in names:
            number, value = self.holds.pop(name, (-1, ""))
            if number == self.bars.number:
                self.bars.spelling.told.append(f"“{name[0]}: {value}” holds for no bar, and is passed over.")

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
        if value.lower() not in STRUMS:
            raise UnreadableError(f"the strum “{short(value)}” is not known; use one of {', '.join(STRUMS)}")
        self.song = replace(self.song, strum=STRUMS[value.lower()])

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
            self.bars.spelling.told.append(
                f"The song's key is {self.song.key}: {key} is only what places in it are counted from."
            )

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


_ANYWHERE = frozenset({"tempo", "metre", "gap", "pattern", "key", "form"})
_OF_A_SECTION = ("gap", "pattern")
"""Headers that hold for the song at its top, and below it for a section."""
_HOLDS = frozenset({"tempo", "metre", *_OF_A_SECTION})
_METRE_WORDS = {"c": "4/4", "common": "4/4", "common time": "4/4", "cut": "2/2", "cut time": "2/2"}
HEADERS: Mapping[str, Callable[[HeaderReader, str], None]] = {
    "title": HeaderReader._title,
    "tempo": HeaderReader._tempo,
    "metre": HeaderReader._metre,
    "strum": HeaderReader._strum,
    "pattern": HeaderReader._pattern,
    "gap": HeaderReader._gap,
    "key": HeaderReader._key,
    "capo": HeaderReader._capo,
    "form": HeaderReader._form,
    "bars": HeaderReader._bars,
    "by": HeaderReader._by,
}
