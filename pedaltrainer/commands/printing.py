"""What a report is printed on, and how: where letters are missing, plain ones stand in their place."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Iterable
from typing import Any

from pedaltrainer.commands.copying import to_copy
from pedaltrainer.telling.text_boxes import Terminal, letters_for

_PLAIN = str.maketrans({"–": "-", "…": "...", "×": "x", "“": '"', "”": '"'})


def terminal(left_handed: bool = False) -> Terminal:
    """The terminal that the program was started in."""
    return Terminal(shutil.get_terminal_size().columns, letters_for(sys.stdout.encoding), left_handed)


def say(report: str) -> None:
    """Print a report; its lines to copy are about the practice that was asked for."""
    report = to_copy(report)
    encoding = sys.stdout.encoding or "ascii"
    try:
        report.encode(encoding)
    except UnicodeEncodeError:
        report = report.translate(_PLAIN)
    print(report.encode(encoding, errors="replace").decode(encoding))


def warn(troubles: Iterable[str]) -> None:
    """Tell what is amiss beside what was found; it hinders nothing."""
    for trouble in troubles:
        print(f"pedaltrainer: {to_copy(trouble)}", file=sys.stderr)


def say_or_json(report: str, plain: Any, as_json: bool) -> None:
    """Print a finding in words, or as JSON when that was asked for."""
    if as_json:
        print(json.dumps(plain, indent=2))
    else:
        say(report)
