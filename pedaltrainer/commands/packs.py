"""What a teacher hands out and gets back: `pack new | export | check | use | list | drop | return`."""

from __future__ import annotations

import argparse
import json
from datetime import date, datetime
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import (
    add_data,
    add_data_and_json,
    add_json,
    add_player,
    data_folder,
    player_of,
)
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json, say_or_json, terminal, warn
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence
from pedaltrainer.history.named import readable
from pedaltrainer.neck.book import read_shape_book
from pedaltrainer.packs import shelf as pack_shelf
from pedaltrainer.packs.pack import Pack, PackDrill, PackSong, write_pack
from pedaltrainer.packs.shelf import Taking
from pedaltrainer.records.upkeep.of_one_player import return_log
from pedaltrainer.songs.shipped import SHAPES_FILE, configs_folder
from pedaltrainer.songs.writing import write_chart
from pedaltrainer.system.files import OTHER_FILE, write_whole
from pedaltrainer.telling.packs import pack_report, packs_report, plain
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

_PACK = """\
Packs: what a teacher gives a pupil to practise, in one file: drills with their targets,
songs, shapes, notes, minutes a day. The pupil's log comes back in one file too."""

DRILLS_LATELY = 12


def pack(parser: Parser) -> None:
    parser.description = _PACK


def new(parser: Parser) -> None:
    parser.runs(_new)
    _add_file(parser)


def export(parser: Parser) -> None:
    parser.runs(_export)
    _add_file(parser)
    for name, what in (("title", "its title"), ("teacher", "who gives it"), ("for", "who gets it")):
        parser.add_argument(f"--{name}", type=read.name, metavar="WORDS", help=what)
    add_player(parser, "whose takes (your login name)")
    add_data(parser)


def check(parser: Parser) -> None:
    parser.runs(_check)
    _add_file(parser)
    add_json(parser)


def use(parser: Parser) -> None:
    parser.runs(_use)
    _add_file(parser)
    parser.add_argument("--replace", action="store_true", help="its songs and shapes in place of yours")
    parser.add_argument("--dry-run", action="store_true", help="only say what would change")
    add_data_and_json(parser)


def listed(parser: Parser) -> None:
    parser.runs(_list)
    add_data_and_json(parser)


def drop(parser: Parser) -> None:
    parser.runs(_drop)
    parser.add_argument("pack", metavar="PACK", help="its title, or a part of it")
    add_data_and_json(parser)


def back(parser: Parser) -> None:
    parser.runs(_return)
    parser.add_argument("file", type=Path, metavar="FILE", help="a new file, such as robin.sqlite3")
    add_player(parser, "whose takes (your login name)")
    add_data(parser)


def _add_file(parser: Parser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE", help="the pack, a .toml file")


# --- for the teacher ----------------------------------------------------------------------


def _write_new(path: Path, text: str) -> None:
    write_whole(path, text, force=False, mend=OTHER_FILE)


def _new(asked: argparse.Namespace) -> int:
    _write_new(asked.file, (configs_folder() / "packs" / "example.toml").read_text(encoding="utf-8"))
    say(f"{asked.file}: an example; change it in any text editor, then: pedaltrainer pack check {asked.file}")
    return 0


def _export(asked: argparse.Namespace) -> int:
    desk = desk_of(asked)
    own = desk.folder / SHAPES_FILE
    pack = Pack(
        title=asked.title or f"Practice of {date.today()}",
        teacher=asked.teacher or desk.player,
        pupil=getattr(asked, "for") or "",
        drills=_lately(desk),
        songs=tuple(PackSong(song, write_chart(song)) for song in desk.songs),
        shapes=read_shape_book(own).shapes if own.exists() else {},
    )
    _write_new(asked.file, write_pack(pack))
    counts = f"{len(pack.drills)} drills, {len(pack.songs)} songs, {len(pack.shapes)} shapes"
    say(f"{asked.file}: {pack.title}, {counts}. Its targets are your clean tempos: set them for your pupil.")
    return 0


def _lately(desk: Desk) -> tuple[PackDrill, ...]:
    """The drills played last, each with the clean tempo of today as its target."""
    known = evidence(desk, datetime.now().astimezone())
    return tuple(
        PackDrill(one.drill, min(FASTEST_BPM, max(SLOWEST_BPM, round(one.estimate.bpm))))
        for one in list(known.values())[:DRILLS_LATELY]
    )


def _check(asked: argparse.Namespace) -> int:
    pack, troubles = pack_shelf.read_file(asked.file)
    if asked.json:
        say_json(json.dumps({"file": str(asked.file), "troubles": list(troubles)}, indent=2))
    elif pack is not None:
        say(f"{pack_report(pack, terminal())}\n\n{asked.file} is in order.")
    else:
        warn(troubles)
    return 0 if pack is not None else 2


# --- for the pupil ------------------------------------------------------------------------


def _use(asked: argparse.Namespace) -> int:
    folder, pack = data_folder(asked), pack_shelf.read_whole(asked.file)
    what = pack_shelf.taking(folder, pack, asked.replace, _played(folder))
    if not asked.dry_run:
        pack_shelf.use(folder, what, date.today())
    lines = [f"{'Would use' if asked.dry_run else 'In use'}: {pack.title}.", *_changes(what)]
    told = "\n".join(terminal().wrapped(line, "  ") for line in lines)
    say_or_json(f"{told}\n\nTo begin: pedaltrainer", plain(pack), asked.json)
    return 0


def _played(folder: Path) -> frozenset[str]:
    """The chords that anybody has played here by the shapes of the book."""
    desk = Desk(folder, "")
    if not desk.has_log:
        return frozenset()
    with desk.log() as log:
        drills, _ = readable(log.drills())
    return frozenset(chord for drill in drills for chord in drill.chords)


def _changes(what: Taking) -> list[str]:
    """What is added, replaced and left, a line each."""
    songs = [one.song.title for one in what.new_songs], [one.song.title for one in what.other_songs]
    lines = []
    for (new, other), things in ((songs, "songs"), ((what.new_shapes, what.other_shapes), "shapes")):
        if new:
            lines.append(f"New {things}: {', '.join(new)}.")
        if other and what.replace:
            lines.append(f"In place of your own {things}, which are kept aside: {', '.join(other)}.")
            if things == "shapes":
                lines.append("What was played with the old shapes stays in the record of these chords.")
        elif other:
            named = "; the pack's drills name their frets" if things == "shapes" else ""
            lines.append(
                f"Your own {things} stay: {', '.join(other)}{named}; --replace takes those of the pack."
            )
    if what.is_again:
        lines.append("The pack of this title that was in use is moved aside.")
    return lines


def _list(asked: argparse.Namespace) -> int:
    packs, troubles = pack_shelf.in_use(data_folder(asked))
    warn(troubles)
    say_or_json(packs_report(packs, terminal()), [plain(pack) for pack in packs], asked.json)
    return 0


def _drop(asked: argparse.Namespace) -> int:
    pack = pack_shelf.drop(data_folder(asked), asked.pack)
    say_or_json(
        f"{pack.title} is no longer in use; its songs and shapes stay yours.", plain(pack), asked.json
    )
    return 0


def _return(asked: argparse.Namespace) -> int:
    player = player_of(asked)
    takes = return_log(data_folder(asked), player, asked.file)
    say(f"{asked.file}: {takes} takes of {player} and nobody else's; give this file to your teacher.")
    return 0
