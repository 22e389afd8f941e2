"""Takes as a table to read, as CSV and as JSON.

CSV follows RFC 4180: a header line, commas, double quotes where needed, CRLF
line ends. A spreadsheet would run text that begins like a formula, so such text
is written with a ' before it, as OWASP advises ("CSV Injection"; the characters
are those named there), and read back without. Its columns, and the keys of the
JSON objects, are the fields of `TakeRow` in their order; docs/guide/json.md
describes them.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Sequence
from dataclasses import asdict, fields
from datetime import tzinfo
from typing import TypeVar

from tabulate import tabulate

from pedaltrainer.records.rows import TakeRow, parse_utc

T = TypeVar("T")
COLUMNS = tuple(field.name for field in fields(TakeRow))

_BEGINS_A_FORMULA = "=+-@\t\r\n＝＋－＠"
_NUMBER = re.compile(r"[+-]?\d+(\.\d*)?([eE][+-]?\d+)?", re.ASCII)
_MARK = "'"

_OUTCOME_WORDS = {"pass": "clean", "fail": "missed", "void": "interrupted, not counted"}


def outcome_words(row: TakeRow) -> str:
    """How a take went: "clean", "missed at landing 5 of 8", "missed", "interrupted, not counted"."""
    if row.first_miss is not None:
        return f"missed at landing {row.first_miss} of {row.landings}"
    if row.misses is not None:
        return "missed once" if row.misses == 1 else "missed more than once"
    return _OUTCOME_WORDS[row.outcome]


def printable(text: str) -> str:
    """The text with control characters shown as a mark: a name must not be able to steer the terminal."""
    return "".join(
        character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in text
    )


def as_table(rows: Sequence[TakeRow], *, zone: tzinfo | None = None) -> str:
    """A table in plain words, newest take first, times in `zone` (None: this machine's).

    The player is a column only when there are several; so is "undone".
    """
    if not rows:
        return "No takes yet."
    newest_first = sorted(rows, key=lambda row: (row.started_utc, row.id), reverse=True)
    starts = [parse_utc(row.started_utc).astimezone(zone) for row in newest_first]
    table: dict[str, list[str]] = {
        "date": [f"{start:%Y-%m-%d}" for start in starts],
        "time": [f"{start:%H:%M:%S}" for start in starts],
        "player": [printable(row.player) for row in newest_first],
        "drill": [printable(row.drill) for row in newest_first],
        "tempo": [f"{round(row.tempo_bpm, 2):g} BPM" for row in newest_first],
        "outcome": [outcome_words(row) for row in newest_first],
        "judge": [printable(row.judge) for row in newest_first],
        "undone": ["undone" if row.cancelled else "" for row in newest_first],
    }
    if len({row.player for row in rows}) == 1:
        del table["player"]
    if not any(row.cancelled for row in rows):
        del table["undone"]
    return str(tabulate(table, headers="keys", disable_numparse=True))


def formula_undone(cell: str) -> str:
    """The text that `no_formula` made the cell from."""
    return cell[1:] if cell[:1] == _MARK and cell[1:2] and cell[1] in _MARK + _BEGINS_A_FORMULA else cell


def no_formula(value: T) -> T | str:
    """Text as a cell that no spreadsheet takes for a formula; any other value as it is."""
    if not isinstance(value, str) or _NUMBER.fullmatch(value):
        return value
    begins_one = value[:1] and value[0] in _BEGINS_A_FORMULA
    return _MARK + value if begins_one or formula_undone(value) != value else value


def as_csv(rows: Sequence[TakeRow]) -> str:
    """RFC 4180 text in the order given, CRLF line ends included (write it without newline translation).

    chords are separated by one space, an empty field is "none", cancelled is true or false.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        named = asdict(row) | {"chords": " ".join(row.chords), "cancelled": str(row.cancelled).lower()}
        writer.writerow([no_formula(named[name]) for name in COLUMNS])
    return text.getvalue()


def as_json(rows: Sequence[TakeRow]) -> str:
    """A JSON list (RFC 8259) of one object a take, in the order given."""
    return json.dumps([asdict(row) for row in rows], indent=2, ensure_ascii=False, allow_nan=False)
