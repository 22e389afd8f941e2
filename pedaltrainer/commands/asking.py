"""What many commands are asked the same way: whose takes, and in which folder."""

from __future__ import annotations

import argparse
import getpass
from pathlib import Path


def data_folder(asked: argparse.Namespace) -> Path:
    """The folder named with --data, else the platform's."""
    from pedaltrainer.records import log

    folder: Path = asked.data or log.default_folder()
    return folder


def player_of(asked: argparse.Namespace) -> str:
    """The player named with --player, else the one who is logged in."""
    name: str = asked.player or player_name()
    return name


def player_name() -> str:
    """The player when none is named: the name one is logged in by."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "player"
