"""How fast a long record is read: logs of ten thousand, a hundred thousand and a million takes.

    python -m tests.benchmarks.big_log [--takes N ...] [--folder DIR] [--appends N]

Makes a log of each size in DIR (default: the system's temporary folder; a log that is there already is
used again): four players over ten years, 200 drills, each day's drills drawn at random, so that every
drill of every player stays in play; 30 takes a drill and sitting, one in a hundred void, one in a hundred
taken back. Then everything that is asked of a log at a start is run in a Python of its own and timed from
after its imports, with the most memory that it held. "First" is the first of the runs, when the system may
not yet hold the file in memory; "of work" is the processor's time, which other programs hinder less.
"""

from __future__ import annotations

import argparse
import json
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import astuple
from datetime import UTC, datetime, timedelta
from itertools import combinations, islice
from pathlib import Path
from statistics import median

from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.records.cells import TAKE_COLUMNS
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import SessionRow, utc_text
from pedaltrainer.session.replay import settings_to_json
from pedaltrainer.session.settings import Settings
from pedaltrainer.songs import shelf
from tests.benchmarks.log_append import line, times_ms
from tests.records.samples import a_take

SIZES = (10_000, 100_000, 1_000_000)
PLAYERS = ("tess", "kim", "robin", "alex")
RUNS = 5
YEARS, DRILLS, TAKES_A_SITTING = 10, 200, 30
LAST_DAY = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
CHORDS = (
    *("A", "Am", "Am7", "B7", "Bb", "Bm", "C", "C7", "Cmaj7", "D", "D7", "Dm"),
    *("E", "E7", "Em", "F", "F#m", "Fm", "G", "G7"),
)

TIMED = """
import json, pkgutil, resource, sys, time
from contextlib import redirect_stdout
from datetime import UTC, datetime
from importlib import import_module
from io import StringIO
from pathlib import Path
import pedaltrainer
from pedaltrainer import cli, commands, history, live, neck, practice, records, songs, telling
from pedaltrainer.history import known
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.played import played_by_day
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
for room in (commands, history, live, neck, practice, records, songs, telling):
    for module in pkgutil.iter_modules(room.__path__, room.__name__ + "."):
        import_module(module.name)
folder, now = Path(sys.argv[1]), datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
def command(words):
    with redirect_stdout(StringIO()) as said:
        code = cli.main([*words, "--data", str(folder)])
    assert code == 0, said.getvalue()
began_s, worked_s = time.perf_counter(), time.process_time()
{step}
spent_ms, worked_ms = (time.perf_counter() - began_s) * 1000, (time.process_time() - worked_s) * 1000
print(json.dumps([spent_ms, worked_ms, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""

STEPS = {
    "play: what is known": (
        "found = known.read_known(Desk(folder, 'tess'))\n"
        "for drill in found.last_drills: found.history(drill, now)"
    ),
    "evidence of 20 drills": (
        "with Log.open(folder, read_only=True) as log: keys = log.drills('tess')[::10]\n"
        "known.evidence(Desk(folder, 'tess'), now, [parse_drill(key) for key in keys])"
    ),
    "evidence of all": "known.evidence(Desk(folder, 'tess'), now)",
    "plan": "command(['plan', '--player', 'tess'])",
    "song ready": "command(['song', 'ready', '--player', 'tess'])",
    "progress": "command(['progress', '--player', 'tess'])",
    "progress of one": "command(['progress', {drill!r}, '--player', 'tess'])",
    "progress --all of one": "command(['progress', {drill!r}, '--all', '--player', 'tess'])",
    "log --limit 50": "command(['log', '--limit', '50', '--player', 'tess'])",
    "minutes by day": (
        "with Log.open(folder, read_only=True) as log: played_by_day(log, 'tess', UTC)"
    ),
}  # fmt: skip


CHARTS = {
    "Slow Harbour": "tempo: 84\n[Verse] x2\n| C / / / | Am / / / | F / / / | G / / / |\n"
    "| Dm / / / | Am / / / | F / G / | C / / / |\n",
    "Tin Roof": "tempo: 112\n[Verse] x2\n| E7 / / / | A / / / | D / / / | A / / / |\n"
    "[Refrain]\n| Bm / / / | F#m / / / | D / E7 / | A / / / |\n",
    "Late Bus": "tempo: 96\n[Verse]\n| Em / / / | B7 / / / | Em / G / | Cmaj7 / / / |\n"
    "| Am7 / / / | Fm / / / | Cmaj7 / B7 / | Em / / / |\n",
}
"""Invented songs, for `plan` and `song ready`: two dozen changes."""


# --- making --------------------------------------------------------------------------


def drills() -> list[Drill]:
    changes = [" ".join(pair) for pair in combinations(CHORDS, 2)]
    return [parse_drill(words) for words in (*CHORDS, *changes)][:DRILLS]


def sittings(takes: int, chance: random.Random) -> Iterator[tuple[str, datetime, list[Drill]]]:
    """Player, start and drills of every session, oldest first."""
    there, needed = drills(), takes // TAKES_A_SITTING
    slots = YEARS * 365 * len(PLAYERS)
    done = 0
    for slot in range(slots):
        due = needed * (slot + 1) // slots - done
        if due:
            day, who = divmod(slot, len(PLAYERS))
            start = LAST_DAY - timedelta(days=YEARS * 365 - 1 - day, minutes=chance.uniform(-90, 90))
            yield PLAYERS[who], start, chance.choices(there, k=due)
            done += due


def make(folder: Path, takes: int, seed: int = 1) -> None:
    """Write a log of so many takes (rounded down to whole sittings) through the tables' own checks."""
    chance = random.Random(seed)
    skill = {(player, drill.key): chance.uniform(60, 110) for player in PLAYERS for drill in drills()}
    Log.open(folder).close()
    with closing(sqlite3.connect(folder / FILE_NAME)) as file:
        file.execute("PRAGMA synchronous = OFF")
        all_of_them = list(sittings(takes, chance))
        for number, (player, start, practised) in enumerate(with_bar(all_of_them, f"Making {takes} takes")):
            begins = settings_to_json(begun_with(player, practised, skill))
            rows = list(takes_of(number, player, start, practised, skill, chance))
            session = SessionRow(f"session-{number:07}", player, utc_text(start), "0.1.0", 1, begins)
            *rest, settings = astuple(session)
            insert(file, "session", [(*rest, json.dumps(settings))])
            insert(file, "take", rows)
            taken_back = [row[0] for row in rows if chance.random() < 0.01]
            insert(file, "cancellation", [(f"c{id}", id, utc_text(start), "undo") for id in taken_back])
        file.commit()
    for title, chart in CHARTS.items():
        written = folder / f"{title}{shelf.SUFFIX}"
        written.write_text(chart, encoding="utf-8")
        shelf.add(folder, written, LAST_DAY.date())


def begun_with(player: str, practised: list[Drill], skill: dict[tuple[str, str], float]) -> Settings:
    """A session's settings: what was found before of each drill is in them."""
    tempos = [skill[player, drill.key] for drill in practised]
    known = tuple((PastResult(bpm, bpm / 1.05, bpm * 1.05, 20.0),) for bpm in tempos)
    return Settings(tuple(practised), histories=known)


def takes_of(
    number: int,
    player: str,
    start: datetime,
    practised: list[Drill],
    skill: dict[tuple[str, str], float],
    chance: random.Random,
) -> Iterator[tuple[object, ...]]:
    when = start
    for drill in practised:
        clean_bpm = skill[player, drill.key] = skill[player, drill.key] * chance.uniform(0.99, 1.012)
        for _ in range(TAKES_A_SITTING):
            tempo_bpm = float(round(clean_bpm * chance.uniform(0.88, 1.15)))
            clean = chance.random() < 1 / (1 + (tempo_bpm / clean_bpm) ** 20 / 4)
            outcome = "void" if chance.random() < 0.01 else "pass" if clean else "fail"
            spent_s = 12 * 60 / tempo_bpm
            at, when = when, when + timedelta(seconds=spent_s + 3)
            yield (
                f"{number:07}-{(at - start).total_seconds():010.3f}", f"session-{number:07}", player,
                drill.key, json.dumps(drill.chords), 1, 4, tempo_bpm, 8, outcome,
                chance.randint(1, 8) if outcome == "fail" else None, "foot", "speak-up", "seek",
                utc_text(at), utc_text(when), 12.5, 12.25, 250.0, spent_s,
            )  # fmt: skip


def insert(file: sqlite3.Connection, table: str, rows: list[tuple[object, ...]]) -> None:
    if rows:
        named = f" ({', '.join(TAKE_COLUMNS[: len(rows[0])])})" if table == "take" else ""
        file.executemany(f"INSERT INTO {table}{named} VALUES ({', '.join('?' * len(rows[0]))})", rows)


# --- measuring -------------------------------------------------------------------------


def timed(folder: Path, step: str) -> tuple[float, float, float]:
    """Milliseconds, milliseconds of work and MiB of a step in a Python of its own."""
    code = TIMED.replace("{step}", step)
    done = subprocess.run([sys.executable, "-c", code, str(folder)], capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(done.stderr)
    ms, worked_ms, mib = json.loads(done.stdout.splitlines()[-1])
    return ms, worked_ms, mib


def measure(folder: Path, appends: int) -> None:
    with Log.open(folder, read_only=True) as log:
        takes, drill = log.count_takes(), log.drills(PLAYERS[0])[0]
    size_mib = (folder / FILE_NAME).stat().st_size / 2**20
    print(f"\n{takes:,} takes, {size_mib:.0f} MiB on disk")
    for name, step in STEPS.items():
        runs = [timed(folder, step.replace("{drill!r}", repr(drill))) for _ in range(RUNS)]
        first_ms, typical_ms = runs[0][0], median(ms for ms, _, _ in runs)
        worked_ms, most_mib = median(worked for _, worked, _ in runs), max(mib for _, _, mib in runs)
        print(
            f"  {name:<24} first {first_ms:6.0f} ms   typical {typical_ms:6.0f} ms   "
            f"of work {worked_ms:6.0f} ms   {most_mib:5.0f} MiB"
        )
    print("  " + line("open and close to write", times_ms(lambda: Log.open(folder).close(), 20)))
    with Log.open(folder) as log:
        (session,) = log.sessions(PLAYERS[0], limit=1)
        now = utc_text(LAST_DAY + timedelta(hours=2))
        takes_made = (a_take(session, started_utc=now, ended_utc=now) for _ in range(appends))
        spent_ms = times_ms(lambda: log.append_take(next(islice(takes_made, 1))), appends)
        print("  " + line("append_take with fsync", spent_ms))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--takes", type=int, nargs="+", default=SIZES)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--appends", type=int, default=1000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        for takes in asked.takes:
            folder = (asked.folder or Path(scratch)) / f"takes-{takes}"
            if not folder.exists():
                began_s = time.perf_counter()
                make(folder, takes)
                print(f"made {takes:,} takes in {time.perf_counter() - began_s:.0f} s")
            measure(folder, asked.appends)


if __name__ == "__main__":
    main()
