"""A starter among the desktop's programs: `install-icon`."""

from __future__ import annotations

import argparse
import io
import sys
from pathlib import Path

from pedaltrainer.commands.asking import add_force
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say
from pedaltrainer.system.starter import ICON_PX, Starting, install

_INSTALL = """\
Put a starter with the program's own icon among your desktop's programs (Linux: an entry of the
menu; macOS: an application in your own Applications; Windows: the start menu). It opens home."""


def install_icon(parser: Parser) -> None:
    parser.runs(_install, _INSTALL)
    add_force(parser)


def _install(asked: argparse.Namespace) -> int:
    # The window's library draws the picture; nothing else here needs it.
    import pygame

    from pedaltrainer.screen.icon import icon

    picture = io.BytesIO()
    pygame.image.save(icon(ICON_PX), picture, "icon.png")
    command = (_interpreter(), "-m", "pedaltrainer")
    where = install(Starting(command, picture.getvalue()), Path.home(), force=asked.force)
    say(f"Made {where}. Delete it to be rid of it.")
    return 0


def _interpreter() -> str:
    """The one that runs now; on Windows the one beside it that opens no black window."""
    windowless = Path(sys.executable).with_name("pythonw.exe")
    return str(windowless) if sys.platform == "win32" and windowless.exists() else sys.executable
