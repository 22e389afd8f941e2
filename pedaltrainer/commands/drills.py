"""What can be practised: `drills`."""

from __future__ import annotations

import argparse

from pedaltrainer.commands.asking import add_json
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json, terminal
from pedaltrainer.telling.drills import drills_json, drills_words


def drills(parser: Parser) -> None:
    parser.runs(_drills)
    add_json(parser)


def _drills(asked: argparse.Namespace) -> int:
    say_or_json(drills_words(terminal()), {"drills": drills_json()}, asked.json)
    return 0
