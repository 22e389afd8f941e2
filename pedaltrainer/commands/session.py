"""Practising: `play`, and the options it shares with a rehearsal."""

from __future__ import annotations

import argparse

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, add_input, add_player
from pedaltrainer.commands.options import session_options, stage_options
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json, warn
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.live import app
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.runs import run_settings
from pedaltrainer.neck.chords.tuning import HIGHEST_CAPO
from pedaltrainer.practice.ladders.ladder import LADDERS
from pedaltrainer.practice.run_through import LEAST_PER_CENT, MOST_PER_CENT, part_of
from pedaltrainer.records.preferences import BACKINGS, BOXES
from pedaltrainer.records.rows import ANSWERS_CHOSEN
from pedaltrainer.session.state import State
from pedaltrainer.songs import shelf
from pedaltrainer.telling import session as report
from pedaltrainer.timing.sound_device import BUFFERS

_PLAY = """\
Open the stage and practise. Name a change ("Am E") or one shape to land again
("F"); several are taken in turn. Without any, the drills you practised last."""

_DRILL = 'a change such as "Am E", one chord such as "F", or "level A Bm", "shared C Am", "pressure F"'
_START = "tempo of the first take (else chosen from your record; without one, about 80)"
_STEP = "step of the ladder steps (8)"
_MINUTES = "time in all, shared by the drills (5 each)"
_TUNING = 'open strings, lowest first, such as "D A D G B E"'
_MODES = "measure: find the clean tempo; practise: stay where you learn (measure)"
_DELAY_HELP = "how late the sound reaches you, for wireless headphones (what the device says)"

_CAPO = "the fret of the capo; chords are named as you finger them above it (none)"
_EAR = (
    "let the ear listen to each take, by the input with this in its name, and tell what it heard; "
    '"MIDI guitar: NAME" hears the notes of a MIDI input, which is no pedal then; '
    "no sound is kept, and nothing leaves this computer (off)"
)
_JUDGE = (
    "ear: what it is sure was late, not struck or another chord is missed, your foot overrules it; "
    "foot: yours alone"
)
_BUFFER_HELP = "samples handed to the device at once: more stumble less and sound later (512)"


def play(parser: Parser) -> None:
    parser.runs(_play, _PLAY)
    add_session_options(parser)


def _play(asked: argparse.Namespace) -> int:
    options = session_options(asked, desk_of(asked))
    warn(options.notices)
    state = app.run(options).state
    tell(state, asked, None)
    return 0


_HOME = """\
Open the stage at home: what to practise, your songs, how it goes and what is set up, all
chosen by foot. With a drill, a first tempo or minutes it is the same as play."""


def home(parser: Parser) -> None:
    parser.runs(_home, _HOME)
    add_session_options(parser)


def _home(asked: argparse.Namespace) -> int:
    if asked.drills or asked.start or asked.minutes:
        return _play(asked)
    for played in app.run_home(House(stage_options(asked, desk_of(asked)))):
        if played.state.all_results:
            tell(played.state, asked, None)
    return 0


_RUN = """\
Play a song from end to end with the stage, at a share of its tempo. It never stops for a
miss: one press says "there". Afterwards: again, slower, one section, or practise what was
flagged."""


def run(parser: Parser) -> None:
    parser.runs(_run, _RUN)
    add = parser.add_argument
    add("song", metavar="SONG", help="its title, or a part of it")
    add(
        "--tempo",
        type=_share,
        default=100,
        metavar="PERCENT",
        help="share of the song's tempo, 50%% to 110%% (100%%)",
    )
    add("--from", dest="begin", metavar="SECTION", help="from this section on")
    add("--to", dest="until", metavar="SECTION", help="to the end of this section")
    add("--bars", metavar="N-M", help="only these bars, counted as the song is played")
    add("--loop", action="store_true", help="over and over, until you stop it")
    add_session_options(parser, named=False)


def _share(words: str) -> int:
    number = words.strip().removesuffix("%").strip()
    if not number.isdecimal() or not LEAST_PER_CENT <= int(number[:4]) <= MOST_PER_CENT:
        raise argparse.ArgumentTypeError(
            f"“{words}” is no share of the tempo; give one from {LEAST_PER_CENT}% to {MOST_PER_CENT}%."
        )
    return int(number)


def _run(asked: argparse.Namespace) -> int:
    house = House(stage_options(asked, desk_of(asked)))
    song = shelf.find(house.options.desk.folder, asked.song)
    first, end = part_of(song, asked.begin, asked.until, asked.bars)
    settings = run_settings(house, song, asked.tempo, first, end, asked.loop)
    for played in app.run_home(house, first=settings):
        if played.state.all_results:
            tell(played.state, asked, None)
    return 0


def tell(state: State, asked: argparse.Namespace, true_bpm: float | None) -> None:
    """Print what a session found; true_bpm: of a made-up player."""
    if asked.json:
        say_json(report.as_json(state, true_bpm))
    else:
        say(report.in_words(state, true_bpm))


def add_session_options(parser: Parser, default_seed: int | None = None, named: bool = True) -> None:
    """What `play`, `run` and `rehearse` can all be asked for. named: drills can be."""
    add = parser.add_argument
    if named:
        add("drills", nargs="*", metavar="DRILL", help=_DRILL)
    add("--start", type=read.tempo, metavar="BPM", help=_START)
    add("--step", type=read.whole(1, 40, " BPM"), default=8, metavar="BPM", help=_STEP)
    add("--landings", type=read.whole(2, 64), default=8, metavar="N", help="landings in a take (8)")
    add("--minutes", type=read.number(0.1, 600), metavar="M", help=_MINUTES)
    add(
        "--answer",
        choices=ANSWERS_CHOSEN,
        help="ask after each take, count its misses too, or press only at a miss",
    )
    add("--beats", type=read.whole(1, 16), default=1, metavar="N", help="beats on each chord (1)")
    add("--tuning", type=read.tuning, metavar="NOTES", help=_TUNING)
    add("--capo", type=read.whole(0, HIGHEST_CAPO), default=0, metavar="FRET", help=_CAPO)
    add("--left-handed", action="store_true", help="chord boxes with the lowest string at the right")
    add("--boxes", choices=BOXES, help="chord boxes on the stage in a take too, or only between takes")
    add("--metre", type=read.metre, metavar="N/M", help="the metre (as the song has it, else 4/4)")
    add("--ladder", choices=tuple(LADDERS), default="seek", help="how answers move the tempo (seek)")
    add("--mode", choices=("measure", "practise"), default="measure", help=_MODES)
    add("--volume", type=read.number(0, 1), metavar="V", help="loudness of the click, 0 to 1 (0.4)")
    add("--backing", choices=BACKINGS, help="bass and drums under the click (off)")
    add("--pad", action="store_true", help="soft chords in the backing too")
    add("--backing-level", type=read.number(0, 1), metavar="V", help="how loud beside it, 0 to 1 (0.6)")
    add("--ear", nargs="?", const="", metavar="INPUT", help=_EAR)
    add("--judge", choices=("foot", "ear"), help=_JUDGE)
    add("--clock-out", metavar="NAME", help='send a MIDI clock to this output ("virtual": a port of our own)')
    add("--clock-offset", type=read.number(-500, 500, " ms"), metavar="MS", help="send it so much later (0)")
    add("--no-answer-sounds", action="store_true", help="acknowledge answers by eye only")
    add("--sound-device", metavar="NAME", help="the sound device, by a part of its name (the system's own)")
    add("--sound-buffer", type=int, choices=BUFFERS, metavar="N", help=_BUFFER_HELP)
    add("--sound-delay", type=read.number(0, 1000, " ms"), metavar="MS", help=_DELAY_HELP)
    add("--windowed", action="store_true", help="a window instead of the whole screen")
    add("--screen-inches", type=read.number(3, 200), metavar="IN", help="the screen's diagonal")
    add("--distance", type=read.number(0.2, 10), metavar="M", help="metres from your eyes to the screen")
    add_input(parser)
    add_player(parser, "who is playing (your login name)")
    add("--seed", type=read.whole(0, 2**31), default=default_seed, metavar="N", help="seed of what is random")
    add_data_and_json(parser)
