"""Logs brought together and looked into: `log merge` and `log check`."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pedaltrainer.commands.asking import add_data_and_json, data_folder
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say_or_json
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.history.named import does_not_agree
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.records.upkeep import checking, merging, repairing, snapshot
from pedaltrainer.records.upkeep.checking import Checked
from pedaltrainer.records.upkeep.merging import Merged, Union
from pedaltrainer.records.upkeep.repairing import Repaired
from pedaltrainer.system.amounts import counted
from pedaltrainer.system.files import refuse_existing

_MERGE = """\
Bring other logs into this one: of a pupil, or of another machine. A file, or a folder
with a log or with several below it. Each take is there once, whatever the order and
however often. The others are only read, and this one is copied first."""

_CHECK = """\
Look into a log, row by row and page by page, and say what is found; nothing is changed.
With --repair NEW, what can be read is written into a new log, and the old one stays
as it is, byte for byte."""


def merge(parser: Parser) -> None:
    parser.runs(_merge, _MERGE)
    parser.add_argument("places", nargs="+", type=Path, metavar="FILE|FOLDER", help="logs to be brought in")
    add_data_and_json(parser)


def check(parser: Parser) -> None:
    parser.runs(_check, _CHECK)
    add = parser.add_argument
    add("place", nargs="?", type=Path, metavar="FILE|FOLDER", help="which log (your own)")
    add("--repair", type=Path, metavar="NEW", help="write what can be read into this new file")
    add_data_and_json(parser)


def _merge(asked: argparse.Namespace) -> int:
    union = merging.merge(data_folder(asked), asked.places, datetime.now(UTC), with_bar)
    lines = [line for one in union.merged for line in _merged_lines(one)] or [
        "That is this log itself; nothing to bring."
    ]
    if union.backup:
        lines.append(f"The log as it was before is in {union.backup}.")
    say_or_json("\n".join(lines), _plain(union), asked.json)
    return 0


def _merged_lines(one: Merged) -> list[str]:
    lines = [f"{one.source}: {counted(one.takes, 'take')}, of which {one.added['take']:,} were new."]
    if one.shared:
        lines.append(
            f"  Here before, in other sessions: {', '.join(one.shared)}. If these are different people who "
            "share a name, go back to the copy from before and have one of them renamed first."
        )
    if one.differing:
        lines.append(
            f"  {counted(one.differing, 'take')} differ from the same in this log; those here were kept."
        )
    for odd in one.odd_dates:
        span = odd.first_utc[:10] + ("" if odd.takes == 1 else f" to {odd.last_utc[:10]}")
        lines.append(
            f"  {counted(odd.takes, 'take')} of {odd.player} dated {span}, which no right clock shows: kept; "
            "set the clock of that machine."
        )
    return lines


def _plain(value: Union | Checked | Repaired) -> Any:
    """As JSON has it: paths as text."""
    return _as_text(asdict(value))


def _as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _as_text(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_as_text(each) for each in value]
    return str(value) if isinstance(value, Path) else value


def _check(asked: argparse.Namespace) -> int:
    path = snapshot.file_of(asked.place or data_folder(asked))
    if asked.repair is not None:
        refuse_existing(asked.repair)
    checked = checking.check(path, datetime.now(UTC), told_otherwise, with_bar, does_not_agree)
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
    takes, sessions = counted(counts.get("take", 0), "take"), counted(counts.get("session", 0), "session")
    lines = [f"{checked.path}: {takes} in {sessions}."]
    lines += [f"  Fault: {fault}." for fault in checked.faults]
    lines += [f"  Remark: {remark}." for remark in checked.remarks]
    if not checked.faults:
        lines.append(f"  Everything is whole; run again from inputs: {counted(checked.replayed, 'session')}.")
    return lines


def _repaired_lines(repaired: Repaired) -> list[str]:
    takes, sessions = repaired.added["take"], repaired.added["session"]
    lines = [f"{repaired.path}: {counted(takes, 'take')} in {counted(sessions, 'session')} saved into it."]
    if repaired.sessions_made:
        lines.append(f"  Of {counted(repaired.sessions_made, 'session')} only takes could be read.")
    if repaired.broken or repaired.left_out:
        lines.append(f"  {repaired.broken + repaired.left_out:,} rows could not be saved.")
    lines.append("  Check it, put it in the place of the old one, and bring in a backup with log merge.")
    return lines
