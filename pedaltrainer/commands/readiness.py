"""What songs ask for: `song ready`, and `plan` for today."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, add_force, add_player, refuse_written_over
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json, terminal, warn
from pedaltrainer.commands.songs import SONG_HELP
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.errors import InputError
from pedaltrainer.history import today
from pedaltrainer.history.breaks import breaks_of
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence
from pedaltrainer.paper.page import check_kind
from pedaltrainer.paper.strip import save_strip
from pedaltrainer.practice.coach.limits import ratio_of
from pedaltrainer.practice.coach.readiness import needs_of, song_standing, standings_of
from pedaltrainer.showing.plan_words import next_words
from pedaltrainer.songs import shelf
from pedaltrainer.songs.song import Song
from pedaltrainer.telling import songs_json
from pedaltrainer.telling.breaks import breaks_json, breaks_report, breaks_strip
from pedaltrainer.telling.packs import notes_report
from pedaltrainer.telling.plan import plan_report
from pedaltrainer.telling.songs import Ready, ready_report
from pedaltrainer.telling.strips import strip_of

_READY = """\
For each change of a song, or of all your songs, hardest first: how often it comes, the
time it leaves in the air, the tempo of the drill that leaves the same, the clean tempo of
today with its interval (nine chances in ten), the chance that it is ready, and what holds
it back or what to measure to know."""

_PLAN = """\
What `pedaltrainer` would practise now: each drill, how long, how, and why."""


def ready(parser: Parser) -> None:
    parser.runs(_ready, _READY)
    add = parser.add_argument
    add("song", nargs="?", metavar="SONG", help=f"{SONG_HELP}; without it, all of them")
    add("--picture", type=Path, metavar="FILE", help="draw the song: .png, .svg or .pdf")
    add_force(parser)
    add_player(parser, "who is playing (your login name)")
    add_data_and_json(parser)


_BREAKS = """\
Where a song breaks: the changes that were flagged in its last ten run-throughs, the most
often flagged first."""


def breaks(parser: Parser) -> None:
    parser.runs(_breaks, _BREAKS)
    add = parser.add_argument
    add("song", metavar="SONG", help=SONG_HELP)
    add("--picture", type=Path, metavar="FILE", help="draw the song: .png, .svg or .pdf")
    add_force(parser)
    add_player(parser, "who is playing (your login name)")
    add_data_and_json(parser)


def _breaks(asked: argparse.Namespace) -> int:
    if asked.picture is not None:
        check_kind(asked.picture)
    refuse_written_over(asked.picture, asked)
    desk = desk_of(asked)
    song = shelf.find(desk.folder, asked.song)
    found = breaks_of(desk, song)
    told = breaks_report(song, found, terminal())
    if asked.picture is not None:
        save_strip(asked.picture, breaks_strip(song, found))
        told += f"\n\nDrawn in {asked.picture}."
    say_or_json(told, breaks_json(song, found), asked.json)
    return 0


def plan(parser: Parser) -> None:
    parser.runs(_plan, _PLAN)
    add = parser.add_argument
    add("--minutes", type=read.number(0.5, 600), metavar="M", help="how long you have (20)")
    add_player(parser, "who is playing (your login name)")
    add_data_and_json(parser)


def _ready(asked: argparse.Namespace) -> int:
    if asked.picture is not None:
        check_kind(asked.picture)
    refuse_written_over(asked.picture, asked)
    desk = desk_of(asked)
    if asked.song:
        ready = _readiness((shelf.find(desk.folder, asked.song),), desk)
    else:
        warn(desk.shelf.troubles)
        ready = _readiness(desk.songs, desk)
    if asked.picture is not None:
        _draw(ready, asked.picture)
    told = ready_report(ready, date.today(), terminal())
    if asked.picture is not None:
        told += f"\n\nDrawn in {asked.picture}."
    say_or_json(told, songs_json.ready(ready), asked.json)
    return 0


def _readiness(songs: Sequence[Song], desk: Desk) -> Ready:
    if not songs:
        return Ready((), ())
    now = datetime.now().astimezone()
    known = evidence(desk, now)
    needs = needs_of(songs)
    ratio = ratio_of([need.drill for need in needs], known)
    return Ready(
        tuple((song, song_standing(song, known, ratio)) for song in songs),
        standings_of(needs, known, ratio),
        today.next_up(desk, known, now),
    )


def _draw(ready: Ready, path: Path) -> None:
    if len(ready.songs) != 1:
        raise InputError(f"A picture shows one song and here are {len(ready.songs)}; name one by its title.")
    ((song, standing),) = ready.songs
    save_strip(path, strip_of(song, standing))


def _plan(asked: argparse.Namespace) -> int:
    desk, now = desk_of(asked), datetime.now().astimezone()
    warn(desk.troubles)
    usual = today.usual_minutes(desk.packs)
    minutes = asked.minutes or usual
    plan = today.plan_for(desk, minutes, now)
    begin = "pedaltrainer" + (f" --minutes {minutes:g}" if minutes != usual else "")
    up = plan.next_up
    first = f"{next_words(up.drill, up.target_bpm)} " if up else ""
    report = plan_report(plan, desk.songs, now.date(), terminal())
    notes = notes_report(desk.packs, terminal())
    told = "\n\n".join(part for part in (report, notes, first + f"To begin: {begin}") if part)
    say_or_json(told, songs_json.plan(plan), asked.json)
    return 0
