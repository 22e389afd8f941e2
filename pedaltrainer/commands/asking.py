"""What many commands are asked the same way: whose takes, in which folder, and how to say what was found."""

from __future__ import annotations

import argparse
import getpass
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.records import log


def add_input(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--input", metavar="NAME", help="only the MIDI input whose name has NAME in it")


def add_player(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument("--player", type=read.name, metavar="NAME", help=what)


def add_data(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--data", type=Path, metavar="DIR", help="the folder of the log and the settings")


def add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON instead of words")


def add_data_and_json(parser: argparse.ArgumentParser) -> None:
    add_data(parser)
    add_json(parser)


def data_folder(asked: argparse.Namespace) -> Path:
    """The folder named with --data, else the platform's."""
    folder: Path = asked.data or log.default_folder()
    return folder


def player_of(asked: argparse.Namespace) -> str:
    """The player named with --player, else the one who is logged in."""
    name: str = getattr(asked, "player", None) or player_name()
    return name


def player_name() -> str:
    """The player when none is named: the name one is logged in by."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "player"
