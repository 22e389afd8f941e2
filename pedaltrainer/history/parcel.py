"""A record that goes elsewhere: clean tempos as plain data, and everything about one player in one file."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.history import known
from pedaltrainer.history.desk import Desk
from pedaltrainer.practice import progress
from pedaltrainer.practice.drill import Drill
from pedaltrainer.records import table
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import SessionRow, TakeRow, utc_text
from pedaltrainer.records.upkeep import exporting
from pedaltrainer.records.upkeep import of_one_player as pack_return
from pedaltrainer.system.files import OTHER_FILE, scratch_of, whole_file
from pedaltrainer.system.patience import Waiting, in_silence
from pedaltrainer.system.reading import There, what_is_at

ABOUT = """\
Everything this machine keeps about {player}, as of {when}.

log.sqlite3      the log itself, with nobody else in it; `pedaltrainer log merge` joins it to another
takes.csv        each take, as a table
takes.jsonl      each take and session, an object a line
inputs.jsonl     each press and timer event of each session
tempos.csv       the clean tempo of each drill and day
settings.toml    the settings of this machine, and
songs, packs     what is kept beside the log; they are nobody's in particular

What the columns mean is in docs/guide/json.md. Nothing of this is kept anywhere else.
"""

BESIDE = ("settings.toml", "shapes.toml", "songs", "packs", "pedals")
"""What may stand beside a log and belongs to whoever plays here."""


# --- clean tempos ------------------------------------------------------------------------


def tempos(desk: Desk, since_utc: str = "", waiting: Waiting = in_silence) -> list[dict[str, Any]]:
    """A player's clean tempo of each drill and day that began since then, oldest first within a drill.

    Raises InputError for a log that cannot be read or a player it does not know.
    """
    looked = known.look_back(desk, lambda there: there, None)
    return [
        _tempo(desk.player, one.drill, day)
        for one in waiting(looked.records, "Working out")
        for day in progress.days_of(one.drill, one.sessions)
        if utc_text(day.began) >= since_utc
    ]


def _tempo(player: str, drill: Drill, day: progress.Day) -> dict[str, Any]:
    bounds = (day.bpm, day.low_bpm, day.high_bpm)
    measured = (None if bpm is None else round(bpm, 2) for bpm in bounds)
    values = (
        player,
        drill.key,
        day.date.isoformat(),
        utc_text(day.began),
        day.takes,
        round(day.minutes, 2),
        *measured,
    )
    return dict(zip(exporting.TEMPO_COLUMNS, values, strict=True))


# --- takes -------------------------------------------------------------------------------


def takes_since(log: Log, player: str | None, since_utc: str) -> tuple[list[TakeRow], dict[str, SessionRow]]:
    """Takes that began since then, oldest first, those taken back too, and their sessions by id."""
    takes = [
        row
        for row in log.takes(player=player, include_cancelled=True, newest_first=False)
        if row.started_utc >= since_utc
    ]
    of_them = {row.session_id for row in takes}
    return takes, {session.id: session for session in log.sessions(player) if session.id in of_them}


# --- one player --------------------------------------------------------------------------


def write_player(desk: Desk, target: Path, now: datetime, waiting: Waiting = in_silence) -> int:
    """Write everything about a player into a ZIP file; returns how many takes, those taken back too.

    Raises InputError when there is no such player, a file there already, or no room for one.
    """
    if target.suffix.lower() != ".zip":
        raise InputError(f"{target} should end in .zip, since everything goes into one ZIP file.")
    with whole_file(target, force=False, mend=OTHER_FILE) as file:
        with desk.log() as log:
            shown = log.names().shown(desk.player)
        with scratch_of(desk.folder / FILE_NAME) as scratch:
            own = Desk(scratch, shown)
            pack_return.return_log(desk.folder, shown, own.folder / FILE_NAME)
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as parcel:
                takes = _fill(parcel, own, now, waiting)
                _add_beside(parcel, desk.folder)
    return takes


def _fill(parcel: zipfile.ZipFile, own: Desk, now: datetime, waiting: Waiting) -> int:
    with own.log() as log:
        takes, sessions = takes_since(log, None, "")
        inputs = "".join(_inputs(log, sessions))
    parcel.writestr("README.txt", ABOUT.format(player=own.player, when=utc_text(now)))
    parcel.write(own.folder / FILE_NAME, FILE_NAME)
    parcel.writestr("takes.csv", table.as_csv(takes))
    parcel.writestr("takes.jsonl", exporting.takes_as_jsonl(takes, sessions))
    parcel.writestr("inputs.jsonl", inputs)
    parcel.writestr("tempos.csv", exporting.tempos_as_csv(tempos(own, waiting=waiting)))
    return len(takes)


def _inputs(log: Log, sessions: Iterable[str]) -> Iterator[str]:
    for id in sessions:
        for seq, content in enumerate(log.inputs(id), start=1):
            yield exporting.line_of({"session_id": id, "seq": seq, "input": content})


def _add_beside(parcel: zipfile.ZipFile, folder: Path) -> None:
    for name in BESIDE:
        place = folder / name
        for path in sorted(place.rglob("*")) if place.is_dir() else [place]:
            if what_is_at(path) is There.FILE:
                # A name that is not UTF-8 has no place in a ZIP file.
                name = str(path.relative_to(folder)).encode(errors="replace").decode()
                parcel.write(path, name)
