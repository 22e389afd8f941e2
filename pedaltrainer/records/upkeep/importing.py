"""Takes read back from files: CSV, JSON Lines, and JSON.

A take that is in the log already is passed over, so importing twice changes nothing. Either the whole file
goes in or nothing of it.
"""

from __future__ import annotations

import csv
import io
import json
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from pathlib import Path
from typing import TypeGuard

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Cancellation, Input, SessionRow, TakeRow, check_json_object
from pedaltrainer.records.table import formula_undone
from pedaltrainer.system.reading import read_text

UNKNOWN_PROGRAM = "unknown"
"""The program version of a session that was made because only takes of it were given."""
REASON = "undone before it was imported"
_CANCELLATIONS = uuid.UUID("5d1c5a52-6c65-4f0c-9b07-6f3b6e1c8f4d")
_FIELDS = {kind: tuple(field.name for field in fields(kind)) for kind in (TakeRow, SessionRow)}
_NEEDED = {
    kind: {each.name for each in fields(kind) if each.default is MISSING and each.default_factory is MISSING}
    for kind in (TakeRow, SessionRow)
}
_YES_OR_NO = {"true": True, "false": False}
MOST_BYTES = 500_000_000

Row = TakeRow | SessionRow | Input
Odd = Callable[[str, tuple[str, ...]], str | None]
"""What is wrong with a take's drill and chords, if they do not agree; None when all is well."""


def nothing_odd(drill: str, chords: tuple[str, ...]) -> str | None:
    return None


@dataclass(frozen=True, slots=True)
class Imported:
    """How many takes the file holds and how many of them were new; differing: there already, and other."""

    takes: int
    added: int
    sessions_made: int = 0
    differing: int = 0


def read_all(path: Path, odd: Odd = nothing_odd) -> list[Row]:
    """The rows of a file. Raises InputError naming the file and the line that cannot be used."""
    return [row for _, row in read(path, odd)]


def bring(log: Log, rows: Sequence[Row]) -> Imported:
    """Bring takes, with their sessions and inputs, into the log: those that are not there, all or none.

    Inputs of a session of which no take is given are left out.
    """
    takes = list({row.id: row for row in rows if isinstance(row, TakeRow)}.values())
    given = {row.id: row for row in rows if isinstance(row, SessionRow)}
    made = {session.id: session for session in sessions_for(takes) if session.id not in given}
    undone = [
        Cancellation(cancellation_id(take.id), take.id, take.ended_utc, REASON)
        for take in takes
        if take.cancelled
    ]
    played = {take.session_id for take in takes}
    inputs = [row for row in rows if isinstance(row, Input) and row.session_id in played]
    found = log.add_missing([*given.values(), *made.values()], takes, undone, inputs)
    return Imported(len(takes), found.takes, len(made.keys() & found.session_ids), found.differing)


def sessions_for(takes: Iterable[TakeRow]) -> list[SessionRow]:
    """A session for the takes of each, from what they tell: who, and when the first one began."""
    first: dict[str, TakeRow] = {}
    for take in takes:
        if take.session_id not in first or take.started_utc < first[take.session_id].started_utc:
            first[take.session_id] = take
    return [SessionRow(id, take.player, take.started_utc, UNKNOWN_PROGRAM) for id, take in first.items()]


def cancellation_id(take_id: str) -> str:
    """The id of the row that cancels an imported take: the same whenever and wherever it is imported."""
    return str(uuid.uuid5(_CANCELLATIONS, take_id))


# --- reading --------------------------------------------------------------------


def read(path: Path, odd: Odd = nothing_odd) -> Iterator[tuple[str, Row]]:
    """The rows of a file, each with where it stands ("line 3"). Raises InputError naming file and place."""
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        raise InputError(f"{path} cannot be imported; give a file that ends in .csv, .jsonl or .json.")
    text = read_text(path, MOST_BYTES)
    for place, record in reader(text, path):
        row = _row(record, f"{path}, {place}")
        if isinstance(row, TakeRow) and (told := odd(row.drill, row.chords)) is not None:
            raise InputError(f"{path}, {place}: {told}.")
        yield place, row


def _row(record: object, where: str) -> Row:
    if not isinstance(record, Mapping):
        raise InputError(
            f"{where}: this is no take; a take is an object with id, session_id, player and so on."
        )
    if record.keys() == {"session_id", "seq", "input"}:
        return _input(record, where)
    kind: type[TakeRow | SessionRow] = SessionRow if "settings" in record else TakeRow
    missing = sorted(_NEEDED[kind] - record.keys())
    if missing:
        raise InputError(f"{where}: {missing[0]} is missing; every take needs it.")
    values = {name: record[name] for name in _FIELDS[kind] if name in record}
    if isinstance(values.get("chords"), list):
        values["chords"] = tuple(values["chords"])
    if not isinstance(values.get("cancelled", False), bool):
        raise InputError(f"{where}: cancelled must be true or false, not {values['cancelled']!r}.")
    try:
        return kind(**values)
    except cells.UNREADABLE as trouble:
        raise InputError(f"{where}: {trouble}.") from trouble


def _input(record: Mapping[str, object], where: str) -> Input:
    session_id, seq, content = record["session_id"], record["seq"], record["input"]
    if not isinstance(session_id, str) or not isinstance(content, dict) or not _counts(seq):
        raise InputError(f"{where}: an input has a session_id, a seq from 1 on, and an object.")
    try:
        return Input(session_id, seq, check_json_object(content, "an input"))
    except cells.UNREADABLE as trouble:
        raise InputError(f"{where}: {trouble}.") from trouble


def _counts(seq: object) -> TypeGuard[int]:
    return type(seq) is int and 1 <= seq < 2**63


def _from_jsonl(text: str, path: Path) -> Iterator[tuple[str, object]]:
    # Only a line feed ends a line: other separators may stand inside a name.
    for number, line in enumerate(text.split("\n"), start=1):
        if line.strip():
            yield f"line {number}", _parsed(line, f"{path}, line {number}")


def _from_json(text: str, path: Path) -> Iterator[tuple[str, object]]:
    whole = _parsed(text, str(path))
    if not isinstance(whole, list):
        raise InputError(f"{path} is no list of takes; give a file that this program wrote.")
    for number, record in enumerate(whole, start=1):
        yield f"take {number}", record


def _parsed(text: str, where: str) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as error:
        line = (
            f", line {error.lineno}" if isinstance(error, json.JSONDecodeError) and error.lineno > 1 else ""
        )
        raise InputError(f"{where}{line}: this is not JSON; it may have been cut off or edited.") from error


def _from_csv(text: str, path: Path) -> Iterator[tuple[str, object]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header: list[str] | None = None
    while True:
        place = f"line {reader.line_num + 1}"
        try:
            fields_there = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise InputError(f"{path}, {place}: this is not CSV ({error}).") from error
        if header is None:
            header = fields_there
        elif fields_there:
            if len(fields_there) != len(header):
                raise InputError(
                    f"{path}, {place}: {len(fields_there)} fields, and the first line names {len(header)}."
                )
            named = zip(header, fields_there, strict=True)
            yield place, {name: _value(name, cell, f"{path}, {place}") for name, cell in named}


def _value(name: str, cell: str, where: str) -> object:
    read_cell = _CELLS.get(name)
    try:
        return formula_undone(cell) if read_cell is None else read_cell(cell)
    except (ValueError, KeyError):
        raise InputError(f"{where}: {name} cannot be {cell!r}.") from None


def _or_none(read_cell: Callable[[str], object]) -> Callable[[str], object]:
    return lambda cell: None if cell == "" else read_cell(cell)


_CELLS: Mapping[str, Callable[[str], object]] = {
    "chords": lambda cell: tuple(formula_undone(cell).split(" ")),
    "beats_per_chord": int,
    "metre": int,
    "tempo_bpm": float,
    "landings": int,
    "first_miss": _or_none(int),
    "misses": _or_none(int),
    "pressed_s": _or_none(float),
    "heard_press_s": _or_none(float),
    "reaction_ms": float,
    "duration_s": float,
    "cancelled": lambda cell: _YES_OR_NO[cell.strip().lower()],
}
"""How the text of a CSV field becomes a value, where it is not text itself."""

_READERS = {".csv": _from_csv, ".jsonl": _from_jsonl, ".json": _from_json}
