"""The record: `log` and `progress`."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pedaltrainer.commands import upkeep
from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import data_folder, player_of
from pedaltrainer.commands.parser import Commands, add_data_and_json

_PROGRESS = """\
For each drill: the clean tempo of every day with its interval (nine chances in
ten), and whether it is rising, flat or falling, or too early to say. When it is
flat, what to try instead. It is told from the last 90 days on which there are
takes, so that the verdict is about now; --all goes back to the first."""


def add_to(commands: Commands) -> None:
    log = commands.add("log", _log, "what was played, newest first")
    _add_log_options(log)
    upkeep.add_to_log(log)
    _add_progress_options(
        commands.add(
            "progress", _progress, "is practice working? dated clean tempos and a verdict", _PROGRESS
        )
    )


def _log(asked: argparse.Namespace) -> int:
    from pedaltrainer.history import known
    from pedaltrainer.records import table
    from pedaltrainer.records.log import Log

    with Log.open(data_folder(asked), read_only=True) as log:
        words = asked.drill_named or asked.drill
        drill = known.drill_key(log, words) if words else None
        rows = log.takes(player=asked.player, drill=drill, include_cancelled=asked.all, limit=asked.limit)
    if asked.json:
        print(table.as_json(rows))
    elif asked.csv:
        sys.stdout.reconfigure(newline="")  # type: ignore[union-attr]
        print(table.as_csv(rows), end="")
    else:
        print(table.as_table(rows))
    return 0


def _progress(asked: argparse.Namespace) -> int:
    from datetime import date

    from pedaltrainer.commands.waiting import with_bar
    from pedaltrainer.history import known
    from pedaltrainer.paper import progress_picture as plots
    from pedaltrainer.practice import progress
    from pedaltrainer.telling import progress_words

    days = None if asked.all else known.LOOK_BACK_DAYS
    looked = known.look_back(
        data_folder(asked),
        player_of(asked),
        lambda there: progress.chosen(there, asked.drill, asked.beats),
        days,
    )
    takes_by_drill = tuple(looked.dated.items())
    found = [
        progress.progress_of(drill, takes, asked.target)
        for drill, takes in with_bar(takes_by_drill, "Working out")
    ]
    if unread := known.unread_words(looked.unread):
        print(unread, file=sys.stderr)
    if asked.picture is not None:
        one = progress.the_only(found)
        points = [plots.Point(day.began, day.bpm, day.low_bpm, day.high_bpm) for day in one.days]
        line, verdict = progress.trend_line(one), progress_words.verdict_words(one.trend)
        plots.plot_progress(asked.picture, one.drill.title, points, verdict, asked.target, line)
    if asked.json:
        print(progress_words.as_json(found, looked.whole))
        return 0
    sketch = sys.stdout.isatty() and not asked.plain
    words = [progress_words.in_words(one, date.today(), sketch) for one in found]
    if any(one.days for one in found):
        words.append(progress_words.span_words(found, looked.whole, days, looked.elsewhere))
    print("\n\n".join(words) or "No takes yet.")
    if asked.picture is not None:
        print(f"Drawn in {asked.picture}.")
    return 0


def _add_log_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--player", metavar="NAME", help="only this player's takes")
    parser.add_argument("drill", nargs="?", metavar="DRILL", help='only this drill, such as "Am E"')
    parser.add_argument("--drill", dest="drill_named", metavar="DRILL", help="the same")
    parser.add_argument("--limit", type=read.whole(1, 10**9), metavar="N", help="only the newest N takes")
    parser.add_argument("--all", action="store_true", help="with the takes that were taken back")
    parser.add_argument("--csv", action="store_true", help="as CSV")
    add_data_and_json(parser)


def _add_progress_options(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("drill", nargs="?", metavar="DRILL", help='such as "Am E"; without it, every drill')
    add("--target", type=read.tempo, metavar="BPM", help="when would this be reached?")
    add("--picture", type=Path, metavar="FILE", help="draw it (of one drill): .png or .svg")
    add("--beats", type=read.whole(1, 16), metavar="N", help="only with N beats on each chord")
    add("--all", action="store_true", help="from every take, not only the last 90 days with takes")
    add("--plain", action="store_true", help="words only (as when not on a terminal)")
    add("--player", type=read.name, metavar="NAME", help="whose takes (your login name)")
    add_data_and_json(parser)
