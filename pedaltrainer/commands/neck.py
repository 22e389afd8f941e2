"""The neck: `shape`, `moves` and `route`."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import Any

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import add_data_and_json, add_force, data_folder, refuse_written_over
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json, terminal
from pedaltrainer.errors import InputError
from pedaltrainer.neck import findings
from pedaltrainer.neck.chords.tuning import parse_tuning, standard_tuning
from pedaltrainer.neck.geometry import NeckSize
from pedaltrainer.neck.lookup import Setup
from pedaltrainer.paper import page
from pedaltrainer.paper.boxes import save_boxes
from pedaltrainer.records import preferences
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.system.reading import There, read_text, what_is_at
from pedaltrainer.telling import neck as reports
from pedaltrainer.telling import neck_json

MOST_BYTES = 1_000_000
"""Of a file of chords: a row of some hundred thousand."""
FREE_HELP = "finger a chord anew each time it comes"
_SHAPE = """\
The playable shapes of a chord, best first, as chord boxes: fingers on the strings,
notes and intervals below. With frets of your own - "G[320003]" - the ways to finger
them. Quote a symbol that has a # in it: "F#m7"."""

_MOVES = """\
What each finger does in a change: stays, slides, moves in a block, lifts, leaves or is
added; what makes the change dear, and which other fingerings are easier. Frets and
fingers can be chosen: "G[320003/320004] C"."""

_ROUTE = """\
For every chord of a sequence, or of a text file of chords, the one fingering that makes
the whole of it easiest, change by change. Chords stay in their usual places on the
neck, unless --any-shape lets them go; --free fingers a chord anew where it comes. Bar
lines and beat marks ( | . / % ) are passed over; lines that begin with # are remarks."""


def shape(parser: Parser) -> None:
    parser.runs(_shape, _SHAPE)
    add = parser.add_argument
    add("chord", metavar="CHORD", help='such as Bm7b5, "F#m7", "G[320003]"')
    add("--count", type=read.whole(1, 60), default=6, metavar="N", help="at most N shapes (6)")
    _add_where_options(parser)
    _add_neck_options(parser)


def moves(parser: Parser) -> None:
    parser.runs(_moves, _MOVES)
    add = parser.add_argument
    add("change", metavar="CHANGE", help='two chords, such as "C Am"')
    add("--count", type=read.whole(0, 60), default=3, metavar="N", help="show N other ways to finger it (3)")
    _add_any_shape(parser, "compare with other shapes too, not only with other fingers")
    _add_where_options(parser)
    _add_neck_options(parser)


def route(parser: Parser) -> None:
    parser.runs(_route, _ROUTE)
    add = parser.add_argument
    add("chords", metavar="CHORDS", help='such as "Em C G D", or a text file of them')
    add("--loop", action="store_true", help="the row starts again after its end")
    _add_any_shape(parser, "let chords leave the places where you know them")
    add("--free", action="store_true", help=FREE_HELP)
    _add_neck_options(parser)


def _add_any_shape(parser: Parser, help_text: str) -> None:
    parser.add_argument("--any-shape", action="store_true", help=help_text)


def _add_where_options(parser: Parser) -> None:
    parser.add_argument("--near", type=int, metavar="FRET", help="shapes near this fret")
    parser.add_argument(
        "--span", type=read.number(50, 150, " mm"), metavar="MM", help="how far index and little finger reach"
    )


def _add_neck_options(parser: Parser) -> None:
    add = parser.add_argument
    add("--tuning", metavar="NOTES", help='open strings, lowest first, such as "D A D G B E"')
    add("--strings", type=int, metavar="N", help="4 to 8, in their usual tuning (6)")
    add("--capo", type=int, default=0, metavar="FRET", help="chords are named as they sound")
    add("--scale", type=float, metavar="MM", help="scale length (647.7, which is 25.5 in)")
    add("--nut-gap", type=float, metavar="MM", help="from string to string at the nut (7.0)")
    add("--bridge-gap", type=float, metavar="MM", help="from string to string at the bridge (10.4)")
    add(
        "--left-handed",
        action=argparse.BooleanOptionalAction,
        help="boxes with the lowest string at the right",
    )
    add("--picture", type=Path, metavar="FILE", help="draw it: .png, .svg or .pdf")
    add_force(parser)
    add_data_and_json(parser)


# --- what all three begin and end with ----------------------------------------------


class _Asked:
    """The neck, the hand, the book and the terminal that the words and the settings name."""

    def __init__(self, words: argparse.Namespace) -> None:
        if words.picture is not None:
            page.check_kind(words.picture)
        refuse_written_over(words.picture, words)
        folder = data_folder(words)
        kept = preferences.load(folder)
        left_handed = kept.left_handed if words.left_handed is None else words.left_handed
        self.setup = _setup(words, kept.tuning)
        self.book = shape_book(folder)
        self.terminal = terminal(left_handed)


def _setup(words: argparse.Namespace, usual_tuning: str) -> Setup:
    if words.tuning is None and words.strings is not None:
        tuning = standard_tuning(words.strings, words.capo)
    else:
        tuning = parse_tuning(words.tuning or usual_tuning, words.capo)
    if words.strings not in (None, tuning.strings):
        raise InputError(f"The tuning {tuning.name} has {tuning.strings} strings; leave out --strings.")
    near: int | None = getattr(words, "near", None)
    if near is not None and not 0 <= near <= tuning.highest_fret:
        raise InputError(f"There is no fret {near} here; give --near 0 to {tuning.highest_fret}.")
    sizes = {"scale_mm": words.scale, "nut_gap_mm": words.nut_gap, "bridge_gap_mm": words.bridge_gap}
    neck = NeckSize(**{name: size for name, size in sizes.items() if size is not None})
    return Setup(tuning, near, getattr(words, "span", None), neck)


def _show(
    words: argparse.Namespace, asked: _Asked, plain: dict[str, Any], picture: reports.Picture, report: str
) -> int:
    """Draw the picture that was asked for, then print the finding as JSON or in words."""
    if words.picture is not None:
        save_boxes(words.picture, *picture, left_handed=asked.terminal.left_handed)
        report += f"\n\nDrawn in {words.picture}."
    say_or_json(report, plain, words.json)
    return 0


# --- commands -----------------------------------------------------------------------


def _shape(words: argparse.Namespace) -> int:
    asked = _Asked(words)
    found = findings.find_shapes(words.chord, asked.setup, asked.book, words.count)
    report = reports.shapes_report(found, asked.book, asked.terminal)
    return _show(words, asked, neck_json.shapes(found), reports.shapes_picture(found), report)


def _moves(words: argparse.Namespace) -> int:
    asked = _Asked(words)
    found = findings.find_change(words.change, asked.setup, asked.book, words.count, words.any_shape)
    report = reports.change_report(found, asked.book, asked.terminal)
    return _show(words, asked, neck_json.change_found(found), reports.change_picture(found), report)


def _route(words: argparse.Namespace) -> int:
    asked = _Asked(words)
    chords = _chords_or_file(words.chords)
    plan = findings.find_route(
        chords, asked.setup, asked.book, repeats=words.loop, free=words.free, any_shape=words.any_shape
    )
    report = reports.route_report(plan, asked.book, asked.terminal)
    return _show(words, asked, neck_json.plan(plan), reports.route_picture(plan), report)


def _chords_or_file(words: str) -> str:
    """The chords themselves, or what is in the file of that name."""
    path = Path(words)
    if what_is_at(path) is There.FILE:
        return read_text(path, MOST_BYTES, "row of chords")
    if re.search(r"\.[a-z]{2,}$", words):
        raise InputError(f'There is no file {path}; name one that is there, or chords such as "Em C G D".')
    return words
