"""Songs and what they ask for: `song add | list | show | by | remove | ready`, and `plan`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import data_folder, player_of
from pedaltrainer.commands.parser import Commands, add_data_and_json
from pedaltrainer.commands.printing import say_or_json, terminal
from pedaltrainer.errors import InputError

if TYPE_CHECKING:
    from pedaltrainer.songs.song import Song
    from pedaltrainer.telling.songs import Ready

_SONG = """\
Your songs: the trainer works out every change in them and how long the hand has for it."""

_ADD = """\
Keep a song: a bar chart in plain text ("| Am / / G | F . E7 . |"; docs/guide/songs.md has the
whole of it), or MusicXML (.musicxml, .xml, .mxl)."""

_READY = """\
For each change of a song, or of all your songs, hardest first: how often it comes, the
time it leaves in the air, the tempo of the drill that leaves the same, the clean tempo of
today with its interval (nine chances in ten), the chance that it is ready, and what holds
it back or what to measure to know."""

_PLAN = """\
What `pedaltrainer` would practise now: each drill, how long, how, and why."""

_SONG_HELP = "its title, or a part of it"
NO_DATE = "none"
TO_SEE_ALL = "To see how ready you are for them: pedaltrainer song ready"
TO_SEE_THE_OTHERS = "To see the others: pedaltrainer song list"


def add_to(commands: Commands) -> None:
    song = commands.add_group("song", "your songs, and how ready you are for them", _SONG)
    add = song.add("add", _add, "keep a song, from a chart or MusicXML", _ADD)
    add.add_argument("file", type=Path, metavar="FILE", help="a chart in plain text, or MusicXML")
    add.add_argument("--by", type=_day, metavar="DATE", help='when it must be ready, such as "12 December"')
    add.add_argument("--replace", action="store_true", help="in place of the song of the same title")
    add_data_and_json(add)

    add_data_and_json(song.add("list", _list, "your songs"))
    show = song.add("show", _show, "a song's chart, with the air time of each change")
    by = song.add("by", _by, "set the day on which a song must be ready")
    remove = song.add("remove", _remove, "take a song away; its takes stay in the log")
    for one in (show, by, remove):
        one.add_argument("song", metavar="SONG", help=_SONG_HELP)
    show.add_argument("--fingers", action="store_true", help="with the fingerings that make it easiest")
    by.add_argument("day", nargs="+", metavar="DATE", help='such as 12 December, or "none" for no day')
    for one in (show, by, remove):
        add_data_and_json(one)

    ready = song.add("ready", _ready, "each change hardest first: how ready, and what holds it back", _READY)
    ready.add_argument("song", nargs="?", metavar="SONG", help=f"{_SONG_HELP}; without it, all of them")
    ready.add_argument("--picture", type=Path, metavar="FILE", help="draw the song: .png, .svg or .pdf")
    _add_player(ready)

    plan = commands.add("plan", _plan, "today's practice, and the reason of each line", _PLAN)
    plan.add_argument("--minutes", type=read.number(0.5, 600), metavar="M", help="how long you have (20)")
    _add_player(plan)


def _add_player(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--player", type=read.name, metavar="NAME", help="who is playing (your login name)")
    add_data_and_json(parser)


def _day(words: str) -> date:
    from pedaltrainer.songs.dates import parse_day

    day = parse_day(words, date.today())
    if day is None:
        raise argparse.ArgumentTypeError(f"“{words}” is no day; write one such as 12 December or 2026-12-12.")
    return day


def _about(title: str) -> str:
    return f'To see what it asks of you: pedaltrainer song ready "{title}"'


# --- the shelf --------------------------------------------------------------------------


def _add(asked: argparse.Namespace) -> int:
    from pedaltrainer.songs import shelf

    song = shelf.add(data_folder(asked), asked.file, date.today(), asked.by, asked.replace)
    return _said_of(song, asked, f"Kept {song.title}", song.notes)


def _by(asked: argparse.Namespace) -> int:
    from pedaltrainer.songs import shelf

    folder, day = data_folder(asked), _day_or_none(" ".join(asked.day))
    song = shelf.set_day(folder, _find(folder, asked.song).title, day)
    return _said_of(song, asked, song.title if song.by else f"{song.title} has no date now")


def _find(folder: Path, words: str) -> Song:
    """The song that is meant. Raises InputError; where its file is broken, with what is wrong in it."""
    from pedaltrainer.songs import shelf

    try:
        return shelf.find(folder, words)
    except InputError:
        for trouble in shelf.look(folder).troubles:
            if all(word in trouble.casefold() for word in words.casefold().split()):
                raise InputError(trouble) from None
        raise


def _songs(folder: Path) -> tuple[Song, ...]:
    """All songs; a file that cannot be read is told beside them and hinders none."""
    from pedaltrainer.songs import shelf

    there = shelf.look(folder)
    for trouble in there.troubles:
        print(f"pedaltrainer: {trouble}", file=sys.stderr)
    return there.songs


def _said_of(song: Song, asked: argparse.Namespace, what: str, notes: Sequence[str] = ()) -> int:
    """Say what became of a song, when it must be ready, and what to do next."""
    from pedaltrainer.telling import songs_json
    from pedaltrainer.telling.songs import by_words, of_what_words

    by = f", {by_words(song.by, date.today())}" if song.by else ""
    lines = [f"{what}{by}: {of_what_words(song)}.", *notes]
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
    from pedaltrainer.songs import shelf
    from pedaltrainer.telling import songs_json

    folder = data_folder(asked)
    song = shelf.remove(folder, _find(folder, asked.song).title)
    told = f"Removed {song.title}; what you played of it stays in the log.\n\n{TO_SEE_THE_OTHERS}"
    say_or_json(told, songs_json.song(song), asked.json)
    return 0


def _list(asked: argparse.Namespace) -> int:
    from pedaltrainer.telling import charts, songs_json

    songs = _songs(data_folder(asked))
    table = charts.songs_table(songs, date.today(), terminal().columns)
    told = f"{table}\n\n{TO_SEE_ALL}" if songs else table
    say_or_json(told, [songs_json.song(song) for song in songs], asked.json)
    return 0


def _show(asked: argparse.Namespace) -> int:
    from pedaltrainer.telling import charts, songs_json

    folder = data_folder(asked)
    song = _find(folder, asked.song)
    told, plain = charts.chart_report(song, date.today(), terminal()), songs_json.chart(song)
    if asked.fingers:
        report, route = _fingers(song, folder)
        told += f"\n\n{report}"
        plain["route"] = route
    say_or_json(f"{told}\n\n{_about(song.title)}", plain, asked.json)
    return 0


def _fingers(song: Song, folder: Path) -> tuple[str, dict[str, Any]]:
    """The easiest fingerings of the whole song, on the neck of the settings: in words and as plain data."""
    from pedaltrainer.neck import findings
    from pedaltrainer.neck.chords.tuning import parse_tuning
    from pedaltrainer.neck.lookup import Setup
    from pedaltrainer.records import preferences as settings
    from pedaltrainer.songs import shipped
    from pedaltrainer.songs.changes import changes_of
    from pedaltrainer.telling import neck as reports
    from pedaltrainer.telling import neck_json

    kept, book = settings.load(folder), shipped.shape_book(folder)
    changes = changes_of(song)
    if not changes:
        raise InputError(f"{song.title} has no changes to find fingerings for; leave out --fingers.")
    chords = " ".join((changes[0].here, *(change.there for change in changes)))
    route = findings.find_route(chords, Setup(parse_tuning(kept.tuning)), book, repeats=False)
    return reports.route_report(route, book, terminal(kept.left_handed)), neck_json.plan(route)


# --- how ready, and what to do ----------------------------------------------------------


def _ready(asked: argparse.Namespace) -> int:
    from pedaltrainer.paper.page import check_kind
    from pedaltrainer.telling import songs_json
    from pedaltrainer.telling.songs import ready_report

    if asked.picture is not None:
        check_kind(asked.picture)
    folder = data_folder(asked)
    songs = (_find(folder, asked.song),) if asked.song else _songs(folder)
    ready = _readiness(songs, asked)
    if asked.picture is not None:
        _draw(ready, asked.picture)
    told = ready_report(ready, date.today(), terminal())
    if asked.picture is not None:
        told += f"\n\nDrawn in {asked.picture}."
    say_or_json(told, songs_json.ready(ready), asked.json)
    return 0


def _readiness(songs: Sequence[Song], asked: argparse.Namespace) -> Ready:
    from pedaltrainer.history.known import evidence
    from pedaltrainer.practice.coach.limits import ratio_of
    from pedaltrainer.practice.coach.readiness import needs_of, song_standing, standings_of
    from pedaltrainer.telling.songs import Ready

    if not songs:
        return Ready((), ())
    known = evidence(data_folder(asked), player_of(asked), datetime.now().astimezone())
    needs = needs_of(songs)
    ratio = ratio_of([need.drill for need in needs], known)
    return Ready(
        tuple((song, song_standing(song, known, ratio)) for song in songs), standings_of(needs, known, ratio)
    )


def _draw(ready: Ready, path: Path) -> None:
    from pedaltrainer.paper.strip import save_strip
    from pedaltrainer.telling.strips import strip_of

    if len(ready.songs) != 1:
        raise InputError(f"A picture shows one song and here are {len(ready.songs)}; name one by its title.")
    ((song, standing),) = ready.songs
    save_strip(path, strip_of(song, standing))


def _plan(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands.packs import packs_in_use
    from pedaltrainer.history import today
    from pedaltrainer.neck.chords.tuning import parse_tuning
    from pedaltrainer.records import preferences as settings
    from pedaltrainer.songs import shipped
    from pedaltrainer.telling import songs_json
    from pedaltrainer.telling.packs import notes_report
    from pedaltrainer.telling.plan import plan_report

    folder, now = data_folder(asked), datetime.now().astimezone()
    packs = packs_in_use(folder)
    usual = today.usual_minutes(packs)
    minutes = asked.minutes or usual
    songs = _songs(folder)
    player = player_of(asked)
    shapes = shipped.shape_book(folder, parse_tuning(settings.load(folder).tuning))
    plan = today.plan_for(songs, folder, player, minutes, now, shapes, packs).plan
    begin = "pedaltrainer" + (f" --minutes {minutes:g}" if minutes != usual else "")
    report, notes = plan_report(plan, songs, now.date(), terminal()), notes_report(packs, terminal())
    told = "\n\n".join(part for part in (report, notes, f"To begin: {begin}") if part)
    say_or_json(told, songs_json.plan(plan), asked.json)
    return 0
