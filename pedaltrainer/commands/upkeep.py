"""The record moved: `export`, `import`, `log merge`, `log check`, and `player`."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import data_folder
from pedaltrainer.commands.parser import Commands, add_branch, add_data_and_json
from pedaltrainer.commands.printing import say_or_json
from pedaltrainer.errors import InputError
from pedaltrainer.system.amounts import counted

if TYPE_CHECKING:
    from pedaltrainer.records.upkeep.checking import Checked
    from pedaltrainer.records.upkeep.merging import Merged, Union
    from pedaltrainer.records.upkeep.players import Player
    from pedaltrainer.records.upkeep.repairing import Repaired

_EXPORT = """\
Write takes, or the clean tempo of each drill and day, to a file that other programs
read: .csv or .jsonl (an object a line). Times are ISO 8601 in UTC; docs/guide/json.md
names the columns."""

_IMPORT = """\
Bring takes from a file into the log: one that export wrote, or the .json file in which
takes were kept that the log would not have. Takes that are there already are passed
over; either the whole file goes in or nothing of it."""

_MERGE = """\
Bring other logs into this one: of a pupil, or of another machine. A file, or a folder
with a log or with several below it. Each take is there once, whatever the order and
however often. The others are only read, and this one is copied first."""

_CHECK = """\
Look into a log, row by row and page by page, and say what is found; nothing is changed.
With --repair NEW, what can be read is written into a new log, and the old one stays
as it is, byte for byte."""

_ERASE = """\
Remove everything about a player from this folder's log and its copies, so that no byte
of it is left. This cannot be undone. The name has to be typed twice, or given with
--yes-erase."""

_ARCHIVE = "hide a player from lists; nothing is lost"


def add_to(commands: Commands) -> None:
    export = commands.add("export", _export, "write takes or clean tempos to a file", _EXPORT)
    export.add_argument("file", type=Path, metavar="FILE", help="a new file: .csv or .jsonl")
    export.add_argument("--what", choices=("takes", "tempos"), default="takes", help="what to write (takes)")
    export.add_argument("--player", type=read.name, metavar="NAME", help="only this player's (everybody's)")
    export.add_argument("--since", type=_day, metavar="DATE", help="from this day on, such as 2026-03-01")
    bring = commands.add("import", _import, "bring takes from a file into the log", _IMPORT)
    bring.add_argument("file", type=Path, metavar="FILE", help=".csv, .jsonl or .json")
    for parser in (export, bring):
        add_data_and_json(parser)
    _add_player(commands)


def add_to_log(log: argparse.ArgumentParser) -> None:
    """`log merge` and `log check`, beside `log` itself."""
    merge = add_branch(log, "merge", _merge, "bring other logs into this one", _MERGE)
    merge.add_argument("places", nargs="+", type=Path, metavar="FILE|FOLDER", help="logs to be brought in")
    check = add_branch(log, "check", _check, "look into a log; repair it into a new one", _CHECK)
    check.add_argument("place", nargs="?", type=Path, metavar="FILE|FOLDER", help="which log (your own)")
    check.add_argument("--repair", type=Path, metavar="NEW", help="write what can be read into this new file")
    for parser in (merge, check):
        add_data_and_json(parser)


def _add_player(commands: Commands) -> None:
    player = commands.add_group("player", "who plays here: list, rename, archive, export, erase")
    listing = player.add("list", _list, "everybody in the log")
    listing.add_argument("--all", action="store_true", help="with the archived ones")
    rename = player.add("rename", _rename, "show a player by another name, wherever they are")
    archive = player.add("archive", _archive, _ARCHIVE)
    back = player.add("return", _return, "show an archived player again")
    export = player.add("export", _export_player, "everything about one player in one ZIP file")
    erase = player.add("erase", _erase, "remove everything about one player, for good", _ERASE)
    for parser in (rename, archive, back, export, erase):
        parser.add_argument("name", type=read.name, metavar="NAME", help="the player, by any name they had")
    rename.add_argument("new_name", type=read.name, metavar="NEW", help="the name to show from now on")
    rename.add_argument("--join", action="store_true", help="NEW is in the log too, and is the same person")
    export.add_argument("file", type=Path, metavar="FILE.zip", help="a new file")
    erase.add_argument("--yes-erase", metavar="NAME", help="the name once more, instead of typing it twice")
    for parser in (listing, rename, archive, back, export, erase):
        add_data_and_json(parser)


def _day(text: str) -> datetime:
    """The local beginning of a day."""
    try:
        return datetime.strptime(text, "%Y-%m-%d").astimezone()
    except (ValueError, OverflowError):
        raise argparse.ArgumentTypeError(f"“{text}” is no day; write one such as 2026-03-01.") from None


def _takes(count: int) -> str:
    return counted(count, "take")


def _sessions(count: int) -> str:
    return counted(count, "session")


# --- files of takes ---------------------------------------------------------------------


def _export(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands.waiting import with_bar
    from pedaltrainer.history import parcel
    from pedaltrainer.records.log import Log
    from pedaltrainer.records.rows import utc_text
    from pedaltrainer.records.upkeep import exporting, players

    exporting.check_suffix(asked.file)
    since_utc = "" if asked.since is None else utc_text(asked.since)
    with Log.open(data_folder(asked), read_only=True) as log:
        who = [players.the_player(log, asked.player)] if asked.player else log.players(include_archived=True)
        if asked.what == "takes":
            takes, sessions = parcel.takes_since(log, asked.player, since_utc)
            exporting.write_takes(asked.file, takes, sessions)
            count, words = len(takes), _takes(len(takes))
    if asked.what == "tempos":
        rows = [row for each in who for row in parcel.tempos(data_folder(asked), each, since_utc, with_bar)]
        exporting.write_tempos(asked.file, rows)
        count, words = len(rows), f"{len(rows):,} clean tempos"
    plain = {"file": str(asked.file), "what": asked.what, "rows": count}
    say_or_json(f"{words} written to {asked.file}.", plain, asked.json)
    return 0


def _import(asked: argparse.Namespace) -> int:
    from pedaltrainer.records.log import Log
    from pedaltrainer.records.upkeep import importing

    rows = importing.read_all(asked.file)
    with Log.open(data_folder(asked)) as log:
        found = importing.bring(log, rows)
    words = [f"{_takes(found.added)} of {found.takes:,} in {asked.file} were new and are in the log now."]
    if found.sessions_made:
        words.append(f"Of {_sessions(found.sessions_made)} the file tells only the takes.")
    if found.differing:
        words.append(f"{_takes(found.differing)} in the log differ from the file; the log's were kept.")
    say_or_json("\n".join(words), asdict(found), asked.json)
    return 0


# --- logs -------------------------------------------------------------------------------


def _merge(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands.waiting import with_bar
    from pedaltrainer.records.upkeep import merging

    union = merging.merge(data_folder(asked), asked.places, datetime.now(UTC), with_bar)
    lines = [line for one in union.merged for line in _merged_lines(one)] or [
        "That is this log itself; nothing to bring."
    ]
    if union.backup:
        lines.append(f"The log as it was before is in {union.backup}.")
    say_or_json("\n".join(lines), _plain(union), asked.json)
    return 0


def _merged_lines(one: Merged) -> list[str]:
    lines = [f"{one.source}: {_takes(one.takes)}, of which {one.added['take']:,} were new."]
    if one.shared:
        lines.append(
            f"  Here before, in other sessions: {', '.join(one.shared)}. If these are different people who "
            "share a name, go back to the copy from before and have one of them renamed first."
        )
    if one.differing:
        lines.append(f"  {_takes(one.differing)} differ from the same in this log; those here were kept.")
    for odd in one.odd_dates:
        span = odd.first_utc[:10] + ("" if odd.takes == 1 else f" to {odd.last_utc[:10]}")
        lines.append(
            f"  {_takes(odd.takes)} of {odd.player} dated {span}, which no right clock shows: kept; "
            "set the clock of that machine."
        )
    return lines


def _plain(value: Union | Checked | Repaired | Player) -> Any:
    """As JSON has it: paths as text."""
    return _as_text(asdict(value))


def _as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _as_text(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_as_text(each) for each in value]
    return str(value) if isinstance(value, Path) else value


def _check(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands.waiting import with_bar
    from pedaltrainer.history.retelling import told_otherwise
    from pedaltrainer.records.upkeep import checking, repairing, snapshot
    from pedaltrainer.system.files import refuse_existing

    path = snapshot.file_of(asked.place or data_folder(asked))
    if asked.repair is not None:
        refuse_existing(asked.repair)
    checked = checking.check(path, datetime.now(UTC), told_otherwise, with_bar)
    repaired = None if asked.repair is None else repairing.repair(path, asked.repair, with_bar)
    lines = _checked_lines(checked)
    if repaired is not None:
        lines += _repaired_lines(repaired)
    elif checked.faults:
        lines.append(
            f'To save what can be read: pedaltrainer log check "{path}" --repair NEW.sqlite3 '
            "(this file stays as it is)."
        )
    plain = {"checked": _plain(checked), "repaired": None if repaired is None else _plain(repaired)}
    say_or_json("\n".join(lines), plain, asked.json)
    return 2 if checked.faults and repaired is None else 0


def _checked_lines(checked: Checked) -> list[str]:
    counts = checked.counts
    lines = [f"{checked.path}: {_takes(counts.get('take', 0))} in {_sessions(counts.get('session', 0))}."]
    lines += [f"  Fault: {fault}." for fault in checked.faults]
    lines += [f"  Remark: {remark}." for remark in checked.remarks]
    if not checked.faults:
        lines.append(f"  Everything is whole; run again from inputs: {_sessions(checked.replayed)}.")
    return lines


def _repaired_lines(repaired: Repaired) -> list[str]:
    takes, sessions = repaired.added["take"], repaired.added["session"]
    lines = [f"{repaired.path}: {_takes(takes)} in {_sessions(sessions)} saved into it."]
    if repaired.sessions_made:
        lines.append(f"  Of {_sessions(repaired.sessions_made)} only takes could be read.")
    if repaired.broken or repaired.left_out:
        lines.append(f"  {repaired.broken + repaired.left_out:,} rows could not be saved.")
    lines.append("  Check it, put it in the place of the old one, and bring in a backup with log merge.")
    return lines


# --- players ----------------------------------------------------------------------------


def _list(asked: argparse.Namespace) -> int:
    from pedaltrainer.records.log import Log
    from pedaltrainer.records.upkeep import players

    with Log.open(data_folder(asked), read_only=True) as log:
        found = players.look(log, asked.all)
    words = "\n".join(map(_player_line, found)) or "Nobody has played yet."
    say_or_json(words, [_plain(each) for each in found], asked.json)
    return 0


def _player_line(player: Player) -> str:
    from pedaltrainer.records.rows import parse_utc
    from pedaltrainer.records.table import printable

    last = f", last {parse_utc(player.last_utc).astimezone():%Y-%m-%d}" if player.last_utc else ""
    also = f", also {', '.join(player.also_played_as)}" if player.also_played_as else ""
    archived = ", archived" if player.archived else ""
    return printable(f"{player.name}: {_takes(player.takes)}{last}{also}{archived}")


def _rename(asked: argparse.Namespace) -> int:
    from pedaltrainer.records.log import Log
    from pedaltrainer.records.upkeep import players

    with Log.open(data_folder(asked), create=False) as log:
        before = players.rename(log, asked.name, asked.new_name, datetime.now(UTC), asked.join)
        after = log.names().shown(before)
    say_or_json(f"{before} is {after} now, in every take.", {"before": before, "name": after}, asked.json)
    return 0


def _archive(asked: argparse.Namespace) -> int:
    return _put_away(asked, away=True)


def _return(asked: argparse.Namespace) -> int:
    return _put_away(asked, away=False)


def _put_away(asked: argparse.Namespace, away: bool) -> int:
    from pedaltrainer.records.log import Log
    from pedaltrainer.records.upkeep import players

    with Log.open(data_folder(asked), create=False) as log:
        name = players.put_away(log, asked.name, datetime.now(UTC), away)
    words = "is archived; to see them again: pedaltrainer player return" if away else "is in the lists again"
    said = f'{name} {words} "{name}"' if away else f"{name} {words}."
    say_or_json(said, {"name": name, "archived": away}, asked.json)
    return 0


def _export_player(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands.waiting import with_bar
    from pedaltrainer.history import parcel

    takes = parcel.write_player(data_folder(asked), asked.name, asked.file, datetime.now(UTC), with_bar)
    plain = {"file": str(asked.file), "takes": takes}
    say_or_json(f"Everything about {asked.name}, {_takes(takes)}, is in {asked.file}.", plain, asked.json)
    return 0


def _erase(asked: argparse.Namespace) -> int:
    from pedaltrainer.records.log import Log
    from pedaltrainer.records.upkeep import players

    folder = data_folder(asked)
    with Log.open(folder, read_only=True) as log:
        name = players.the_player(log, asked.name)
    _be_sure(name, asked)
    erased = players.erase(folder, name)
    words = (
        f"{_takes(erased.takes)} in {_sessions(erased.sessions)} removed from "
        f"{', '.join(map(str, erased.files))}; files you exported, backups elsewhere and logs on other "
        "machines still have them."
    )
    say_or_json(words, {"sessions": erased.sessions, "takes": erased.takes}, asked.json)
    return 0


def _be_sure(name: str, asked: argparse.Namespace) -> None:
    """Raises InputError unless the name was given twice more, or with the option."""
    if asked.yes_erase is not None:
        if asked.yes_erase.strip() not in {name, asked.name}:
            raise InputError(f"--yes-erase names {asked.yes_erase}, not {name}; nothing was erased.")
        return
    for question in (
        f"Everything about {name} will be gone for good. Type the name: ",
        f"To be sure, type {name} once more: ",
    ):
        print(question, end="", file=sys.stderr, flush=True)
        if sys.stdin.readline().strip() != name:
            raise InputError(f"That is not {name}; nothing was erased.")
