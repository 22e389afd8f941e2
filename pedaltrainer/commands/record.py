"""The record: `log`."""

from __future__ import annotations

import argparse

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json
from pedaltrainer.history.named import drill_key
from pedaltrainer.records import table
from pedaltrainer.records.log import Log
from pedaltrainer.system.terminal import put_as_is


def log(parser: Parser) -> None:
    parser.runs(_log)
    add = parser.add_argument
    add("--player", metavar="NAME", help="only this player's takes")
    add("drill", nargs="?", metavar="DRILL", help='only this drill, such as "Am E"')
    add("--drill", dest="drill_named", metavar="DRILL", help="the same")
    add("--limit", type=read.whole(1, 10**9), metavar="N", help="only the newest N takes")
    add("--all", action="store_true", help="with the takes that were taken back")
    add("--csv", action="store_true", help="as CSV")
    add_data_and_json(parser)


def _log(asked: argparse.Namespace) -> int:
    with Log.open(data_folder(asked), read_only=True) as log:
        words = asked.drill_named or asked.drill
        drill = drill_key(log, words) if words else None
        rows = log.takes(player=asked.player, drill=drill, include_cancelled=asked.all, limit=asked.limit)
    if asked.json:
        say_json(table.as_json(rows))
    elif asked.csv:
        put_as_is(table.as_csv(rows))
    else:
        say(table.as_table(rows))
    return 0
