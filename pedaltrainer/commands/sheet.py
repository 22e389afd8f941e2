"""The practice sheet on paper: `sheet`."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data, add_force, add_player, refuse_written_over
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, warn
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.errors import InputError
from pedaltrainer.history import known
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.record import DrillRecord
from pedaltrainer.paper.sheet import save_sheet
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.practice.drill import Drill
from pedaltrainer.system.amounts import counted
from pedaltrainer.system.terminal import put
from pedaltrainer.telling import progress_words, sheets
from pedaltrainer.telling.sheets import SheetDrill

_SHEET = """\
A practice sheet to print: for each drill its chord boxes, its target (from your songs) and
dated boxes for the clean tempo. What is in the log is filled in, the rest is left for a
pencil. Without drills named: those of the last weeks, the ones from songs first.
--blank is for a pupil with no computer; without drills it leaves these to be filled in too."""

USUAL_FILE, USUAL_WEEKS = Path("practice-sheet.pdf"), 8
NOTHING_TO_PRINT = (
    'There are no takes to print a sheet of; name a drill, as in pedaltrainer sheet "Dm G7", '
    "or give --blank for one to write on."
)


def sheet(parser: Parser) -> None:
    parser.runs(_sheet, _SHEET)
    add = parser.add_argument
    add("drills", nargs="*", metavar="DRILL", help='such as "Dm G7", "F"')
    add("--out", type=Path, default=USUAL_FILE, metavar="FILE", help=f"the .pdf file to write ({USUAL_FILE})")
    add_force(parser)
    add("--paper", type=str.lower, default="a4", metavar="PAPER", help="a4 or letter (a4)")
    add("--blank", action="store_true", help="nothing filled in, and how to use it in a few words")
    add(
        "--left-handed",
        action=argparse.BooleanOptionalAction,
        help="boxes with the lowest string at the right",
    )
    add("--weeks", type=read.whole(1, 520), default=USUAL_WEEKS, metavar="N",
        help=f"from the last N weeks of takes ({USUAL_WEEKS})")  # fmt: skip
    add("--target", type=read.tempo, metavar="BPM", help="of every drill, instead of the songs' own")
    add("--tuning", type=read.tuning, metavar="NOTES", help='open strings, such as "D A D G B E"')
    add_player(parser, "whose sheet (your login name)")
    add_data(parser)


def _sheet(asked: argparse.Namespace) -> int:
    refuse_written_over(asked.out, asked)
    desk = desk_of(asked)
    player, drills, more = _content(asked, desk)
    sheet = sheets.sheet_of(drills, desk.shapes, player, asked.target, asked.blank)
    left_handed = desk.preferences.left_handed if asked.left_handed is None else asked.left_handed
    pages = save_sheet(asked.out, sheet, asked.paper, left_handed)
    say(f"{asked.out}: {counted(pages, 'page')}.{more}")
    return 0


def _content(asked: argparse.Namespace, desk: Desk) -> tuple[str, list[SheetDrill], str]:
    """The player's name, the drills with what is known of them, and a sentence on those left out."""
    named = list(dict.fromkeys(map(desk.drill, asked.drills)))
    if asked.blank:
        return asked.player or "", [SheetDrill(drill) for drill in named], ""
    warn(desk.shelf.troubles)
    needs = {need.drill.key: need for need in needs_of(desk.songs)}
    records = _records(desk, asked.weeks, named)
    if not named and not records:
        raise InputError(NOTHING_TO_PRINT)
    found, left_out = (
        (named, 0) if named else sheets.chosen((one.drill for one in records), needs, desk.shapes)
    )
    keys = {drill.key for drill in found}
    by_key = {
        one.drill.key: progress.days_of(one.drill, one.sessions, before=one.before)
        for one in records
        if one.drill.key in keys
    }
    drills = [SheetDrill(drill, by_key.get(drill.key, ()), sheets.need_for(drill, needs)) for drill in found]
    more = f" {left_out} more drills were left out; name those you want." if left_out else ""
    return desk.player, drills, more


def _records(desk: Desk, weeks: int, named: Sequence[Drill]) -> Sequence[DrillRecord]:
    """What was played in the last weeks, read no further back than that; of the drills named, if any are."""
    if not desk.has_log:
        return ()
    keys = {drill.key for drill in named}

    def choose(there: Mapping[Drill, str]) -> Mapping[Drill, str]:
        return {drill: key for drill, key in there.items() if not keys or drill.key in keys}

    looked = known.look_back(desk, choose, days=7 * weeks)
    if looked.unread:
        put(progress_words.unread_words(looked.unread), to_stderr=True)
    newest = max((one.sessions[-1].last for one in looked.records if one.sessions), default=None)
    if newest is None:
        return ()
    kept = (one.since(newest - timedelta(weeks=weeks)) for one in looked.records)
    return [one for one in kept if one.sessions]
