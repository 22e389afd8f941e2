"""A made-up player at the pedal: `rehearse`."""

from __future__ import annotations

import argparse
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.options import session_options
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json, terminal
from pedaltrainer.commands.session import add_session_options, tell
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.commands.whose import rehearsal_desk
from pedaltrainer.history.today import USUAL_MINUTES
from pedaltrainer.live import app, fast
from pedaltrainer.live.four_weeks import DAYS, journey
from pedaltrainer.live.options import Options
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.learner import Learner
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.telling import weeks

_REHEARSE = """\
The same stage with a made-up player at the pedal, whose true clean tempo is known.
Nothing is written to your own log unless --data says where."""

_SKILL = "the made-up player's true clean tempo (90)"
_TODAY = "practise a made-up band's songs by plan; with --fast, for four weeks"


def rehearse(parser: Parser) -> None:
    parser.runs(_rehearse, _REHEARSE)
    add_session_options(parser, default_seed=1)
    add = parser.add_argument
    add("--skill", type=read.number(20, 300, " BPM"), default=90.0, metavar="BPM", help=_SKILL)
    add("--today", action="store_true", help=_TODAY)
    add("--fast", action="store_true", help="on a simulated clock, without sound or window")


def _rehearse(asked: argparse.Namespace) -> int:
    hands = Learner(shape_book(), asked.seed) if asked.today else None
    made_up = MadeUpPlayer(asked.skill, asked.seed, learner=hands)
    with tempfile.TemporaryDirectory(prefix="pedaltrainer-rehearsal-") as scratch:
        chosen = session_options(asked, rehearsal_desk(asked, Path(scratch)), made_up)
        if asked.fast and asked.today:
            return _weeks(asked, chosen)
        if asked.fast:
            with Log.open(chosen.desk.log_place) as log:
                state = fast.rehearse(chosen, log).state
        else:
            state = app.run(chosen).state
    tell(state, asked, None if asked.today else asked.skill)
    return 0


def _weeks(asked: argparse.Namespace, chosen: Options) -> int:
    """Four weeks at once: a session a day, and what came of them."""
    began = datetime.now().astimezone() - timedelta(days=DAYS)
    days = journey(chosen.desk, chosen.settings, asked.seed, asked.minutes or USUAL_MINUTES, began)
    evenings = [next(days) for _ in with_bar(range(DAYS + 1), "Practising")]
    say_or_json(weeks.weeks_report(evenings, terminal().columns), weeks.plain(evenings), asked.json)
    return 0
