"""What many commands are asked the same way: whose takes, and in which folder."""

from __future__ import annotations

import argparse
from pathlib import Path


def data_folder(asked: argparse.Namespace) -> Path:
    """The folder named with --data, else the platform's."""
    from pedaltrainer.records import log

    folder: Path = asked.data or log.default_folder()
    return folder


def player_of(asked: argparse.Namespace) -> str:
    """The player named with --player, else the one who is logged in."""
    from pedaltrainer import player

    name: str = asked.player or player.player_name()
    return name
