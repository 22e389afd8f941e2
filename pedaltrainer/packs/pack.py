"""A pack: what a teacher hands to a pupil, in one TOML file that can be written by hand. Pure.

`docs/guide/teaching.md` is its description, for teachers. `read_pack` tells every trouble at once, each with
its line; what it reads, `write_pack` writes so that it is read as the same pack again.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import read_shape
from pedaltrainer.neck.chords.symbols import parse_chord
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.packs.fields import (
    LONGEST_LINE,
    FieldRule,
    TableReader,
    number_of,
    tables_in,
    text_of,
    whole_of,
)
from pedaltrainer.packs.places import Places
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.dates import parse_day
from pedaltrainer.songs.heads import LEAST_BPM, MOST_BPM
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import TITLE_LINE, with_day
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

LONGEST_PACK = 2_000_000
"""Characters."""
MOST_ENTRIES = 200
LONGEST_NOTE = 10_000
MOST_MINUTES = 600

Beside = Callable[[str], str]
"""From the name of a file beside the pack to the chart in it; raises InputError."""


@dataclass(frozen=True, slots=True)
class PackDrill:
    """A drill to practise. target_bpm: the clean tempo to reach; None for practice without one."""

    drill: Drill
    target_bpm: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class PackSong:
    """A song, with its chart as the teacher wrote it: its title and date are in it."""

    song: Song
    chart: str = field(compare=False)


@dataclass(frozen=True, slots=True)
class Pack:
    """minutes: of practice a day; None when the teacher does not say. shapes: by chord symbol."""

    title: str
    teacher: str = ""
    pupil: str = ""
    notes: str = ""
    minutes: float | None = None
    drills: tuple[PackDrill, ...] = ()
    songs: tuple[PackSong, ...] = ()
    shapes: Mapping[str, Shape] = field(default_factory=dict)


class Read(NamedTuple):
    """What was read: the pack, or None and a sentence for each trouble in its file."""

    pack: Pack | None
    troubles: tuple[str, ...]


def no_files(name: str) -> str:
    """Stands for `Beside` where a pack comes alone."""
    raise InputError(f"“{name}” is not beside this pack; write its chart into the pack")


def read_pack(text: str, name: str, beside: Beside = no_files) -> Read:
    """Read a pack. name: what to call it in a message. Never raises for what may be in a file."""
    if len(text) > LONGEST_PACK:
        return Read(None, (f"{name} has more than {LONGEST_PACK:,} characters; is it a pack?",))
    try:
        found = tables_in(text, name)
    except InputError as trouble:
        return Read(None, (str(trouble),))
    reader = _PackReader(name, Places(text), beside=beside)
    pack = reader.pack(found)
    return Read(None if reader.troubles else pack, tuple(reader.troubles))


# --- writing ----------------------------------------------------------------------------


def write_pack(pack: Pack) -> str:
    """The file of a pack, charts and all."""
    heads = [("title", pack.title), ("teacher", pack.teacher), ("for", pack.pupil), ("notes", pack.notes)]
    lines = [f"{name} = {_toml(value)}" for name, value in heads if value]
    if pack.minutes is not None:
        lines.append(f"minutes = {pack.minutes:g}")
    for one in pack.drills:
        lines += ["", "[[drill]]", f"words = {_toml(one.drill.words)}"]
        if one.target_bpm is not None:
            lines.append(f"target = {one.target_bpm:g}")
        if one.note:
            lines.append(f"note = {_toml(one.note)}")
    for song in pack.songs:
        lines += ["", "[[song]]", f"chart = {_toml(song.chart)}"]
    for chord, shape in pack.shapes.items():
        lines += ["", f"[shapes.{json.dumps(chord)}]", *shape_lines(shape)]
    return "\n".join(lines) + "\n"


def shape_lines(shape: Shape) -> tuple[str, str]:
    """A shape as the shape files have it."""
    frets = " ".join("x" if fret is None else str(fret) for fret in shape.frets)
    return f'frets = "{frets}"', f'fingers = "{" ".join(map(str, shape.fingers))}"'


def _toml(text: str) -> str:
    """A basic string; one of several lines, where there are several, so that it can be read."""
    if "\n" not in text:
        # A TOML string takes the escapes of a JSON one; DEL alone is escaped in the one and not the other.
        return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
    return '"""\n' + "\n".join(_toml(line)[1:-1] for line in text.split("\n")) + '"""'


# --- reading ----------------------------------------------------------------------------


_LISTS = FieldRule(lambda value: isinstance(value, list) and len(value) <= MOST_ENTRIES, "")
_TABLE = FieldRule(lambda value: isinstance(value, dict), "a table of chords, as in [shapes.G]")
_DAY = FieldRule(lambda value: _day(value) is not None, "a day such as 2026-12-12")
_LINE, _NOTE = text_of(LONGEST_LINE), text_of(LONGEST_NOTE, lines=True)

_PACK: Mapping[str, FieldRule] = {
    "title": _LINE,
    "teacher": _LINE,
    "for": _LINE,
    "notes": _NOTE,
    "minutes": number_of(1, MOST_MINUTES),
    "drill": _LISTS._replace(must_be=f"written as [[drill]], {MOST_ENTRIES} times at most"),
    "song": _LISTS._replace(must_be=f"written as [[song]], {MOST_ENTRIES} times at most"),
    "shapes": _TABLE,
}
_DRILL: Mapping[str, FieldRule] = {
    "words": text_of(2_000),
    "target": number_of(SLOWEST_BPM, FASTEST_BPM),
    "beats": whole_of(1, 16),
    "note": _NOTE,
}
_SONG: Mapping[str, FieldRule] = {
    "title": _LINE,
    "chart": text_of(LONGEST_PACK, lines=True),
    "file": text_of(200),
    "tempo": number_of(LEAST_BPM, MOST_BPM),
    "by": _DAY,
}


def _day(value: Any) -> date | None:
    if isinstance(value, str):
        return parse_day(value)
    return value if type(value) is date else None


@dataclass(slots=True)
class _PackReader(TableReader):
    beside: Beside = no_files

    def pack(self, found: Mapping[str, Any]) -> Pack:
        values = self.checked(found, _PACK, ())
        if not str(found.get("title", "")).strip():
            self.say(1, 'the pack needs a title; write one such as title = "Week 3"')
        minutes = values.get("minutes")
        return Pack(
            title=" ".join(values.get("title", "").split()),
            teacher=values.get("teacher", "").strip(),
            pupil=values.get("for", "").strip(),
            notes=values.get("notes", "").strip(),
            minutes=None if minutes is None else float(minutes),
            drills=tuple(self._each(values.get("drill", ()), "drill", self._drill)),
            songs=self._songs(values.get("song", ())),
            shapes=dict(self._shapes(values.get("shapes", {}))),
        )

    def _each(self, entries: Any, kind: str, read: Callable[[int, dict[str, Any]], Any]) -> Iterator[Any]:
        for number, entry in enumerate(entries):
            if not isinstance(entry, dict):
                self.say(self.places.line(kind), f"each {kind} is a table; write it below [[{kind}]]")
                continue
            one = read(number, entry)
            if one is not None:
                yield one

    def _drill(self, number: int, entry: dict[str, Any]) -> PackDrill | None:
        line = self.places.line("drill", number, "words")
        values = self.checked(entry, _DRILL, ("drill", number))
        if "words" not in values:
            if "words" not in entry:
                self.say(line, 'the drill needs its words, such as words = "C F"')
            return None
        try:
            drill = parse_drill(values["words"], values.get("beats", 1))
        except InputError as error:
            self.say(line, str(error))
            return None
        target = values.get("target")
        return PackDrill(drill, None if target is None else float(target), values.get("note", "").strip())

    def _songs(self, entries: Any) -> tuple[PackSong, ...]:
        songs = tuple(self._each(entries, "song", self._song))
        titles = [one.song.title.casefold() for one in songs]
        for number, title in enumerate(titles):
            if title in titles[:number]:
                line = self.places.line("song", number)
                self.say(line, f"there are two songs “{songs[number].song.title}”; give one another title")
        return songs

    def _song(self, number: int, entry: dict[str, Any]) -> PackSong | None:
        where = ("song", number)
        values = self.checked(entry, _SONG, where)
        if len({"chart", "file"} & entry.keys()) != 1:
            self.say(
                self.places.line(*where), "the song needs either its chart or the name of a file with one"
            )
            return None
        if not {"chart", "file"} & values.keys():
            return None
        try:
            if "chart" in values:
                chart, name = values["chart"], self.name
                line_breaks = "\n" * (self.places.first_line_of_text(*where, "chart") - 1)
            else:
                chart, name, line_breaks = self.beside(values["file"]), values["file"], ""
            parse_chart(line_breaks + chart, name)
            chart = _completed(chart, values)
            return PackSong(parse_chart(chart, values.get("file", "Song")), chart)
        except InputError as error:
            if str(error).startswith(f"{self.name}, "):
                self.troubles.append(str(error))
            else:
                self.say(self.places.line(*where, "chart" if "chart" in values else "file"), str(error))
            return None

    def _shapes(self, tables: Mapping[str, Any]) -> Iterator[tuple[str, Shape]]:
        for chord, table in tables.items():
            line = self.places.line("shapes", chord)
            try:
                yield str(parse_chord(chord)), read_shape(Path(f"{self.name}, line {line}"), chord, table)
            except InputError as error:
                said = str(error).removeprefix(f"{self.name}, line {line}: ")
                self.say(line, said)


_TEMPO = re.compile(r"^\s*tempo\s*:.*$", re.IGNORECASE | re.MULTILINE)


def _completed(chart: str, values: Mapping[str, Any]) -> str:
    """The chart with what the pack says of the song beside it. Raises InputError where the two do not fit."""
    title = " ".join(values.get("title", "").split())
    if title:
        chart = f"title: {title}\n" + TITLE_LINE.sub("", chart, count=1).lstrip("\n")
    elif not TITLE_LINE.search(chart):
        raise InputError('the song has no title; write a line such as title = "Low Water" above its chart')
    tempo = values.get("tempo")
    if tempo is not None:
        if len(_TEMPO.findall(chart)) > 1:
            raise InputError("the chart changes its tempo; write the tempos there, and leave out tempo here")
        chart = _TEMPO.sub("", chart)
        chart = TITLE_LINE.sub(lambda found: f"{found[0].strip()}\ntempo: {tempo:g}", chart, count=1)
    day = _day(values.get("by"))
    return chart if day is None else with_day(chart, day)
