"""Takes written to files that other programs read: CSV (RFC 4180) and JSON Lines (UTF-8, an object a line).

The columns and keys are the fields of `TakeRow`, times ISO 8601 in UTC. In JSON Lines each session stands
before its first take, as an object with `settings`; CSV has no room for it.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.records.rows import Input, SessionRow, TakeRow
from pedaltrainer.records.table import as_csv, no_formula
from pedaltrainer.system.files import OTHER_FILE, write_whole

TEMPO_COLUMNS = (
    "player",
    "drill",
    "date",
    "began_utc",
    "takes",
    "minutes",
    "clean_tempo_bpm",
    "low_bpm",
    "high_bpm",
)
"""A drill's clean tempo of a day: date is the player's, an empty or null tempo is one that was not told."""

SUFFIXES = (".csv", ".jsonl")


def line_of(value: Mapping[str, Any]) -> str:
    """One line of JSON Lines."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False) + "\n"


def takes_as_jsonl(takes: Iterable[TakeRow], sessions: Mapping[str, SessionRow]) -> str:
    """The takes in the order given, each session before its first take."""
    lines, said = [], set()
    for take in takes:
        if take.session_id not in said and take.session_id in sessions:
            said.add(take.session_id)
            lines.append(line_of(asdict(sessions[take.session_id])))
        lines.append(line_of(asdict(take)))
    return "".join(lines)


def kept_as_jsonl(session: SessionRow, takes: Iterable[TakeRow], inputs: Iterable[Input]) -> str:
    """A session with its takes and inputs, all that `import` needs to bring it in whole."""
    lines = [takes_as_jsonl(takes, {session.id: session})]
    lines += (
        line_of({"session_id": session_id, "seq": seq, "input": json.loads(content)})
        for session_id, seq, content in inputs
    )
    return "".join(lines)


def write_takes(path: Path, takes: Sequence[TakeRow], sessions: Mapping[str, SessionRow]) -> None:
    """Write takes in the form of the file's suffix, all of them or no file.

    Raises InputError for another suffix or a file that cannot be written.
    """
    _write(path, lambda: as_csv(takes), lambda: takes_as_jsonl(takes, sessions))


def write_tempos(path: Path, tempos: Sequence[Mapping[str, Any]]) -> None:
    """Write clean tempos, each with the TEMPO_COLUMNS. Raises InputError as `write_takes` does."""
    _write(path, lambda: tempos_as_csv(tempos), lambda: "".join(map(line_of, tempos)))


def tempos_as_csv(tempos: Sequence[Mapping[str, Any]]) -> str:
    """RFC 4180 text; what is not told is empty."""
    lines: list[str] = []

    class _Lines:
        write = staticmethod(lines.append)

    writer = csv.DictWriter(_Lines(), TEMPO_COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({name: no_formula(value) for name, value in row.items()} for row in tempos)
    return "".join(lines)


def check_suffix(path: Path) -> None:
    """Raises InputError for a file whose name does not say how to write it."""
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(f"{path} should end in .csv or .jsonl, so that its name says how it is written.")


def _write(path: Path, to_csv: Callable[[], str], to_jsonl: Callable[[], str]) -> None:
    check_suffix(path)
    write_whole(path, to_csv() if path.suffix.lower() == ".csv" else to_jsonl(), mend=OTHER_FILE)
