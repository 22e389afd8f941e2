"""A log that cannot be written in the middle of a session: nothing answered is lost."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.options import Options
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.records.upkeep import aside, checking, importing
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
        options = Options(settings(), Desk(folder, "tester"), made_up=MadeUpPlayer(84))
        self.conductor = Conductor(begin(options.settings), SimulatedStream(), open_book(log, options))
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

    def key(self, name: str) -> None:
        self.conductor.edge(untaught_edge(self.now_s, "keyboard", f"key {name}", True))
        self.wait(0.5)

    def go_on(self) -> None:
        """Out of the pause."""
        self.key("n")

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
    foot.go_on()
    foot.wait(0.1)
    locker.execute("ROLLBACK")
    foot.conductor.write_waiting()
    foot.play_a_clean_take()
    takes = foot.conductor.book.log.takes(newest_first=False)
    assert [take.tempo_bpm for take in takes] == [60, 68]
    foot.conductor.finish()


# --- kept aside -----------------------------------------------------------------------


def kept_in(folder: Path) -> list[Path]:
    return sorted(folder.glob("kept-aside-*"))


def outcomes(rows: Iterable[object]) -> list[str]:
    return [row.outcome for row in rows if isinstance(row, TakeRow)]


def next_start(folder: Path) -> aside.TakenIn:
    with Log.open(folder) as log:
        return aside.take_in(log)


def is_whole(folder: Path) -> bool:
    """Whether the log has no fault, and every session comes out of its inputs as it is there."""
    found = checking.check(folder / FILE_NAME, datetime.now(UTC), told_otherwise)
    return found.replayed > 0 and not found.faults and not found.remarks


def test_what_the_log_refuses_is_kept_aside_at_that_moment_and_for_this_user_alone(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    # As a program that is killed now would leave it.
    (kept,) = kept_in(tmp_path)
    assert outcomes(importing.read_all(kept)) == ["pass"]
    assert kept.stat().st_mode & 0o777 == 0o600


def test_a_take_that_is_answered_while_the_log_refuses_is_kept_aside_too(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    foot.go_on()
    foot.play_a_clean_take()
    (kept,) = kept_in(tmp_path)
    assert outcomes(importing.read_all(kept)) == ["pass", "pass"]


def test_when_the_log_is_back_nothing_is_left_aside(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    locker.execute("ROLLBACK")
    foot.conductor.write_waiting()
    assert kept_in(tmp_path) == []
    foot.conductor.shut(foot.now_s)
    foot.conductor.finish()
    assert is_whole(tmp_path)


def test_takes_that_could_never_be_written_are_told_of_and_go_in_at_the_next_start(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    foot.conductor.shut(foot.now_s)
    with pytest.raises(InputError, match=r"kept in \S+ and goes into the log at the next start\.$") as told:
        foot.conductor.finish()
    assert str(kept_in(tmp_path)[0]) in str(told.value)
    locker.execute("ROLLBACK")
    assert next_start(tmp_path) == aside.TakenIn(takes=1)
    assert next_start(tmp_path) == aside.TakenIn()
    assert kept_in(tmp_path) == []
    assert is_whole(tmp_path)


def test_a_take_that_was_undone_while_the_log_refused_stays_undone(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    foot.go_on()
    foot.play_a_clean_take()
    foot.key("u")
    with pytest.raises(InputError):
        foot.conductor.finish()
    locker.execute("ROLLBACK")
    next_start(tmp_path)
    with Log.open(tmp_path, read_only=True) as log:
        rows = log.takes(include_cancelled=True, newest_first=False)
    assert [row.cancelled for row in rows] == [False, True]


def test_another_program_may_take_in_what_this_one_still_waits_to_write(foot, locker, tmp_path):
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    locker.execute("ROLLBACK")
    assert next_start(tmp_path).takes == 1
    foot.conductor.write_waiting()
    assert foot.conductor.state.log_trouble is None
    assert len(foot.conductor.book.log.takes()) == 1


def test_what_is_kept_aside_of_one_log_goes_into_no_other(foot, locker, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "everybodys"))
    (tmp_path / "everybodys").mkdir()
    # A folder in the file's place: the data folder will not have it.
    session = foot.conductor.book.session.id
    (tmp_path / f"kept-aside-{session}.jsonl").mkdir()
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    assert len(list((tmp_path / "everybodys").iterdir())) == 1
    assert next_start(tmp_path / "another").takes == 0
    locker.execute("ROLLBACK")
    assert next_start(tmp_path).takes == 1
    assert list((tmp_path / "everybodys").iterdir()) == []


def test_where_nothing_can_be_kept_it_is_said(foot, locker, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "nowhere"))
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    (tmp_path / "nowhere").write_text("no folder")
    (tmp_path / f"kept-aside-{foot.conductor.book.session.id}.jsonl").mkdir()
    locker.execute("BEGIN IMMEDIATE")
    foot.play_a_clean_take()
    with pytest.raises(InputError, match="could be kept nowhere else either"):
        foot.conductor.finish()


def test_a_file_kept_aside_that_cannot_be_read_is_named_and_left(tmp_path):
    (tmp_path / "kept-aside-1.jsonl").write_text("{")
    found = next_start(tmp_path)
    assert found.takes == 0
    assert "kept-aside-1.jsonl, line 1" in found.troubles[0]
    assert kept_in(tmp_path) != []


# --- the log taken away ---------------------------------------------------------------


def deleted(path: Path) -> None:
    for file in path.parent.glob(f"{FILE_NAME}*"):
        file.unlink()


def renamed(path: Path) -> None:
    path.rename(path.with_name("elsewhere.sqlite3"))


def replaced(path: Path) -> None:
    copy = path.with_name("copy.sqlite3")
    copy.write_bytes(path.read_bytes())
    copy.replace(path)


def without_what_belongs_to_it(path: Path) -> None:
    Path(f"{path}-wal").unlink()


@pytest.mark.parametrize("taken_away", [deleted, renamed, replaced, without_what_belongs_to_it])
def test_a_log_that_is_taken_away_under_a_session_costs_no_take(foot, tmp_path, taken_away):
    foot.play_a_clean_take()
    assert len(foot.conductor.book.log.takes()) == 1
    taken_away(tmp_path / FILE_NAME)
    foot.play_a_clean_take()
    assert foot.conductor.state.phase is Phase.PAUSED
    view = present(foot.conductor.state, foot.now_s, Surroundings(shape_book()))
    assert "moved, deleted or replaced" in view.notices[0]
    foot.conductor.shut(foot.now_s)
    with pytest.raises(InputError, match="goes into the log at the next start"):
        foot.conductor.finish()
    foot.conductor.book.log.close()
    next_start(tmp_path)
    with Log.open(tmp_path, read_only=True) as log:
        assert [take.tempo_bpm for take in log.takes(newest_first=False)] == [60, 68]
    assert is_whole(tmp_path)


def test_a_log_that_is_put_back_is_written_again(foot, tmp_path):
    foot.play_a_clean_take()
    renamed(tmp_path / FILE_NAME)
    foot.play_a_clean_take()
    (tmp_path / "elsewhere.sqlite3").rename(tmp_path / FILE_NAME)
    foot.conductor.write_waiting()
    assert foot.conductor.state.log_trouble is None
    assert kept_in(tmp_path) == []
    assert len(foot.conductor.book.log.takes()) == 2


# --- a disk that is full --------------------------------------------------------------


def test_on_a_full_disk_takes_are_kept_on_another_one(small_disk, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with Log.open(small_disk) as log:
        foot = Foot(log, small_disk)
        with suppress(OSError):
            (small_disk / "ballast").write_bytes(b"x" * 10_000_000)
        while foot.conductor.state.log_trouble is None:
            foot.play_a_clean_take()
        assert "full" in foot.conductor.state.log_trouble
        (kept,) = tmp_path.glob("pedaltrainer-kept-aside-*")
        answered = len(foot.conductor.book.takes)
        assert len(outcomes(importing.read_all(kept))) == answered
    (small_disk / "ballast").unlink()
    next_start(small_disk)
    with Log.open(small_disk, read_only=True) as log:
        assert len(log.takes()) == answered
