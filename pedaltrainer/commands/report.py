"""The record on a page: `report`, for a player or for a teacher."""

from __future__ import annotations

import argparse
import os
from datetime import datetime
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data, add_force, data_folder, refuse_written_over
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, warn
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.errors import InputError
from pedaltrainer.history import many_players, one_player
from pedaltrainer.history.desk import Desk
from pedaltrainer.page.content import Page
from pedaltrainer.page.html import page
from pedaltrainer.system.files import OTHER_FILE, write_whole
from pedaltrainer.system.reading import There, what_is_at
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
    add_force(parser)
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
    refuse_written_over(out, asked)
    content = _of_all(asked) if teachers else _of_one(asked)
    write_whole(out, page(content), mend=OTHER_FILE)
    say(f"Written: {out}")
    return 0


def _of_one(asked: argparse.Namespace) -> Page:
    desk = desk_of(asked)
    warn(desk.troubles)
    told = one_player.tell(desk, _now(), asked.days, with_bar)
    return player_page(told)


def _of_all(asked: argparse.Namespace) -> Page:
    own, now = data_folder(asked), _now()
    paths = dict.fromkeys(Path(os.path.realpath(path)) for path in asked.players or [own])
    # Beside a log that is a file alone, the songs and packs are our own.
    desks = [Desk(own if what_is_at(path) is There.FILE else path, "", log_at=path) for path in paths]
    for desk in desks:
        warn(desk.troubles)
    return players_page(many_players.pupils(desks, now, asked.days, with_bar), now.date(), asked.days)


def _now() -> datetime:
    return datetime.now().astimezone()
