"""Who plays here: `player list | rename | archive | return | erase`."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict
from datetime import UTC, datetime

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json
from pedaltrainer.errors import InputError
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import parse_utc
from pedaltrainer.records.upkeep import players
from pedaltrainer.records.upkeep.players import Player
from pedaltrainer.system.amounts import counted
from pedaltrainer.system.terminal import put

_ERASE = """\
Remove everything about a player from this folder's log and its copies, so that no byte
of it is left. This cannot be undone. The name has to be typed twice, or given with
--yes-erase."""


def listed(parser: Parser) -> None:
    parser.runs(_list)
    parser.add_argument("--all", action="store_true", help="with the archived ones")
    add_data_and_json(parser)


def rename(parser: Parser) -> None:
    parser.runs(_rename)
    add_name(parser)
    add = parser.add_argument
    add("new_name", type=read.name, metavar="NEW", help="the name to show from now on")
    add("--join", action="store_true", help="NEW is in the log too, and is the same person")
    add_data_and_json(parser)


def archive(parser: Parser) -> None:
    parser.runs(_archive)
    add_name(parser)
    add_data_and_json(parser)


def back(parser: Parser) -> None:
    parser.runs(_return)
    add_name(parser)
    add_data_and_json(parser)


def erase(parser: Parser) -> None:
    parser.runs(_erase, _ERASE)
    add_name(parser)
    parser.add_argument("--yes-erase", metavar="NAME", help="the name once more, instead of typing it twice")
    add_data_and_json(parser)


def add_name(parser: Parser) -> None:
    parser.add_argument("name", type=read.name, metavar="NAME", help="the player, by any name they had")


def _list(asked: argparse.Namespace) -> int:
    with Log.open(data_folder(asked), read_only=True) as log:
        found = players.look(log, asked.all)
    words = "\n".join(map(_player_line, found)) or "Nobody has played yet."
    say_or_json(words, [asdict(each) for each in found], asked.json)
    return 0


def _player_line(player: Player) -> str:
    last = f", last {parse_utc(player.last_utc).astimezone():%Y-%m-%d}" if player.last_utc else ""
    also = f", also {', '.join(player.also_played_as)}" if player.also_played_as else ""
    archived = ", archived" if player.archived else ""
    return f"{player.name}: {counted(player.takes, 'take')}{last}{also}{archived}"


def _rename(asked: argparse.Namespace) -> int:
    with Log.open(data_folder(asked), create=False) as log:
        before = players.rename(log, asked.name, asked.new_name, datetime.now(UTC), asked.join)
        after = log.names().shown(before)
    say_or_json(f"{before} is {after} now, in every take.", {"before": before, "name": after}, asked.json)
    return 0


def _archive(asked: argparse.Namespace) -> int:
    return _put_away(asked, away=True)


def _return(asked: argparse.Namespace) -> int:
    return _put_away(asked, away=False)


def _put_away(asked: argparse.Namespace, away: bool) -> int:
    with Log.open(data_folder(asked), create=False) as log:
        name = players.put_away(log, asked.name, datetime.now(UTC), away)
    words = "is archived; to see them again: pedaltrainer player return" if away else "is in the lists again"
    said = f'{name} {words} "{name}"' if away else f"{name} {words}."
    say_or_json(said, {"name": name, "archived": away}, asked.json)
    return 0


def _erase(asked: argparse.Namespace) -> int:
    folder = data_folder(asked)
    with Log.open(folder, read_only=True) as log:
        name = players.the_player(log, asked.name)
    _be_sure(name, asked)
    erased = players.erase(folder, name)
    words = (
        f"{counted(erased.takes, 'take')} in {counted(erased.sessions, 'session')} removed from "
        f"{', '.join(map(str, erased.files))}; files you exported, backups elsewhere and logs on other "
        "machines still have them."
    )
    say_or_json(words, {"sessions": erased.sessions, "takes": erased.takes}, asked.json)
    return 0


def _be_sure(name: str, asked: argparse.Namespace) -> None:
    """Raises InputError unless the name was given twice more, or with the option."""
    if asked.yes_erase is not None:
        if asked.yes_erase.strip() not in {name, asked.name}:
            raise InputError(f"--yes-erase names {asked.yes_erase}, not {name}; nothing was erased.")
        return
    for question in (
        f"Everything about {name} will be gone for good. Type the name: ",
        f"To be sure, type {name} once more: ",
    ):
        put(question, to_stderr=True, end="")
        if sys.stdin.readline().strip() != name:
            raise InputError(f"That is not {name}; nothing was erased.")
