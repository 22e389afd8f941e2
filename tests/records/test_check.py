"""A log looked into and, when it is damaged, saved into a new one; the old file is never changed."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.names import PlayerChange
from pedaltrainer.records.rows import SessionRow, TakeRow, new_id, utc_text
from pedaltrainer.records.upkeep import checking, repairing
from pedaltrainer.records.upkeep.checking import Checked, made_at
from pedaltrainer.records.upkeep.repairing import Repaired
from tests.records import samples
from tests.records.samples import EVENING, a_session, a_take

NOW = EVENING + timedelta(days=30)
TODAY = datetime.now(UTC)


def a_log(folder: Path, sessions: int = 12, takes: int = 10) -> tuple[list[TakeRow], list[SessionRow]]:
    """A log with rows of every table, some of which run over several pages."""
    with Log.open(folder) as log:
        for number in range(sessions):
            began = utc_text(TODAY - timedelta(minutes=number))
            session = a_session(started_utc=began, settings={"notes": "n" * 700 * number})
            log.begin_session(session)
            for _ in range(takes):
                take = a_take(session, started_utc=began, ended_utc=began)
                log.append_take(take)
                log.append_inputs(session.id, [{"event": "Due", "pad": "p" * 100 * number}] * 2)
            log.cancel_take(take.id, began, "undo")
        log.append_changes([PlayerChange(new_id(), "Kim", "archive", "Kim", began)])
        return everything(log)


def everything(log: Log) -> tuple[list[TakeRow], list[SessionRow]]:
    return log.takes(include_cancelled=True), log.sessions()


def look(path: Path, now: datetime | None = None) -> Checked:
    return checking.check(path, now or datetime.now(UTC), lambda *_: None)


def repaired_as_a_log(path: Path, folder: Path) -> tuple[Repaired, tuple[list[TakeRow], list[SessionRow]]]:
    before = path.read_bytes()
    found = repairing.repair(path, folder / FILE_NAME)
    assert path.read_bytes() == before
    assert look(found.path).faults == ()
    with Log.open(folder) as log:
        return found, everything(log)


# --- looking ------------------------------------------------------------------------------


def test_a_whole_log_has_no_faults_and_is_not_touched(tmp_path: Path) -> None:
    a_log(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    found = look(tmp_path / FILE_NAME)
    assert (found.faults, found.remarks) == ((), ())
    assert (found.counts["take"], found.counts["session"], found.replayed) == (120, 12, 12)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def without_guards(path: Path, *statements: str) -> None:
    """What somebody with another program could have done to the file."""
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA ignore_check_constraints = ON")
        triggers = file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            file.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            file.execute(statement)
        file.commit()


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE take SET landings = 0 WHERE rowid = 1", "1 take breaks the rules of the log"),
        (
            "UPDATE take SET started_utc = '2026-02-31T10:00:00.000Z' WHERE rowid < 3",
            "2 takes break the rules",
        ),
        ("UPDATE take SET player = 'Kim' WHERE rowid < 3", "2 takes with another player than the session"),
        (
            "UPDATE take SET ended_utc = '2001-01-01T00:00:00.000Z' WHERE rowid = 1",
            "end before the beginning",
        ),
        ("DELETE FROM session WHERE rowid = 1", "rows of the table take whose session is not there: 10"),
        ("DELETE FROM take WHERE rowid = 10", "rows of the table cancellation whose take is not there: 1"),
        ("DELETE FROM input WHERE seq = 2", "gaps in its inputs"),
        ("UPDATE input SET content = '[1]' WHERE seq = 2", "12 inputs break the rules"),
    ],
)
def test_rows_that_somebody_changed_are_named(tmp_path: Path, statement: str, said: str) -> None:
    a_log(tmp_path)
    without_guards(tmp_path / FILE_NAME, statement)
    found = look(tmp_path / FILE_NAME)
    assert said in " ".join([*found.faults, *found.remarks])


def test_a_clock_that_was_wrong_is_a_remark_and_no_fault(tmp_path: Path) -> None:
    with Log.open(tmp_path) as log:
        log.begin_session(session := a_session())
        for date in ("2031-05-01T10:00:00.000Z", "1970-01-01T00:00:07.000Z"):
            log.append_take(a_take(session, started_utc=date, ended_utc=date))
    found = look(tmp_path / FILE_NAME, NOW)
    assert found.faults == ()
    said = " ".join(found.remarks)
    assert "1 take dated in the future" in said
    assert "1 take dated before 2000" in said
    assert "2 of the takes dated more than a day from when the id was made" in said


def test_an_id_tells_when_it_was_made() -> None:
    # RFC 9562, appendix A.6: the example of UUID version 7, made at 2022-02-22 14:22:22.00 GMT-05:00.
    made = made_at("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
    assert made == datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)
    assert made_at("3d813cbb-47fb-32ba-91df-831e1593ac29") is None, "version 3 holds no time"
    assert made_at("session-0000001") is None


def test_a_session_that_its_inputs_tell_otherwise_is_remarked_upon(tmp_path: Path) -> None:
    a_log(tmp_path, sessions=1)
    found = checking.check(tmp_path / FILE_NAME, NOW, lambda *_: "take 3 is another")
    assert any("take 3 is another" in remark for remark in found.remarks)
    # The inputs of these sessions are none: that too is said and is no crash.
    assert "no session event" in " ".join(checking.check(tmp_path / FILE_NAME, NOW, told_otherwise).remarks)


# --- saving -------------------------------------------------------------------------------


def test_of_a_whole_log_every_row_is_saved(tmp_path: Path) -> None:
    before = a_log(tmp_path / "old")
    found, after = repaired_as_a_log(tmp_path / "old" / FILE_NAME, tmp_path / "new")
    assert after == before
    assert (found.broken, found.left_out, found.sessions_made) == (0, 0, 0)
    assert found.added == {"session": 12, "take": 120, "cancellation": 12, "input": 240, "player_change": 1}


@settings(max_examples=40)
@given(st.data())
def test_any_row_a_log_takes_is_read_from_its_pages(data: st.DataObject) -> None:
    session = data.draw(samples.sessions)
    takes = data.draw(st.lists(samples.takes(session.id), max_size=4))
    inputs = data.draw(st.lists(samples.json_objects, max_size=4))
    with TemporaryDirectory() as scratch:
        with Log.open(Path(scratch) / "old") as log:
            log.begin_session(session)
            for take in takes:
                log.append_take(take)
            log.append_inputs(session.id, inputs)
            before = everything(log)
        found = repairing.repair(Path(scratch) / "old" / FILE_NAME, Path(scratch) / "new" / FILE_NAME)
        assert found.broken == 0
        with Log.open(Path(scratch) / "new") as log:
            assert everything(log) == before
            assert log.inputs(session.id) == inputs


def test_rows_that_are_only_in_the_write_ahead_log_are_saved(tmp_path: Path) -> None:
    with Log.open(tmp_path / "played") as log:
        log.begin_session(session := a_session())
        takes = [a_take(session) for _ in range(50)]
        for take in takes:
            log.append_take(take)
        shutil.copytree(tmp_path / "played", tmp_path / "left")
    (tmp_path / "left" / f"{FILE_NAME}-shm").unlink()
    # The file itself was lost but for its first pages, which hold no row.
    _, (saved, _) = repaired_as_a_log(tmp_path / "left" / FILE_NAME, tmp_path / "new")
    assert {take.id for take in saved} == {take.id for take in takes}


def cut_in_half(content: bytes) -> bytes:
    return content[: len(content) // 2 + 77]


def beginning_lost(content: bytes) -> bytes:
    return bytes(8192) + content[8192:]


def holes(content: bytes) -> bytes:
    chance, damaged = random.Random(4), bytearray(content)
    for page in chance.sample(range(3, len(content) // 4096), 12):
        damaged[page * 4096 : (page + 1) * 4096] = chance.randbytes(4096)
    return bytes(damaged)


def copied_half_way(content: bytes) -> bytes:
    """As a copy that was begun over zeros and stopped."""
    return content[: len(content) // 2] + bytes(len(content) - len(content) // 2)


@pytest.mark.parametrize("spoil", [cut_in_half, beginning_lost, holes, copied_half_way])
def test_of_a_torn_log_what_can_be_read_is_saved_and_nothing_else(
    tmp_path: Path, spoil: Callable[[bytes], bytes]
) -> None:
    takes, _ = a_log(tmp_path / "old", sessions=20)
    path = tmp_path / "old" / FILE_NAME
    path.write_bytes(spoil(path.read_bytes()))
    assert look(path).faults, "damage is found"
    found, (saved, sessions) = repaired_as_a_log(path, tmp_path / "new")
    there = {take.id: take for take in takes}
    for take in saved:
        kept = there[take.id]
        assert (take.player, take.tempo_bpm, take.started_utc) == (
            kept.player,
            kept.tempo_bpm,
            kept.started_utc,
        )
    assert len(saved) > len(takes) // 5
    assert {take.session_id for take in saved} <= {session.id for session in sessions}
    assert found.added["take"] == len(saved)


@pytest.mark.parametrize(
    "record",
    [
        ("a session", 0, "{}"),
        ("a session", -3, "{}"),
        ("a session", 1, '{"heard_s": NaN}'),
        ("a session", 1, "[]"),
        ("", "a take", "2026-03-01T18:05:09.250Z", "undone"),
        ("a change", "", "rename", "uli", "2026-03-01T18:05:09.250Z"),
    ],
)
def test_a_row_that_the_log_would_refuse_is_counted_as_broken_and_not_saved(
    record: tuple[object, ...],
) -> None:
    saved = repairing.Saved()
    repairing._keep(saved, record)
    assert saved.broken == 1
    assert not (saved.inputs)
    assert not (saved.cancellations)
    assert not (saved.changes)


@settings(max_examples=40)
@given(st.randoms(use_true_random=False), st.integers(1, 200))
def test_whatever_bytes_are_changed_saving_ends_in_rows_that_keep_the_rules_or_a_sentence(
    chance: random.Random, changes: int
) -> None:
    content = bytearray(_small_log())
    for _ in range(changes):
        content[chance.randrange(100, len(content))] = chance.randrange(256)
    with TemporaryDirectory() as scratch:
        path = Path(scratch) / "bad.sqlite3"
        path.write_bytes(content)
        checking.check(path, NOW, told_otherwise)
        try:
            found = repairing.repair(path, Path(scratch) / "new.sqlite3")
        except InputError:
            assert not (Path(scratch) / "new.sqlite3").exists()
        else:
            assert look(found.path).counts["take"] == found.added["take"]
        assert path.read_bytes() == bytes(content)


_KEPT: list[bytes] = []


def _small_log() -> bytes:
    if not _KEPT:
        with TemporaryDirectory() as scratch:
            a_log(Path(scratch), sessions=3, takes=4)
            _KEPT.append((Path(scratch) / FILE_NAME).read_bytes())
    return _KEPT[0]


# --- refusals -----------------------------------------------------------------------------


def test_nothing_is_written_over(tmp_path: Path) -> None:
    a_log(tmp_path, sessions=1)
    (tmp_path / "new.sqlite3").write_text("mine")
    with pytest.raises(InputError, match="is there already"):
        repairing.repair(tmp_path / FILE_NAME, tmp_path / "new.sqlite3")
    assert (tmp_path / "new.sqlite3").read_text() == "mine"


def test_a_newer_log_is_neither_checked_nor_repaired(tmp_path: Path) -> None:
    a_log(tmp_path, sessions=1)
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as file:
        file.execute("PRAGMA user_version = 99")
    before = (tmp_path / FILE_NAME).read_bytes()
    with pytest.raises(InputError, match="newer version"):
        look(tmp_path / FILE_NAME)
    with pytest.raises(InputError, match="newer version"):
        repairing.repair(tmp_path / FILE_NAME, tmp_path / "new.sqlite3")
    assert (tmp_path / FILE_NAME).read_bytes() == before


@pytest.mark.parametrize("content", [b"", b"dear diary", bytes(50_000), random.Random(1).randbytes(50_000)])
def test_a_file_without_a_take_is_said_to_be_one(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x").write_bytes(content)
    assert look(tmp_path / "x").faults == ("the beginning of the file is not that of a log",)
    with pytest.raises(InputError, match="Nothing can be read"):
        repairing.repair(tmp_path / "x", tmp_path / "new.sqlite3")
    assert not (tmp_path / "new.sqlite3").exists()
