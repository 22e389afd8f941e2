"""A log that version 0.1.0 wrote: it opens, is whole, and its sessions are told again as they were.

Two of them were played on ladders that are no longer in the program: their takes are kept.
"""

from __future__ import annotations

import gzip
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import get_args

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.records.log import Log
from pedaltrainer.session.events import Event

OF_0_1_0 = Path(__file__).parents[1] / "data" / "log-of-0.1.0.sqlite3.gz"
SESSIONS, TAKES = 17, 189
GONE = {"up-down", "weighted"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A player's folder with that log in it."""
    (tmp_path / "log.sqlite3").write_bytes(gzip.decompress(OF_0_1_0.read_bytes()))
    return tmp_path


def test_every_session_on_a_ladder_of_today_tells_the_takes_that_were_written(folder: Path) -> None:
    with Log.open(folder) as log:
        takes = sorted(log.takes(include_cancelled=True), key=lambda take: take.id)
        sessions = log.sessions()
        assert (len(sessions), len(takes)) == (SESSIONS, TAKES)
        for session in sessions:
            written = [take for take in takes if take.session_id == session.id]
            assert written
            if (ladder := session.settings["ladder"]) in GONE:
                with pytest.raises(InputError, match=f"its ladder, “{ladder}”, is no longer part"):
                    told_otherwise(session, log.inputs(session.id), written)
            else:
                assert told_otherwise(session, log.inputs(session.id), written) is None


def test_the_log_holds_what_a_new_program_could_read_otherwise(folder: Path) -> None:
    """Both answer styles, all kinds of drill, pedals that went and came, takes taken back, a lesson."""
    with Log.open(folder) as log:
        inputs = Counter(record["event"] for row in log.sessions() for record in log.inputs(row.id))
        takes = log.takes(include_cancelled=True)
        styles = {str(row.settings["answer_style"]) for row in log.sessions()}
    assert set(inputs) <= {kind.__name__ for kind in get_args(Event)}
    assert {"Opened", "Pressed", "Given", "Due", "InputLost", "InputBack", "Taught", "Shut"} <= set(inputs)
    assert styles == {"ask", "speak-up"}
    kinds = {take.drill.split()[0] for take in takes}
    assert kinds == {"change", "re-land", "pressure", "level", "shared", "passage"}
    assert {take.outcome for take in takes} == {"pass", "fail", "void"}
    assert any(take.cancelled for take in takes)


def test_the_check_calls_it_whole(folder: Path, said: Callable[..., str]) -> None:
    told = said("log", "check", "--data", folder)
    assert f"{TAKES} takes in {SESSIONS} sessions" in told
    assert f"Everything is whole; run again from inputs: {SESSIONS - len(GONE)} sessions." in told
    assert all(f"its ladder, “{ladder}”, is no longer part of the program" in told for ladder in GONE)
