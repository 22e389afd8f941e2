"""Lines to copy, such as `pedaltrainer song add FILE`: they keep the --data and --player that were given."""

from __future__ import annotations

import argparse
import re
import shlex
import sys
from contextvars import ContextVar
from functools import lru_cache

from pedaltrainer.commands import COMMANDS, load
from pedaltrainer.commands.parser import Parser

KEPT = ("--data", "--player")
_BUILDERS = {name: builder for name, _, builder in COMMANDS if builder}
_NAMES = "|".join(sorted(_BUILDERS, key=len, reverse=True))
_LINE = re.compile(rf"\bpedaltrainer (?P<name>{_NAMES})(?![\w-])|(?<=: )pedaltrainer$", re.MULTILINE)
_PLAIN = re.compile(r"[\w./\\:~-]+")

_given: ContextVar[dict[str, str] | None] = ContextVar("given", default=None)


def remember(asked: argparse.Namespace) -> None:
    """Note where, and whose, the practice is that the words asked for."""
    there = {option: getattr(asked, option.removeprefix("--"), None) for option in KEPT}
    _given.set({option: str(value) for option, value in there.items() if value is not None})


def to_copy(report: str) -> str:
    """The report, with each line to copy asking for the same practice as the words that it answers."""
    given = _given.get()
    return (
        _LINE.sub(lambda line: line[0] + _options(line["name"] or "play", given), report) if given else report
    )


def _options(name: str, given: dict[str, str]) -> str:
    return "".join(f" {option} {_quoted(value)}" for option, value in given.items() if option in _known(name))


def _quoted(value: str) -> str:
    if _PLAIN.fullmatch(value):
        return value
    return f'"{value}"' if sys.platform == "win32" else shlex.quote(value)


@lru_cache(maxsize=len(COMMANDS))
def _known(name: str) -> frozenset[str]:
    """Which of KEPT a command can be given."""
    reads = Parser(prog=f"pedaltrainer {name}")
    load(_BUILDERS[name])(reads)
    taken = {word for action in reads._actions for word in action.option_strings}
    return frozenset(taken.intersection(KEPT))
