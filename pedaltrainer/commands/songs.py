"""Songs: `song add | list | show | by | remove`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.neck import FREE_HELP
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json, terminal, warn
from pedaltrainer.errors import InputError
from pedaltrainer.neck import findings
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.neck.lookup import Setup
from pedaltrainer.records import preferences
from pedaltrainer.songs import shelf
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.dates import parse_day
from pedaltrainer.songs.heads import BARS_A_CHORD
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart
from pedaltrainer.telling import charts, neck_json, songs_json
from pedaltrainer.telling import neck as reports
from pedaltrainer.telling.songs import by_words, of_what_words

_SONG = """\
Your songs: the trainer works out every change in them and how long the hand has for it."""

_ADD = """\
Keep a song: a chart in plain text, as you have it: bars ("| Am / / G | F . E7 . |"), chords
above words or among them (docs/guide/songs.md has the whole of it), or MusicXML (.musicxml,
.xml, .mxl)."""

SONG_HELP = "its title, or a part of it"
NO_DATE = "none"
TO_SEE_ALL = "To see how ready you are for them: pedaltrainer song ready"
TO_SEE_THE_OTHERS = "To see the others: pedaltrainer song list"


def song(parser: Parser) -> None:
    parser.description = _SONG


def add(parser: Parser) -> None:
    parser.runs(_add, _ADD)
    add = parser.add_argument
    add("file", type=Path, metavar="FILE", help="a chart in plain text, or MusicXML")
    add("--by", type=_day, metavar="DATE", help='when it must be ready, such as "12 December"')
    add("--bars", choices=BARS_A_CHORD, help="bars a chord lasts, in a chart without bar lines (1)")
    add("--replace", action="store_true", help="in place of the song of the same title")
    add_data_and_json(parser)


def listed(parser: Parser) -> None:
    parser.runs(_list)
    add_data_and_json(parser)


def show(parser: Parser) -> None:
    parser.runs(_show)
    parser.add_argument("song", metavar="SONG", help=SONG_HELP)
    parser.add_argument(
        "--chart", action="store_true", help="the song as a chart, in this program's own form"
    )
    parser.add_argument("--fingers", action="store_true", help="with the fingerings that make it easiest")
    parser.add_argument("--free", action="store_true", help=f"with --fingers: {FREE_HELP}")
    add_data_and_json(parser)


def by(parser: Parser) -> None:
    parser.runs(_by)
    parser.add_argument("song", metavar="SONG", help=SONG_HELP)
    parser.add_argument("day", nargs="+", metavar="DATE", help='such as 12 December, or "none" for no day')
    add_data_and_json(parser)


def remove(parser: Parser) -> None:
    parser.runs(_remove)
    parser.add_argument("song", metavar="SONG", help=SONG_HELP)
    add_data_and_json(parser)


def _day(words: str) -> date:
    day = parse_day(words, date.today())
    if day is None:
        raise argparse.ArgumentTypeError(f"“{words}” is no day; write one such as 12 December or 2026-12-12.")
    return day


def _about(title: str) -> str:
    return f'To see what it asks of you: pedaltrainer song ready "{title}"'


# --- the shelf --------------------------------------------------------------------------


def _add(asked: argparse.Namespace) -> int:
    song = shelf.add(data_folder(asked), asked.file, date.today(), asked.by, asked.replace, asked.bars)
    return _said_of(song, asked, f"Kept {song.title}", (*song.notes, *song.told))


def _by(asked: argparse.Namespace) -> int:
    folder, day = data_folder(asked), _day_or_none(" ".join(asked.day))
    song = shelf.set_day(folder, asked.song, day)
    return _said_of(song, asked, song.title if song.by else f"{song.title} has no date now")


def _said_of(song: Song, asked: argparse.Namespace, what: str, notes: Sequence[str] = ()) -> int:
    """Say what became of a song, when it must be ready, and what to do next."""
    ready_by = f", {by_words(song.by, date.today())}" if song.by else ""
    lines = [f"{what}{ready_by}: {of_what_words(song)}.", *notes]
    told = "\n".join([*map(terminal().wrapped, lines), "", _about(song.title)])
    say_or_json(told, songs_json.song(song), asked.json)
    return 0


def _day_or_none(words: str) -> date | None:
    if words == NO_DATE:
        return None
    try:
        return _day(words)
    except argparse.ArgumentTypeError as off:
        raise InputError(str(off)) from None


def _remove(asked: argparse.Namespace) -> int:
    song = shelf.remove(data_folder(asked), asked.song)
    told = f"Removed {song.title}; what you played of it stays in the log.\n\n{TO_SEE_THE_OTHERS}"
    say_or_json(told, songs_json.song(song), asked.json)
    return 0


def _list(asked: argparse.Namespace) -> int:
    there = shelf.look(data_folder(asked))
    warn(there.troubles)
    table = charts.songs_table(there.songs, date.today(), terminal().columns)
    told = f"{table}\n\n{TO_SEE_ALL}" if there.songs else table
    say_or_json(told, [songs_json.song(song) for song in there.songs], asked.json)
    return 0


def _show(asked: argparse.Namespace) -> int:
    folder = data_folder(asked)
    song = shelf.find(folder, asked.song)
    if asked.free and not asked.fingers:
        raise InputError("--free is about the fingers of a song; give --fingers with it.")
    if asked.chart:
        written = write_chart(song)
        say_or_json(written.rstrip("\n"), {"title": song.title, "chart": written}, asked.json)
        return 0
    told, plain = charts.chart_report(song, date.today(), terminal()), songs_json.chart(song)
    if asked.fingers:
        report, route = _fingers(song, folder, asked.free)
        told += f"\n\n{report}"
        plain["route"] = route
    say_or_json(f"{told}\n\n{_about(song.title)}", plain, asked.json)
    return 0


def _fingers(song: Song, folder: Path, free: bool) -> tuple[str, dict[str, Any]]:
    """The easiest fingerings of the whole song, on the neck of the settings: in words and as plain data."""
    kept, book = preferences.load(folder), shape_book(folder)
    changes = changes_of(song)
    if not changes:
        raise InputError(f"{song.title} has no changes to find fingerings for; leave out --fingers.")
    chords = " ".join((changes[0].here, *(change.there for change in changes)))
    route = findings.find_route(chords, Setup(parse_tuning(kept.tuning)), book, repeats=False, free=free)
    return reports.route_report(route, book, terminal(kept.left_handed)), neck_json.plan(route)
