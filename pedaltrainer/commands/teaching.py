"""A pedal taught what it means: `teach`."""

from __future__ import annotations

import argparse

from pedaltrainer.commands.asking import add_data, add_input, data_folder
from pedaltrainer.commands.options import lesson_options
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say
from pedaltrainer.live import app
from pedaltrainer.pedals import monitor
from pedaltrainer.showing.words import ack_words

_TEACH = """\
The stage asks for a press of each switch, works out what kind of switch it is, and
writes what was learnt to a file you can read and edit. The same lesson is in the
pause menu while you practise."""


def teach(parser: Parser) -> None:
    parser.runs(_teach, _TEACH)
    parser.add_argument("--terminal", action="store_true", help="without the stage (MIDI pedals only)")
    parser.add_argument("--windowed", action="store_true", help="a window instead of the whole screen")
    add_input(parser)
    add_data(parser)


def _teach(asked: argparse.Namespace) -> int:
    if asked.terminal:
        path = monitor.teach(data_folder(asked), asked.input, say)
        say(f"Kept in {path}." if path else "Nothing was learnt; nothing was changed.")
        return 0
    said = app.run(lesson_options(asked)).state.ack
    say(f"{ack_words(said)}." if said else "Nothing was learnt; nothing was changed.")
    return 0
