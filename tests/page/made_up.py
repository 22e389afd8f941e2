"""A made-up pupil's log with songs beside it, written through the tables' own checks."""

from __future__ import annotations

import json
import random
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import astuple
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import SessionRow, utc_text
from pedaltrainer.songs import shelf
from tests.benchmarks.big_log import insert

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
TODAY = NOW.date()
CHARTS = {
    "Low Water": "tempo: 92\nby: 2026-03-28\n[Verse] x2\n| Am / / / | F / / / | C / G / | Am / / / |\n",
    "Salt & Lanterns": "tempo: 76\n[Verse]\n| Em / / / | C / / / | G / / / | Em / / / |\n",
}
RISING, FLAT, FALLING = 0.010, 0.0, -0.011
"""Gain in log tempo a day."""
DRILLS = {"Am F": RISING, "F": RISING, "C G": FLAT, "Am C": FALLING, "pressure F": 0.0}


def write_log(
    folder: Path,
    player: str = "Robin",
    drills: Mapping[str, float] = DRILLS,
    *,
    days: int = 60,
    last: datetime = NOW - timedelta(hours=2),
    takes_a_drill: int = 10,
    seed: int = 1,
    part: int = 0,
) -> Path:
    """A log of a sitting every second day, the last one `last`; another player's is added to it.

    part: keeps apart what is written for one player at two times.
    """
    chance = random.Random(seed)
    Log.open(folder).close()
    with closing(sqlite3.connect(folder / FILE_NAME)) as file:
        file.execute("PRAGMA synchronous = OFF")
        for number in range(0, days, 2):
            start = last - timedelta(days=days - 2 - number)
            session_id = f"{player}-{part}-{number:04}"
            session = SessionRow(session_id, player, utc_text(start), "0.1.0", 1, {})
            *rest, settings = astuple(session)
            insert(file, "session", [(*rest, json.dumps(settings))])
            insert(file, "take", _takes(session, start, drills, number, takes_a_drill, chance))
        file.commit()
    return folder


def _takes(
    session: SessionRow,
    start: datetime,
    drills: Mapping[str, float],
    day: int,
    takes_a_drill: int,
    chance: random.Random,
) -> list[tuple[object, ...]]:
    rows: list[tuple[object, ...]] = []
    when = start
    for words, per_day in drills.items():
        drill, clean_bpm = parse_drill(words), 80 * 2.718 ** (per_day * day)
        for number in range(takes_a_drill):
            tempo_bpm = float(round(clean_bpm * (0.9, 0.97, 1.04, 1.1)[number % 4]))
            clean = chance.random() < 1 / (1 + (tempo_bpm / clean_bpm) ** 25 / 4)
            spent_s = 12 * 60 / tempo_bpm
            rows.append((
                f"{session.id}-{len(rows):03}", session.id, session.player,
                drill.key, json.dumps(drill.chords), 1, 4, tempo_bpm, 8, "pass" if clean else "fail",
                None if clean else 5, "foot", "speak-up", "seek",
                utc_text(when), utc_text(when + timedelta(seconds=spent_s)), None, None, 250.0, spent_s,
            ))  # fmt: skip
            when += timedelta(seconds=spent_s + 3)
        when += timedelta(minutes=3)
    return rows


def write_songs(folder: Path, charts: Mapping[str, str] = CHARTS, today: date = TODAY) -> None:
    """Put songs on the shelf of a data folder."""
    for title, chart in charts.items():
        written = folder / "a-song.txt"
        written.write_text(f"title: {title}\n{chart}", encoding="utf-8")
        shelf.add(folder, written, today)
        written.unlink()
