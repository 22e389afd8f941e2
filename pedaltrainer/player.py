"""Who plays."""

from __future__ import annotations

import getpass


def player_name() -> str:
    """The player when none is named: the name one is logged in by."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "player"
