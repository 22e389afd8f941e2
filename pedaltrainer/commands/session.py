"""Practising: `play`, `rehearse`, and `click` for a track to practise by."""

from __future__ import annotations

import argparse
import json
import tempfile
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from pedaltrainer.commands import values as read
from pedaltrainer.commands.parser import Commands, add_data_and_json, add_input, add_json
from pedaltrainer.practice.ladders.ladder import LADDERS
from pedaltrainer.system.amounts import counted

if TYPE_CHECKING:
    from pedaltrainer.live.options import Options
    from pedaltrainer.rehearsal.learner import Learner
    from pedaltrainer.session.state import State

_PLAY = """\
Open the stage and practise. Name a change ("Am E") or one shape to land again
("F"); several are taken in turn. Without any, the drills you practised last."""

_REHEARSE = """\
The same stage with a made-up player at the pedal, whose true clean tempo is known.
Nothing is written to your own log unless --data says where."""

_DRILL = 'a change such as "Am E", one chord such as "F", or "level A Bm", "shared C Am", "pressure F"'
_TODAY = "practise a made-up band's songs by plan; with --fast, for four weeks"
_START = "tempo of the first take (else chosen from your record; without one, about 80)"
_MODES = "measure: find the clean tempo; practise: stay where you learn (measure)"
_DELAY_HELP = "how late the sound reaches you, for wireless headphones (what the device says)"


def add_to(commands: Commands) -> None:
    play = commands.add("play", _play, "practise by foot (also without the word play)", _PLAY)
    _add_session_options(play)

    rehearse = commands.add(
        "rehearse", _rehearse, "watch a made-up player practise; your log is not touched", _REHEARSE
    )
    _add_session_options(rehearse, default_seed=1)
    _add_rehearsal_options(rehearse)

    click = commands.add("click", _click, "write a practice track, a click of any length, to a WAV file")
    _add_click_options(click)


def _play(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands import options
    from pedaltrainer.live import app

    conductor = app.run(options.session_options(asked))
    _print_results(conductor.state, asked.json, true_bpm=None)
    return 0


def _rehearse(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands import options
    from pedaltrainer.live import app, fast
    from pedaltrainer.records.log import Log
    from pedaltrainer.rehearsal.player import MadeUpPlayer

    made_up = MadeUpPlayer(asked.skill, asked.seed, learner=_hands(asked) if asked.today else None)
    with tempfile.TemporaryDirectory(prefix="pedaltrainer-rehearsal-") as scratch:
        chosen = options.session_options(asked, made_up)
        if asked.data is None:
            chosen = replace(chosen, folder=Path(scratch), settings_folder=Path(scratch))
        if asked.fast and asked.today:
            return _weeks(asked, chosen)
        if asked.fast:
            with Log.open(chosen.folder) as log:
                conductor = fast.rehearse(chosen, log)
        else:
            conductor = app.run(chosen)
    _print_results(conductor.state, asked.json, true_bpm=None if asked.today else asked.skill)
    return 0


def _hands(asked: argparse.Namespace) -> Learner:
    from pedaltrainer.rehearsal.learner import Learner
    from pedaltrainer.songs.shipped import shape_book

    return Learner(shape_book(), asked.seed)


def _weeks(asked: argparse.Namespace, chosen: Options) -> int:
    """Four weeks at once: a session a day, and what came of them."""
    from pedaltrainer.commands.printing import say_or_json, terminal
    from pedaltrainer.commands.waiting import with_bar
    from pedaltrainer.history.today import USUAL_MINUTES
    from pedaltrainer.live.four_weeks import DAYS, journey
    from pedaltrainer.songs.shipped import demo_songs
    from pedaltrainer.telling import weeks

    days = journey(
        demo_songs(),
        chosen.settings,
        chosen.folder,
        chosen.player,
        asked.seed,
        asked.minutes or USUAL_MINUTES,
        datetime.now().astimezone() - timedelta(days=DAYS),
        chosen.shapes,
    )
    evenings = [next(days) for _ in with_bar(range(DAYS + 1), "Practising")]
    say_or_json(weeks.weeks_report(evenings, terminal().columns), weeks.plain(evenings), asked.json)
    return 0


def _print_results(state: State, as_json: bool, true_bpm: float | None) -> None:
    from pedaltrainer.telling import session as report

    print(report.as_json(state, true_bpm) if as_json else report.in_words(state, true_bpm))


def _click(asked: argparse.Namespace) -> int:
    from pedaltrainer.timing import wav

    wav.render_click(
        tempo_bpm=asked.tempo,
        bars=asked.bars,
        out=asked.out,
        beats_per_bar=asked.metre,
        accent=asked.accent == "on",
        offbeat=asked.offbeat == "on",
        count_in_beats=asked.count_in,
        volume=asked.volume,
    )
    if asked.json:
        print(json.dumps({"out": str(asked.out), "tempo_bpm": asked.tempo, "bars": asked.bars}))
    else:
        print(f"{asked.out}: {counted(asked.bars, 'bar')} at {asked.tempo:g} BPM.")
    return 0


def _add_session_options(parser: argparse.ArgumentParser, default_seed: int | None = None) -> None:
    add = parser.add_argument
    add("drills", nargs="*", metavar="DRILL", help=_DRILL)
    add(
        "--start",
        type=read.tempo,
        metavar="BPM",
        help=_START,
    )
    add(
        "--step",
        type=read.whole(1, 40, " BPM"),
        default=8,
        metavar="BPM",
        help="step of the ladder steps (8)",
    )
    add("--landings", type=read.whole(2, 64), default=8, metavar="N", help="landings in a take (8)")
    add(
        "--minutes",
        type=read.number(0.1, 600),
        metavar="M",
        help="time in all, shared by the drills (5 each)",
    )
    add("--answer", choices=("ask", "speak-up"), help="ask after each take, or press only at a miss")
    add("--beats", type=read.whole(1, 16), default=1, metavar="N", help="beats on each chord (1)")
    add(
        "--tuning",
        type=read.tuning,
        metavar="NOTES",
        help='open strings, lowest first, such as "D A D G B E"',
    )
    add("--left-handed", action="store_true", help="chord boxes with the lowest string at the right")
    add("--metre", type=read.metre, default=4, metavar="N/M", help="beats in a bar (4/4)")
    add("--ladder", choices=tuple(LADDERS), default="seek", help="how answers move the tempo (seek)")
    add("--mode", choices=("measure", "practise"), default="measure", help=_MODES)
    add("--volume", type=read.number(0, 1), metavar="V", help="loudness of the click, 0 to 1 (0.4)")
    add("--no-answer-sounds", action="store_true", help="acknowledge answers by eye only")
    add("--sound-delay", type=read.number(0, 1000, " ms"), metavar="MS", help=_DELAY_HELP)
    add("--windowed", action="store_true", help="a window instead of the whole screen")
    add("--screen-inches", type=read.number(3, 200), metavar="IN", help="the screen's diagonal")
    add("--distance", type=read.number(0.2, 10), metavar="M", help="metres from your eyes to the screen")
    add_input(parser)
    add("--player", type=read.name, metavar="NAME", help="who is playing (your login name)")
    add("--seed", type=read.whole(0, 2**31), default=default_seed, metavar="N", help="seed of what is random")
    add_data_and_json(parser)


def _add_rehearsal_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--skill", type=read.number(20, 300, " BPM"), default=90.0, metavar="BPM",
        help="the made-up player's true clean tempo (90)",
    )  # fmt: skip
    parser.add_argument("--today", action="store_true", help=_TODAY)
    parser.add_argument("--fast", action="store_true", help="on a simulated clock, without sound or window")


def _add_click_options(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("--tempo", type=read.number(20, 300, " BPM"), required=True, metavar="BPM", help="20 to 300")
    add("--bars", type=read.whole(1, 10_000), default=50, metavar="N", help="length in bars (50)")
    add("--out", type=Path, required=True, metavar="FILE", help="the WAV file to write")
    add("--metre", type=read.metre, default=4, metavar="N/M", help="beats in a bar (4/4)")
    add("--accent", choices=("on", "off"), default="on", help="accent the first beat of each bar (on)")
    add("--offbeat", choices=("on", "off"), default="on", help="a softer mark half-way between beats (on)")
    add("--count-in", type=read.whole(0, 16), default=4, metavar="N", help="beats of count-in (4)")
    add("--volume", type=read.number(0, 1), default=0.4, metavar="V", help="0 to 1 (0.4)")
    add_json(parser)
