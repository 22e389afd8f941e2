"""The record on a page: `report`, for a player or for a teacher."""

from __future__ import annotations

import argparse
import sys
from datetime import datetime
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data, data_folder, player_of
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.errors import InputError
from pedaltrainer.history import many_players, one_player
from pedaltrainer.history.one_player import Source
from pedaltrainer.packs import shelf as pack_shelf
from pedaltrainer.page.content import Page
from pedaltrainer.page.html import page
from pedaltrainer.songs import shelf
from pedaltrainer.system.files import OTHER_FILE, write_whole
from pedaltrainer.telling.report import player_page
from pedaltrainer.telling.report_players import players_page

USUAL_DAYS = 90
KINDS = (".html", ".htm")
_REPORT = """\
The record as one HTML page that opens in any browser and prints well: what rose and what
did not, each drill's clean tempos with their intervals, minutes by day, how ready the songs
were week by week, what holds back, and the rests taken. Nothing in it is loaded from
anywhere, so it can be sent as it is. --players makes a teacher's page of all pupils."""


def report(parser: Parser) -> None:
    parser.runs(_report, _REPORT)
    add = parser.add_argument
    add("--out", type=Path, metavar="FILE", help="where to (report.html, or players.html)")
    whose = parser.add_mutually_exclusive_group()
    whose.add_argument("--player", type=read.name, metavar="NAME", help="whose report (your login name)")
    whose.add_argument(
        "--players", nargs="*", type=Path, metavar="LOG",
        help="a teacher's page of everybody in the log, or in these logs (files or folders)",
    )  # fmt: skip
    add(
        "--days", type=read.whole(7, 36_500), default=USUAL_DAYS, metavar="N",
        help=f"from the last N days ({USUAL_DAYS})",
    )  # fmt: skip
    add_data(parser)


def _report(asked: argparse.Namespace) -> int:
    teachers = asked.players is not None
    out = asked.out or Path("players.html" if teachers else "report.html")
    if out.suffix.lower() not in KINDS:
        raise InputError(f"{out} is no page; name a file that ends in .html.")
    content = _of_all(asked) if teachers else _of_one(asked)
    write_whole(out, page(content), mend=OTHER_FILE)
    print(f"Written: {out}")
    return 0


def _of_one(asked: argparse.Namespace) -> Page:
    source = _source(data_folder(asked), data_folder(asked))
    told = one_player.tell(source, player_of(asked), _now(), asked.days, with_bar)
    return player_page(told)


def _of_all(asked: argparse.Namespace) -> Page:
    paths = dict.fromkeys(path.resolve() for path in asked.players or [data_folder(asked)])
    sources, now = [_source(path, data_folder(asked)) for path in paths], _now()
    found = many_players.pupils(sources, now, asked.days, with_bar)
    return players_page(found, now.date(), asked.days)


def _now() -> datetime:
    return datetime.now().astimezone()


def _source(path: Path, own: Path) -> Source:
    """A log with the songs and packs of its folder; of a file alone, those of our own folder.

    One that cannot be read is told and hinders nothing.
    """
    folder = own if path.is_file() else path
    there = shelf.look(folder)
    for trouble in dict.fromkeys((*there.troubles, *pack_shelf.troubles(folder))):
        print(f"pedaltrainer: {trouble}", file=sys.stderr)
    return Source(path.name, path, there.songs, pack_shelf.in_use(folder))
