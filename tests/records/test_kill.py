"""A program killed at any moment loses no take that it had been told was kept."""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from pedaltrainer.records.log import FILE_NAME, Log

ROOT = Path(__file__).parents[2]
KILLS = 10

APPEND = """
import sys
from pathlib import Path
from pedaltrainer.records.log import Log
from tests.records.samples import a_session, a_take
print("ready", flush=True)
with Log.open(Path(sys.argv[1]), busy_timeout_s=30) as log:
    session = a_session()
    log.begin_session(session)
    while True:
        take = a_take(session)
        log.append_take(take)
        print(take.id, flush=True)
        log.append_inputs(session.id, [{"t_s": 1.5, "control": "pass"}] * 3)
"""

START = """
import sys
from pathlib import Path
from pedaltrainer.records.log import Log
from tests.records.samples import a_session
for line in sys.stdin:
    try:
        with Log.open(Path(line.strip())) as log:
            log.begin_session(a_session())
        print("begun", flush=True)
    except Exception as error:
        print(error, flush=True)
"""


LOAD = """
import sys
import time
from pathlib import Path
from pedaltrainer.records.log import Log
from tests.records.samples import a_session, a_take
folder = Path(sys.argv[1])
with Log.open(folder, busy_timeout_s=30) as log:
    session = a_session(player="load")
    log.begin_session(session)
    while True:
        log.append_take(a_take(session))
        log.append_inputs(session.id, [{"pad": "x" * 200}] * 3)
        with Log.open(folder, read_only=True, busy_timeout_s=30) as reader:
            reader.takes(limit=20)
        time.sleep(0.005)
"""


@contextmanager
def under_load(folder: Path, programs: int) -> Iterator[None]:
    """So many other programs that write and read the same log without a pause."""
    Log.open(folder).close()
    running = [subprocess.Popen([sys.executable, "-c", LOAD, str(folder)], cwd=ROOT) for _ in range(programs)]
    try:
        yield
        assert all(program.poll() is None for program in running), "the load ended by itself"
    finally:
        for program in running:
            program.kill()
            program.wait()


def run_and_kill(folder: Path, wait_s: float) -> list[str]:
    """The ids the program had printed as kept when it was killed wait_s after it began to open the log."""
    with subprocess.Popen(
        [sys.executable, "-c", APPEND, str(folder)], cwd=ROOT, stdout=subprocess.PIPE
    ) as program:
        assert program.stdout is not None
        assert program.stdout.readline() == b"ready\n"
        time.sleep(wait_s)
        assert program.poll() is None, "the program ended by itself"
        program.kill()
        printed = program.stdout.read().decode()
    # A line that the kill cut short was not said.
    return [line for line in printed.split("\n")[:-1] if line]


def kill_again_and_again(folder: Path, kills: int, longest_s: float, seed: int) -> tuple[set[str], set[str]]:
    """The ids of takes that were told of as kept and of those that are there, after so many kills.

    The file is whole after each of them.
    """
    chance = random.Random(seed)
    told: list[str] = []
    for _ in range(kills):
        told += run_and_kill(folder, chance.uniform(0, longest_s))
        with closing(sqlite3.connect(folder / FILE_NAME)) as file:
            assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with Log.open(folder, busy_timeout_s=30) as log:
        return set(told), {take.id for take in log.takes(player="Robin")}


@pytest.mark.timeout(300)
def test_killed_at_random_moments_while_others_write_and_read_no_take_it_was_told_of_is_lost(
    tmp_path: Path,
) -> None:
    """`tests.benchmarks.kills` has hundreds more."""
    with under_load(tmp_path, programs=1):
        told, kept = kill_again_and_again(tmp_path, KILLS, 0.4, seed=1905)
    assert len(told) > KILLS
    assert told <= kept
    # Each kill can have hit at most one take that was kept but not yet told.
    assert len(kept) - len(told) <= KILLS


def test_programs_that_start_together_on_a_new_folder_all_get_the_same_log(tmp_path: Path) -> None:
    folders = [tmp_path / str(number) for number in range(40)]
    programs = [
        subprocess.Popen(
            [sys.executable, "-c", START], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(4)
    ]
    answers: list[str] = []
    for folder in folders:
        for program in programs:
            assert program.stdin is not None
            program.stdin.write(f"{folder}\n")
            program.stdin.flush()
        for program in programs:
            assert program.stdout is not None
            answers.append(program.stdout.readline())
    for program in programs:
        program.communicate()
    assert answers == ["begun\n"] * 4 * len(folders)
    for folder in folders:
        with Log.open(folder) as log:
            assert len(log.sessions()) == 4


def test_killed_while_the_log_is_being_made_the_next_start_works(tmp_path: Path) -> None:
    chance = random.Random(7)
    for number in range(KILLS):
        folder = tmp_path / str(number)
        told = run_and_kill(folder, chance.uniform(0, 0.012))
        with Log.open(folder) as log:
            assert set(told) <= {take.id for take in log.takes()}
