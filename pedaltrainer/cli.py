"""The command line: find the command, run it, tell trouble in one sentence. Nothing is decided here."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from pedaltrainer import __version__
from pedaltrainer.commands import COMMANDS, load
from pedaltrainer.commands.parser import Parser
from pedaltrainer.errors import InputError
from pedaltrainer.system.terminal import nobody_reads, put

ABOUT = """\
Every chord change clean and in time: a click, a ladder of tempos, and a foot to answer with.

Both hands stay on the guitar. Each take is counted in, played, and answered by
foot (or key): a tap for clean, a double tap for missed, a hold for the next
drill. The ladder then moves, and what you passed is kept on this machine."""

EXAMPLES = """\
examples:
  pedaltrainer                             home: today's practice, songs, changes, all by foot
  pedaltrainer play                        today's practice for your songs, or your last drills
  pedaltrainer play "Am E"                 the change from Am to E and back
  pedaltrainer play "F" "C F" --minutes 10 land F alone, then the change, ten minutes in all
  pedaltrainer play "G D" --answer speak-up    press only when a landing goes wrong
  pedaltrainer play "D A" --beats 4        four beats on each chord, as in a song
  pedaltrainer teach                       teach a pedal by pressing it
  pedaltrainer moves "C Am"                what each finger does in this change
  pedaltrainer log                         what was played, newest first
  pedaltrainer progress "Am E" --target 120    is it rising, and when would it be there?
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 fine, 2 the user's input, 1 ours."""
    asked = parser().parse_args(_with_command(list(sys.argv[1:] if argv is None else argv)))
    load("copying:remember")(asked)
    try:
        return int(asked.command(asked))
    except InputError as trouble:
        put(f"pedaltrainer: {load('copying:to_copy')(str(trouble))}", to_stderr=True)
        return 2
    except KeyboardInterrupt:
        return 0
    except BrokenPipeError:
        # The reader of our output went away, as `head` does; there is nobody to tell.
        nobody_reads()
        return 0
    except Exception as trouble:
        put(
            f"pedaltrainer: a mistake of ours ({type(trouble).__name__}: {trouble}); "
            f"the takes answered so far are kept, and the particulars are in {load('trouble:kept')()}.",
            to_stderr=True,
        )
        return 1


def _with_command(words: list[str]) -> list[str]:
    """The words with the command that was left out: `play` before a drill, else `home`."""
    first = words[0] if words else "--"
    if first in {"-h", "--help", "--version", *(name for name, _, _ in COMMANDS)}:
        return words
    if not first.startswith("-"):
        return ["play", *words] if load("values:is_drill")(first) else words
    return ["home", *words]


def parser() -> Parser:
    """What reads the words."""
    reads = Parser(prog="pedaltrainer", description=ABOUT, epilog=EXAMPLES)
    reads.add_argument("--version", action="version", version=f"pedaltrainer {__version__}")
    return reads
