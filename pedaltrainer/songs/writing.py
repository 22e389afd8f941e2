"""A song as a chart. Pure: `parse_chart` reads what is written here."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs import heads
from pedaltrainer.songs.bar_lines import AS_BEFORE, slot_word
from pedaltrainer.songs.header_reader import HEADERS
from pedaltrainer.songs.heads import AS_THE_SONG, STRUMS, pattern_words
from pedaltrainer.songs.metre import Metre
from pedaltrainer.songs.song import Bar, Section, Song

BARS_A_LINE = 4
_BY = re.compile(r"\s*by\s*:[^#]*(?P<note>#.*)?", re.IGNORECASE)
_TEMPO_LINE = re.compile(
    r"^(?P<head>[ \t]*(?:(?:tempo|bpm|speed)[ \t]*:?[ \t]*(?:[^\n=|#]*=[ \t]*)?|[^\n=|#:]*=[ \t]*|"
    r"(?=[^\n]*bpm))(?:(?:ca\.?|~)[ \t]*)?)"
    r"(?P<bpm>[0-9][0-9.]*)(?=[ \t]*(?:bpm)?[ \t]*(?:#.*)?$)",
    re.IGNORECASE | re.MULTILINE,
)
"""A line that names a tempo, in every spelling that is read."""
TITLE_LINE = re.compile(r"^\s*(?:title|name|song)\s*:.*$", re.IGNORECASE | re.MULTILINE)
_BARS_LINE = re.compile(r"^[ \t]*bars[ \t]*:.*$\n?", re.IGNORECASE | re.MULTILINE)


def write_chart(song: Song) -> str:
    """The song's chart. The bars' slots must divide each bar evenly, as those of `parse_chart` do.

    Raises ValueError for a strum that has no name.
    """
    strum = next((name for name, note in STRUMS.items() if note == song.strum), None)
    if strum is None:
        raise ValueError(f"a strum of {song.strum} has no name")
    lines = [f"title: {song.title}"]
    if strum != "8ths":
        lines.append(f"strum: {strum}")
    if song.gap is not Gap.LIFTED:
        lines.append(f"gap: {song.gap}")
    if song.by is not None:
        lines.append(f"by: {song.by.isoformat()}")
    if song.key:
        lines.append(f"key: {song.key}")
    if song.capo:
        lines.append(f"capo: {song.capo}")
    lines += [f"# {note}" for note in song.notes]
    first = song.bars[0]
    metre = Metre(first.beats, first.beat_unit)
    state = _State(first.tempo_bpm, metre)
    lines[1:1] = [_tempo_line(first), _metre_line(metre)]
    for index, section in enumerate(song.sections):
        lines += state.section(section, song.sections[:index])
    return "\n".join(lines) + "\n"


def one_header_a_line(chart: str) -> str:
    """The text of a chart with the headers that share a line on lines of their own."""
    lines = []
    for line in chart.splitlines():
        said, mark, note = line.partition(" #")
        pieces = heads.parted(said.strip(), HEADERS)
        lines += [*pieces, *([mark.strip() + note] if mark else [])] if pieces else [line]
    return "\n".join(lines) + "\n"


def with_day(chart: str, day: date | None) -> str:
    """The text of a chart with another day on which the song has to be ready, None for none."""
    lines = one_header_a_line(chart).splitlines()
    new = [f"by: {day}"] if day else []
    for index, line in enumerate(lines):
        if found := _BY.match(line):
            note = [found["note"]] if found["note"] else []
            lines[index : index + 1] = ["  ".join([*new, *note])] if new or note else []
            break
    else:
        after_title = next((index + 1 for index, line in enumerate(lines) if TITLE_LINE.match(line)), 0)
        lines[after_title:after_title] = new
    return "\n".join(lines) + "\n"


def with_tempo_times(chart: str, share: float, usual_bpm: float) -> str:
    """The text of a chart with every tempo in it so much faster. usual_bpm: of a chart that names none."""
    chart = one_header_a_line(chart)
    if not _TEMPO_LINE.search(chart):
        chart = f"tempo: {usual_bpm:g}\n{chart}"

    def faster(line: re.Match[str]) -> str:
        return f"{line['head']}{round(float(line['bpm']) * share, 1):g}"

    return _TEMPO_LINE.sub(faster, chart)


def with_bars_a_chord(chart: str, bars: str) -> str:
    """The text of a chart with how many bars a chord lasts where it has no bar lines: "2", "1/2"."""
    rest = _BARS_LINE.sub("", one_header_a_line(chart))
    title = TITLE_LINE.search(rest)
    at = title.end() + 1 if title else 0
    return f"{rest[:at]}bars: {bars}\n{rest[at:]}"


@dataclass(slots=True)
class _State:
    """What a reader of the lines so far takes to hold."""

    tempo_bpm: float
    metre: Metre
    last_bar: Bar | None = None
    gap: Gap | None = None
    pattern: str = ""

    def section(self, section: Section, before: Sequence[Section]) -> list[str]:
        self.last_bar, self.gap, self.pattern = None, None, ""
        times = f" x{section.times}" if section.times > 1 else ""
        again = next((old for old in reversed(before) if old.name == section.name), None)
        bars = [] if again is not None and again.bars == section.bars else list(self._bars(section.bars))
        is_headed = before or section.name or times
        return ["", *((f"[{section.name}]{times}",) if is_headed else ()), *bars]

    def _bars(self, bars: Sequence[Bar]) -> Iterator[str]:
        line: list[str] = []
        for bar in bars:
            heads = list(self._heads(bar))
            if line and (heads or len(line) == BARS_A_LINE):
                yield _bar_line(line)
                line = []
            yield from heads
            line.append(self._bar(bar))
        yield _bar_line(line)

    def _heads(self, bar: Bar) -> Iterator[str]:
        metre = Metre(bar.beats, bar.beat_unit)
        if bar.tempo_bpm != self.tempo_bpm:
            yield _tempo_line(bar)
        if metre != self.metre:
            yield _metre_line(metre)
        if bar.gap != self.gap:
            yield f"gap: {bar.gap or AS_THE_SONG}"
        if bar.pattern != self.pattern:
            yield f"pattern: {pattern_words(bar.pattern)}"
        self.tempo_bpm, self.metre, self.gap, self.pattern = bar.tempo_bpm, metre, bar.gap, bar.pattern

    def _bar(self, bar: Bar) -> str:
        before, self.last_bar = self.last_bar, bar
        is_as_before = before is not None and (before.slots, before.beats, before.beat_unit) == (
            bar.slots,
            bar.beats,
            bar.beat_unit,
        )
        return AS_BEFORE if is_as_before else " ".join(map(slot_word, bar.slots))


def _tempo_line(bar: Bar) -> str:
    return f"tempo: {repr(float(bar.tempo_bpm)).removesuffix('.0')}"


def _metre_line(metre: Metre) -> str:
    return f"metre: {metre}"


def _bar_line(bars: Sequence[str]) -> str:
    return f"| {' | '.join(bars)} |"
