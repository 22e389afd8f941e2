"""The command line: read the words, call one function, print. Nothing is decided here."""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import traceback
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pedaltrainer import __version__
from pedaltrainer import values as read
from pedaltrainer.errors import InputError
from pedaltrainer.practice.ladder import LADDERS

if TYPE_CHECKING:
    from pedaltrainer.session_state import State

# Rooms are imported inside the commands: `log` needs no window and `--help` needs nothing at all.

ABOUT = """\
Every chord change clean and in time: a click, a ladder of tempos, and a foot to answer with.

Both hands stay on the guitar. Each take is counted in, played, and answered by
foot (or key): a tap for clean, a double tap for missed, a hold for the next
drill. The ladder then moves, and what you passed is kept on this machine."""

EXAMPLES = """\
examples:
  pedaltrainer                             practise what you practised last
  pedaltrainer play "Am E"                 the change from Am to E and back
  pedaltrainer play "F" "C F" --minutes 10 land F alone, then the change, ten minutes in all
  pedaltrainer play "G D" --answer speak-up    press only when a landing goes wrong
  pedaltrainer play "D A" --beats 4        four beats on each chord, as in a song
  pedaltrainer teach                       teach a pedal by pressing it
  pedaltrainer log                         what was played, newest first
  pedaltrainer progress "Am E" --target 120    is it rising, and when would it be there?
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 fine, 2 the user's input, 1 ours."""
    words = list(sys.argv[1:] if argv is None else argv)
    parser = _parser()
    if not words or read.begins_a_session(words[0]):
        words.insert(0, "play")
    asked = parser.parse_args(words)
    try:
        return int(asked.command(asked))
    except InputError as trouble:
        print(f"pedaltrainer: {trouble}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 0
    except BrokenPipeError:
        # The reader of our output went away, as `head` does; there is nobody to tell.
        sys.stderr.close()
        return 0
    except Exception as trouble:
        where = _keep_trouble()
        print(
            f"pedaltrainer: a mistake of ours ({type(trouble).__name__}: {trouble}); "
            f"the takes answered so far are kept, and the particulars are in {where}.",
            file=sys.stderr,
        )
        return 1


def _keep_trouble() -> Path:
    with tempfile.NamedTemporaryFile(
        "w", prefix="pedaltrainer-trouble-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write(traceback.format_exc())
        return Path(file.name)


# --- commands -------------------------------------------------------------------


def _play(asked: argparse.Namespace) -> int:
    from pedaltrainer import app, options

    conductor = app.run(options.session_options(asked))
    _print_results(conductor.state, asked.json, true_bpm=None)
    return 0


def _rehearse(asked: argparse.Namespace) -> int:
    from pedaltrainer import app, fast, options
    from pedaltrainer.records.log import Log
    from pedaltrainer.rehearsal import MadeUpPlayer

    made_up = MadeUpPlayer(asked.skill, asked.seed)
    with tempfile.TemporaryDirectory(prefix="pedaltrainer-rehearsal-") as scratch:
        chosen = options.session_options(asked, made_up)
        if asked.data is None:
            chosen = replace(chosen, folder=Path(scratch), settings_folder=Path(scratch))
        if asked.fast:
            with Log.open(chosen.folder) as log:
                conductor = fast.rehearse(chosen, log)
        else:
            conductor = app.run(chosen)
    _print_results(conductor.state, asked.json, true_bpm=asked.skill)
    return 0


def _print_results(state: State, as_json: bool, true_bpm: float | None) -> None:
    from pedaltrainer import report

    print(report.as_json(state, true_bpm) if as_json else report.in_words(state, true_bpm))


def _log(asked: argparse.Namespace) -> int:
    from pedaltrainer import known
    from pedaltrainer.records import table
    from pedaltrainer.records.log import Log, default_folder

    with Log.open(asked.data or default_folder(), read_only=True) as log:
        drill = known.drill_key(log, asked.drill) if asked.drill else None
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

    from pedaltrainer import app, known, progress
    from pedaltrainer.records import plots
    from pedaltrainer.records.log import default_folder

    dated = known.dated_by_drill(asked.data or default_folder(), asked.player or app.player_name())
    takes_by_drill = progress.chosen(dated, asked.drill, asked.beats)
    found = [progress.progress_of(drill, takes, asked.target) for drill, takes in takes_by_drill.items()]
    if asked.picture is not None:
        one = progress.the_only(found)
        points = [plots.Point(day.began, day.bpm, day.low_bpm, day.high_bpm) for day in one.days]
        line, words = progress.trend_line(one), progress.verdict_words(one.trend)
        plots.plot_progress(asked.picture, one.drill.title, points, words, asked.target, line)
    if asked.json:
        print(progress.as_json(found))
        return 0
    sketch = sys.stdout.isatty() and not asked.plain
    print("\n\n".join(progress.in_words(one, date.today(), sketch) for one in found) or "No takes yet.")
    if asked.picture is not None:
        print(f"Drawn in {asked.picture}.")
    return 0


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
        print(f"{asked.out}: {asked.bars} bar{'' if asked.bars == 1 else 's'} at {asked.tempo:g} BPM.")
    return 0


def _pedals(asked: argparse.Namespace) -> int:
    from pedaltrainer import app, monitor
    from pedaltrainer.records.log import default_folder

    def say(words: str) -> None:
        if not asked.json:
            print(words, flush=True)

    seconds = 0.0 if asked.json else float("inf") if asked.seconds is None else asked.seconds
    folder = asked.data or default_folder()
    found, midi = monitor.look(folder, app.configs_folder(), asked.input, seconds, say)
    if asked.json:
        inputs = [{"device": one.device, "way": one.way, "matched": one.matched} for one in found]
        print(json.dumps({"midi": midi, "inputs": inputs}, indent=2))
    return 0


def _teach(asked: argparse.Namespace) -> int:
    from pedaltrainer import app, monitor, options
    from pedaltrainer.records.log import default_folder

    if asked.terminal:
        path = monitor.teach(
            asked.data or default_folder(), asked.input, lambda words: print(words, flush=True)
        )
        print(f"Kept in {path}." if path else "Nothing was learnt; nothing was changed.")
        return 0
    app.run(options.lesson_options(asked))
    return 0


def _doctor(asked: argparse.Namespace) -> int:
    from pedaltrainer import doctor
    from pedaltrainer.records.log import default_folder

    examined = doctor.examine(asked.data or default_folder(), seconds=asked.seconds)
    print(doctor.as_json(examined) if asked.json else doctor.in_words(examined))
    return 0


# --- the parser -------------------------------------------------------------------


class _Help(argparse.RawDescriptionHelpFormatter):
    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=32, width=100)


class _Parser(argparse.ArgumentParser):
    """Says what is off in one sentence; where the help is comes after it."""

    def error(self, message: str) -> None:  # type: ignore[override]
        sentence = message if message.endswith(".") else message + "."
        self.exit(2, f"{self.prog}: {sentence} See {self.prog} --help.\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="pedaltrainer", description=ABOUT, epilog=EXAMPLES, formatter_class=_Help)
    parser.add_argument("--version", action="version", version=f"pedaltrainer {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, summary: str, more: str = "") -> argparse.ArgumentParser:
        return commands.add_parser(name, help=summary, description=more or summary, formatter_class=_Help)

    play = command("play", "practise by foot (also without the word play)", _PLAY)
    _add_session_options(play)
    play.set_defaults(command=_play)

    rehearse = command("rehearse", "watch a made-up player practise; your log is not touched", _REHEARSE)
    _add_session_options(rehearse, default_seed=1)
    _add_rehearsal_options(rehearse)
    rehearse.set_defaults(command=_rehearse)

    log = command("log", "what was played, newest first")
    _add_log_options(log)
    log.set_defaults(command=_log)

    progress = command("progress", "is practice working? dated clean tempos and a verdict", _PROGRESS)
    progress.add_argument("drill", nargs="?", metavar="DRILL", help='such as "Am E"; without it, every drill')
    progress.add_argument("--target", type=read.tempo, metavar="BPM", help="when would this be reached?")
    progress.add_argument("--picture", type=Path, metavar="FILE", help="draw it (of one drill): .png or .svg")
    progress.add_argument(
        "--beats", type=read.whole(1, 16), metavar="N", help="only with N beats on each chord"
    )
    progress.add_argument("--plain", action="store_true", help="words only (as when not on a terminal)")
    progress.add_argument("--player", type=read.name, metavar="NAME", help="whose takes (your login name)")
    _add_data(progress)
    _add_json(progress)
    progress.set_defaults(command=_progress)

    click = command("click", "write a practice track, a click of any length, to a WAV file")
    _add_click_options(click)
    click.set_defaults(command=_click)

    pedals = command("pedals", "what can be pressed here, and what each press says, live", _PEDALS)
    pedals.add_argument("--seconds", type=read.number(0, 86_400, " seconds"), metavar="S", help=_SECONDS)
    _add_input(pedals)
    _add_data(pedals)
    _add_json(pedals)
    pedals.set_defaults(command=_pedals)

    teach = command("teach", "teach a pedal what it means, by pressing it", _TEACH)
    teach.add_argument("--terminal", action="store_true", help="without the stage (MIDI pedals only)")
    teach.add_argument("--windowed", action="store_true", help="a window instead of the whole screen")
    _add_input(teach)
    _add_data(teach)
    teach.set_defaults(command=_teach)

    doctor = command("doctor", "see what was found here (MIDI, sound, screen, log) and measure it")
    _add_data(doctor)
    _add_json(doctor)
    doctor.add_argument(
        "--seconds",
        type=read.number(0.5, 600, " seconds"),
        default=3.0,
        metavar="S",
        help="how long to measure (3)",
    )
    doctor.set_defaults(command=_doctor)
    return parser


_PLAY = """\
Open the stage and practise. Name a change ("Am E") or one shape to land again
("F"); several are taken in turn. Without any, the drills you practised last."""

_PEDALS = """\
Every input that was found, with the preset or file its switches follow, and then
each message in words as it comes, until Control-C."""

_SECONDS = "listen so long, then end (0: only say what is here)"

_TEACH = """\
The stage asks for a press of each switch, works out what kind of switch it is, and
writes what was learnt to a file you can read and edit. The same lesson is in the
pause menu while you practise."""

_PROGRESS = """\
For each drill: the clean tempo of every day with its interval (nine chances in
ten), and whether it is rising, flat or falling, or too early to say. When it is
flat, what to try instead."""

_REHEARSE = """\
The same stage with a made-up player at the pedal, whose true clean tempo is known.
Nothing is written to your own log unless --data says where."""


def _add_session_options(parser: argparse.ArgumentParser, default_seed: int | None = None) -> None:
    add = parser.add_argument
    add("drills", nargs="*", metavar="DRILL", help='a change such as "Am E", or one chord such as "F"')
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
    add("--metre", type=read.metre, default=4, metavar="N/M", help="beats in a bar (4/4)")
    add("--ladder", choices=tuple(LADDERS), default="seek", help="how answers move the tempo (seek)")
    add("--mode", choices=("measure", "practise"), default="measure", help=_MODES)
    add("--volume", type=read.number(0, 1), metavar="V", help="loudness of the click, 0 to 1 (0.4)")
    add("--no-answer-sounds", action="store_true", help="acknowledge answers by eye only")
    add("--sound-delay", type=read.number(0, 1000, " ms"), metavar="MS", help=_DELAY_HELP)
    add("--windowed", action="store_true", help="a window instead of the whole screen")
    add("--screen-inches", type=read.number(3, 200), metavar="IN", help="the screen's diagonal")
    add("--distance", type=read.number(0.2, 10), metavar="M", help="metres from your eyes to the screen")
    _add_input(parser)
    add("--player", type=read.name, metavar="NAME", help="who is playing (your login name)")
    add("--seed", type=read.whole(0, 2**31), default=default_seed, metavar="N", help="seed of what is random")
    _add_data(parser)
    _add_json(parser)


_START = "tempo of the first take (else chosen from your record; without one, about 80)"
_MODES = "measure: find the clean tempo; practise: stay where you learn (measure)"
_DELAY_HELP = "how late the sound reaches you, for wireless headphones (what the device says)"


def _add_rehearsal_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--skill", type=read.number(20, 300, " BPM"), default=90.0, metavar="BPM",
        help="the made-up player's true clean tempo (90)",
    )  # fmt: skip
    parser.add_argument("--fast", action="store_true", help="on a simulated clock, without sound or window")


def _add_log_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--player", metavar="NAME", help="only this player's takes")
    parser.add_argument("--drill", metavar="DRILL", help='only this drill, such as "Am E"')
    parser.add_argument("--limit", type=read.whole(1, 10**9), metavar="N", help="only the newest N takes")
    parser.add_argument("--all", action="store_true", help="with the takes that were taken back")
    parser.add_argument("--csv", action="store_true", help="as CSV")
    _add_data(parser)
    _add_json(parser)


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
    _add_json(parser)


def _add_input(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--input", metavar="NAME", help="only the MIDI input whose name has NAME in it")


def _add_data(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--data", type=Path, metavar="DIR", help="the folder of the log and the settings")


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON instead of words")
