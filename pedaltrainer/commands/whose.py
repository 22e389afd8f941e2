"""Whose practice the words mean, and where it is kept."""

from __future__ import annotations

import argparse
from pathlib import Path

from pedaltrainer.commands.asking import data_folder, player_of
from pedaltrainer.history.desk import Desk

REHEARSAL = "rehearsal"


def desk_of(asked: argparse.Namespace) -> Desk:
    """The desk of the player, in the folder and the tuning, that were named; else of who is logged in."""
    return Desk(data_folder(asked), player_of(asked), getattr(asked, "tuning", None))


def rehearsal_desk(asked: argparse.Namespace, scratch: Path) -> Desk:
    """The desk of a made-up player, whose log is in `scratch` unless a folder was named."""
    # Their takes must never pass for somebody's own.
    player = asked.player or REHEARSAL
    return Desk(data_folder(asked), player, asked.tuning, asked.data or scratch, rehearses=True)
