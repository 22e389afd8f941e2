"""What many commands are asked the same way: whose takes, in which folder, and how to say what was found."""

from __future__ import annotations

import argparse
import getpass
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.parser import Parser
from pedaltrainer.records import log, opening, preferences
from pedaltrainer.system.files import refuse_existing
from pedaltrainer.system.terminal import harmless


def add_input(parser: Parser) -> None:
    parser.add_argument("--input", metavar="NAME", help="only the MIDI input whose name has NAME in it")


def add_player(parser: Parser, what: str) -> None:
    parser.add_argument("--player", type=read.name, metavar="NAME", help=what)


def add_data(parser: Parser) -> None:
    parser.add_argument("--data", type=Path, metavar="DIR", help="the folder of the log and the settings")


def add_json(parser: Parser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON instead of words")


def add_data_and_json(parser: Parser) -> None:
    add_data(parser)
    add_json(parser)


def add_force(parser: Parser) -> None:
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def refuse_written_over(path: Path | None, asked: argparse.Namespace) -> None:
    """Raises InputError when there is something of that name, unless it may be written over."""
    if path is not None and not asked.force:
        refuse_existing(path, "name a new file, or add --force to write over it")


def data_folder(asked: argparse.Namespace) -> Path:
    """The folder named with --data, else the platform's. Raises InputError when it cannot be looked into."""
    folder: Path = asked.data or log.default_folder()
    opening.refuse_no_folder(folder)
    return folder


def player_of(asked: argparse.Namespace) -> str:
    """The player named with --player, else the one who plays here, else the one who is logged in.

    Raises InputError when the folder's settings cannot be read and nobody was named.
    """
    name: str = getattr(asked, "player", None) or preferences.load(data_folder(asked)).player or player_name()
    return name


def player_name() -> str:
    """The player when none is named: the name one is logged in by, as far as it is text."""
    try:
        name = getpass.getuser()
    except (OSError, KeyError, ImportError):
        name = ""
    return harmless(name).strip() or "player"
