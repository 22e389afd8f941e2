"""Recordings: `listen`."""

from __future__ import annotations

import argparse
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json
from pedaltrainer.live.listening import hear_files
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import USUAL_LANDINGS
from pedaltrainer.telling import listening as told

_LISTEN = """\
Listen to the recording of a take that was played to the stage or to an exported track
(WAV, or the MIDI file of a guitar that sends notes), and tell which landings were late,
absent, wrong or had a string that did not ring. With two clean takes of the same drill
as reference it hears far better. It advises, and says when it is not sure; the recording
is read, and nothing is kept of it."""


def listen(parser: Parser) -> None:
    parser.runs(_listen, _LISTEN)
    add = parser.add_argument
    add("take", type=Path, metavar="FILE", help="the recording, WAV or MIDI, from before the first chord")
    add("--drill", required=True, metavar="DRILL", help='what was played, such as "C F"')
    add("--tempo", type=read.number(20, 300, " BPM"), required=True, metavar="BPM", help="20 to 300")
    add("--beats", type=read.whole(1, 16), default=1, metavar="N", help="beats on each chord (1)")
    add("--landings", type=read.whole(1, 64), default=USUAL_LANDINGS, metavar="N", help="chords struck (8)")
    add("--count-in", type=read.whole(0, 16), default=4, metavar="N", help="beats of count-in (4)")
    add(
        "--reference",
        type=Path,
        nargs="+",
        default=[],
        metavar="FILE",
        help="clean takes of the same, recorded the same way",
    )
    add("--click", choices=("with", "without"), help="whether the click is in the recording (found out)")
    add_data_and_json(parser)


def _listen(asked: argparse.Namespace) -> int:
    drill = parse_drill(asked.drill, asked.beats)
    click = None if asked.click is None else asked.click == "with"
    expected, heard = hear_files(
        asked.take,
        asked.reference,
        drill,
        asked.tempo,
        asked.landings,
        asked.count_in,
        click,
        data_folder(asked),
    )
    title = f"{asked.take}: {drill.title}, {asked.tempo:g} BPM"
    say_or_json(told.report(title, expected, heard), told.plain(expected, heard), asked.json)
    return 0
