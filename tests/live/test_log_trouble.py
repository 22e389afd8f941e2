"""A log that cannot be written in the middle of a session: nothing answered is lost."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.live import app
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import shape_book
from tests.pedals.edges import untaught_edge
from tests.session.playing import settings


class Foot:
    """A conductor on a simulated clock, and a foot that taps."""

    def __init__(self, log: Log, folder: Path) -> None:
        options = app.Options(settings(), Desk(folder, "tester"), made_up=MadeUpPlayer(84))
        self.conductor = Conductor(begin(options.settings), SimulatedStream(), app.open_book(log, options))
        self.conductor.open(0.0)
        self.now_s = 1.0

    def tap(self) -> None:
        for down in (True, False):
            self.conductor.edge(untaught_edge(self.now_s, "pedal", "switch", down))
            self.now_s += 0.1
        self.wait(0.5)

    def wait(self, seconds: float) -> None:
        end_s = self.now_s + seconds
        while (due_s := self.conductor.due_t_s()) is not None and due_s <= end_s:
            self.conductor.advance(due_s)
        self.now_s = end_s

    def play_a_clean_take(self) -> None:
        while self.conductor.state.phase is not Phase.ASKING:
            if self.conductor.state.phase is Phase.READY:
                self.tap()
            self.wait(0.5)
        self.tap()


@pytest.fixture
def foot(tmp_path):
    with Log.open(tmp_path, busy_timeout_s=0.05) as log:
        yield Foot(log, tmp_path)


@pytest.fixture
def locker(tmp_path, foot):
    """Another program that takes the log for itself."""
    connection = sqlite3.connect(tmp_path / "log.sqlite3", isolation_level=None)
    yield connection
    connection.close()


def test_a_locked_log_pauses_the_session_says_why_and_keeps_the_take(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    conductor = foot.conductor
    assert conductor.state.phase is Phase.PAUSED
    view = present(conductor.state, foot.now_s, Surroundings(shape_book()))
    assert "log.sqlite3" in view.notices[0]
    locker.execute("ROLLBACK")
    conductor.write_waiting()
    assert conductor.state.log_trouble is None
    assert [take.outcome for take in conductor.book.log.takes()] == ["pass"]
    assert conductor.state.phase is Phase.PAUSED, "only the player goes on"


def test_takes_reach_the_log_in_their_order_when_it_is_back(foot, locker):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    foot.conductor.edge(untaught_edge(foot.now_s, "keyboard", "key n", True))
    foot.wait(0.1)
    locker.execute("ROLLBACK")
    foot.conductor.write_waiting()
    foot.play_a_clean_take()
    takes = foot.conductor.book.log.takes(newest_first=False)
    assert [take.tempo_bpm for take in takes] == [60, 68]
    foot.conductor.finish()


def test_takes_that_could_never_be_written_are_kept_in_a_file_that_is_named(foot, locker):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    with pytest.raises(InputError, match=r"are kept in (\S+)\.$") as refusal:
        foot.conductor.finish()
    path = Path(str(refusal.value).rsplit(" ", 1)[1].rstrip("."))
    (kept,) = json.loads(path.read_text(encoding="utf-8"))
    assert kept["outcome"] == "pass"
    path.unlink()
