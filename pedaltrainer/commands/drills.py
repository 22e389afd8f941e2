"""What can be practised: `drills`."""

from __future__ import annotations

import argparse

from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json, terminal
from pedaltrainer.packs.own_kinds import own_kinds
from pedaltrainer.telling.drills import drills_json, drills_words


def drills(parser: Parser) -> None:
    parser.runs(_drills)
    add_data_and_json(parser)


def _drills(asked: argparse.Namespace) -> int:
    own = own_kinds(data_folder(asked))
    say_or_json(drills_words(terminal(), own), {"drills": drills_json(own)}, asked.json)
    return 0
