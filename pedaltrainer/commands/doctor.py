"""This computer examined: `doctor`."""

from __future__ import annotations

import argparse

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json
from pedaltrainer.live import doctor as looked

_SECONDS = "how long to measure (3)"


def doctor(parser: Parser) -> None:
    parser.runs(_doctor)
    add_data_and_json(parser)
    seconds = read.number(0.5, 600, " seconds")
    parser.add_argument("--seconds", type=seconds, default=3.0, metavar="S", help=_SECONDS)


def _doctor(asked: argparse.Namespace) -> int:
    examined = looked.examine(data_folder(asked), seconds=asked.seconds)
    if asked.json:
        say_json(looked.as_json(examined))
    else:
        say(looked.in_words(examined))
    return 0
