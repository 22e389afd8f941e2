"""What a report is printed on, and in which form."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Iterable
from typing import Any

from pedaltrainer.commands.copying import to_copy
from pedaltrainer.system.terminal import harmless_json, put
from pedaltrainer.telling.text_boxes import Terminal, letters_for


def terminal(left_handed: bool = False) -> Terminal:
    """The terminal that the program was started in."""
    return Terminal(shutil.get_terminal_size().columns, letters_for(sys.stdout.encoding), left_handed)


def say(report: str) -> None:
    """Print a report; its lines to copy are about the practice that was asked for."""
    put(to_copy(report))


def say_json(text: str) -> None:
    """Print JSON."""
    put(harmless_json(text))


def warn(troubles: Iterable[str]) -> None:
    """Tell what is amiss beside what was found; it hinders nothing."""
    for trouble in troubles:
        put(f"pedaltrainer: {to_copy(trouble)}", to_stderr=True)


def say_or_json(report: str, plain: Any, as_json: bool) -> None:
    """Print a finding in words, or as JSON when that was asked for."""
    if as_json:
        say_json(json.dumps(plain, indent=2))
    else:
        say(report)
