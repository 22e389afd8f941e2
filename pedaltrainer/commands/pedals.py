"""What can be pressed here: `pedals`."""

from __future__ import annotations

import argparse
import json

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, add_input, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json
from pedaltrainer.pedals import monitor
from pedaltrainer.pedals.midi.clock_port import output_names
from pedaltrainer.songs.shipped import configs_folder

_PEDALS = """\
Every input that was found, with the preset or file its switches follow, and then
each message in words as it comes, until Control-C."""

_SECONDS = "listen so long, then end (0: only say what is here)"


def pedals(parser: Parser) -> None:
    parser.runs(_pedals, _PEDALS)
    parser.add_argument("--seconds", type=read.number(0, 86_400, " seconds"), metavar="S", help=_SECONDS)
    add_input(parser)
    add_data_and_json(parser)


def _pedals(asked: argparse.Namespace) -> int:
    def tell(words: str) -> None:
        if not asked.json:
            say(words)

    seconds = 0.0 if asked.json else float("inf") if asked.seconds is None else asked.seconds
    folder = data_folder(asked)
    if not asked.json:
        say(f"Outputs for a MIDI clock: {', '.join(output_names()) or 'none'}")
    found, midi = monitor.look(folder, configs_folder(), asked.input, seconds, tell)
    if asked.json:
        outputs = output_names()
        inputs = [{"device": one.device, "way": one.way, "matched": one.matched} for one in found]
        say_json(json.dumps({"midi": midi, "inputs": inputs, "outputs": outputs}, indent=2))
    return 0
