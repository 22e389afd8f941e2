"""The record in files that go elsewhere and come back: `export`, `import` and `player export`."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from pedaltrainer.commands.asking import (
    add_data_and_json,
    add_force,
    add_player,
    data_folder,
    refuse_written_over,
)
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.players import add_name
from pedaltrainer.commands.printing import say_or_json
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.history import parcel
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.named import does_not_agree
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import utc_text
from pedaltrainer.records.upkeep import exporting, importing, players
from pedaltrainer.system.amounts import counted

_EXPORT = """\
Write takes, or the clean tempo of each drill and day, to a file that other programs
read: .csv or .jsonl (an object a line). Times are ISO 8601 in UTC; docs/guide/json.md
names the columns."""

_IMPORT = """\
Bring takes from a file into the log: one that export wrote, or the .json file in which
takes were kept that the log would not have. Takes that are there already are passed
over; either the whole file goes in or nothing of it."""


def export(parser: Parser) -> None:
    parser.runs(_export, _EXPORT)
    add = parser.add_argument
    add("file", type=Path, metavar="FILE", help="a new file: .csv or .jsonl")
    add("--what", choices=("takes", "tempos"), default="takes", help="what to write (takes)")
    add_player(parser, "only this player's (everybody's)")
    add_force(parser)
    add("--since", type=_day, metavar="DATE", help="from this day on, such as 2026-03-01")
    add_data_and_json(parser)


def bring(parser: Parser) -> None:
    parser.runs(_import, _IMPORT)
    parser.add_argument("file", type=Path, metavar="FILE", help=".csv, .jsonl or .json")
    add_data_and_json(parser)


def player(parser: Parser) -> None:
    parser.runs(_export_player)
    add_name(parser)
    parser.add_argument("file", type=Path, metavar="FILE.zip", help="a new file")
    add_data_and_json(parser)


def _day(text: str) -> datetime:
    """The local beginning of a day."""
    try:
        return datetime.strptime(text, "%Y-%m-%d").astimezone()
    except (ValueError, OverflowError):
        raise argparse.ArgumentTypeError(f"“{text}” is no day; write one such as 2026-03-01.") from None


def _export(asked: argparse.Namespace) -> int:
    exporting.check_suffix(asked.file)
    refuse_written_over(asked.file, asked)
    since_utc = "" if asked.since is None else utc_text(asked.since)
    with Log.open(data_folder(asked), read_only=True) as log:
        who = [players.the_player(log, asked.player)] if asked.player else log.players(include_archived=True)
        if asked.what == "takes":
            takes, sessions = parcel.takes_since(log, asked.player, since_utc)
            exporting.write_takes(asked.file, takes, sessions)
            count, words = len(takes), counted(len(takes), "take")
    if asked.what == "tempos":
        desks = [Desk(data_folder(asked), each) for each in who]
        rows = [row for desk in desks for row in parcel.tempos(desk, since_utc, with_bar)]
        exporting.write_tempos(asked.file, rows)
        count, words = len(rows), f"{len(rows):,} clean tempos"
    plain = {"file": str(asked.file), "what": asked.what, "rows": count}
    say_or_json(f"{words} written to {asked.file}.", plain, asked.json)
    return 0


def _import(asked: argparse.Namespace) -> int:
    rows = importing.read_all(asked.file, does_not_agree)
    with Log.open(data_folder(asked)) as log:
        found = importing.bring(log, rows)
    words = [
        f"{counted(found.added, 'take')} of {found.takes:,} in {asked.file} were new and are in the log now."
    ]
    if found.sessions_made:
        words.append(f"Of {counted(found.sessions_made, 'session')} the file tells only the takes.")
    if found.differing:
        words.append(
            f"{counted(found.differing, 'take')} in the log differ from the file; the log's were kept."
        )
    say_or_json("\n".join(words), asdict(found), asked.json)
    return 0


def _export_player(asked: argparse.Namespace) -> int:
    takes = parcel.write_player(Desk(data_folder(asked), asked.name), asked.file, datetime.now(UTC), with_bar)
    plain = {"file": str(asked.file), "takes": takes}
    say_or_json(
        f"Everything about {asked.name}, {counted(takes, 'take')}, is in {asked.file}.", plain, asked.json
    )
    return 0
