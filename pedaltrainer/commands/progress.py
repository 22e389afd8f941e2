"""Is practice working: `progress`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, add_force, add_player, refuse_written_over
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.history import known, today
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import Looked
from pedaltrainer.history.record import LOOK_BACK_DAYS
from pedaltrainer.history.silent import with_silent_strings
from pedaltrainer.history.tapped import foot_trials
from pedaltrainer.history.twice_judged import two_judges
from pedaltrainer.paper import progress_picture as plots
from pedaltrainer.practice import progress as worked_out
from pedaltrainer.practice.agreement import TwoJudges
from pedaltrainer.practice.coach.evidence import evidence_after
from pedaltrainer.practice.coach.plan import Task
from pedaltrainer.practice.progress import Progress
from pedaltrainer.showing.home.tapping_along import foot_report
from pedaltrainer.showing.results import CLEAN_TEMPO
from pedaltrainer.system.terminal import put
from pedaltrainer.telling import foot_and_ear, progress_words
from pedaltrainer.telling.songs import to_practise

_PROGRESS = """\
For each drill: the clean tempo of every day with its interval (nine chances in
ten), and whether it is rising, flat or falling, or too early to say. When it is
flat, what to try instead. It is told from the last 90 days on which there are
takes, so that the verdict is about now; --all goes back to the first."""


def progress(parser: Parser) -> None:
    parser.runs(_progress, _PROGRESS)
    add = parser.add_argument
    add("drill", nargs="?", metavar="DRILL", help='such as "Am E"; without it, every drill')
    add("--target", type=read.tempo, metavar="BPM", help="when would this be reached?")
    add("--picture", type=Path, metavar="FILE", help="draw it (of one drill): .png or .svg")
    add_force(parser)
    add("--beats", type=read.whole(1, 16), metavar="N", help="only with N beats on each chord")
    add("--all", action="store_true", help="from every take, not only the last 90 days with takes")
    add("--plain", action="store_true", help="words only (as when not on a terminal)")
    add_player(parser, "whose takes (your login name)")
    add_data_and_json(parser)


def _next_up(desk: Desk, looked: Looked, found: Sequence[Progress]) -> Task | None:
    """What is worked out already is not read again."""
    now = datetime.now().astimezone()
    there = {
        told.drill.key: evidence_after(told.drill, one.sessions[-1], told.found, now)
        for one, told in zip(looked.records, found, strict=True)
        if told.found is not None
    }
    others = [task.drill for task in desk.tasks if task.drill.key not in there]
    return today.next_up(desk, {**there, **known.evidence(desk, now, others)}, now)


def _in_words(one: Progress, both: TwoJudges | None, sketch: bool) -> str:
    told = progress_words.in_words(one, date.today(), sketch)
    return told if both is None else f"{told}\n{foot_and_ear.in_words(both)}"


def _progress(asked: argparse.Namespace) -> int:
    refuse_written_over(asked.picture, asked)
    days = None if asked.all else LOOK_BACK_DAYS
    desk = desk_of(asked)
    looked = known.look_back(
        desk,
        lambda there: worked_out.chosen(there, asked.drill, asked.beats, desk.own_kinds),
        days,
    )
    each = with_bar(looked.records, "Working out")
    found = with_silent_strings(
        desk,
        looked.records,
        [worked_out.progress_of(one.drill, one.sessions, asked.target, before=one.before) for one in each],
    )
    if looked.unread:
        put(progress_words.unread_words(looked.unread), to_stderr=True)
    if asked.picture is not None:
        one = worked_out.the_only(found)
        points = [plots.Point(day.date, day.bpm, day.low_bpm, day.high_bpm) for day in one.days]
        line, verdict = worked_out.trend_line(one), progress_words.verdict_words(one.trend)
        plots.plot_progress(asked.picture, one.drill.title, points, verdict, asked.target, line)
    both = two_judges(desk, looked.records)
    if asked.json:
        say_json(progress_words.as_json(found, looked.whole, both))
        return 0
    sketch = sys.stdout.isatty() and not asked.plain
    words = [_in_words(one, both.get(one.drill.key), sketch) for one in found]
    if any(one.days for one in found):
        span = progress_words.span_words(found, looked.whole, days, looked.elsewhere)
        words.append(f"{CLEAN_TEMPO}\n{span}")
    trials = foot_trials(desk) if asked.drill is None else ()
    if trials:
        words.append(foot_report(trials))
    if asked.drill is None and desk.tasks and looked.records:
        words.append(to_practise(_next_up(desk, looked, found)))
    say("\n\n".join(words) or "No takes yet.")
    if asked.picture is not None:
        say(f"Drawn in {asked.picture}.")
    return 0
