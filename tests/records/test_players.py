"""Several players in one log: named anew, put away, and erased without a trace."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from datetime import timedelta
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.names import Names, PlayerChange
from pedaltrainer.records.rows import utc_text
from pedaltrainer.records.upkeep import aside, merging, players
from tests.records.samples import EVENING, a_session, a_take

LATER = EVENING + timedelta(days=1)


def play(log: Log, player: str, takes: int = 3, days: float = 0) -> list[str]:
    """Ids of the session and takes of one evening, one take taken back."""
    start = utc_text(EVENING + timedelta(days=days))
    session = a_session(player=player, started_utc=start)
    log.begin_session(session)
    rows = [a_take(session, started_utc=start) for _ in range(takes)]
    for row in rows:
        log.append_take(row)
    log.append_inputs(session.id, [{"event": "Due", "heard_s": 1.5}])
    log.cancel_take(rows[0].id, start, "undo")
    return [session.id, *(row.id for row in rows)]


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path) as log:
        yield log


# --- names --------------------------------------------------------------------------


def test_a_renamed_player_keeps_everything_and_is_found_by_either_name(log: Log) -> None:
    play(log, "robin")
    play(log, "Kim", days=1)
    before = log.takes(player="robin")
    assert players.rename(log, "robin", "Robin Vale", LATER) == "robin"
    assert log.players() == ["Kim", "Robin Vale"]
    for name in ("robin", "Robin Vale"):
        takes = log.takes(player=name)
        assert [take.id for take in takes] == [take.id for take in before]
        assert {take.player for take in takes} == {"Robin Vale"}
        assert log.drills(name) == ["change Am E"]
        assert len(log.sessions(name)) == 1
        assert len(log.answers_since(name)) == 2
        assert len(log.last_answers(name, "change Am E", 40)) == 2
        assert len(log.played_by_quarter(name)) == 1


def test_what_is_played_under_the_old_name_afterwards_belongs_to_the_same_player(log: Log) -> None:
    play(log, "robin")
    players.rename(log, "robin", "Robin Vale", LATER)
    play(log, "robin", takes=2, days=2)
    play(log, "Robin Vale", takes=4, days=3)
    assert log.players() == ["Robin Vale"]
    assert len(log.takes(player="Robin Vale", include_cancelled=True)) == 9
    starts = [answer.started_utc for answer in log.answers_since("Robin Vale")]
    assert starts == sorted(starts, reverse=True)
    assert len(log.last_answers("robin", "change Am E", 4)) == 4
    assert log.last_answers("robin", "change Am E", 1)[0].started_utc == utc_text(EVENING + timedelta(days=3))
    assert log.before_the_last_days("robin", 90) is None


def test_a_name_can_be_taken_back(log: Log) -> None:
    play(log, "robin")
    players.rename(log, "robin", "Rob", LATER)
    players.rename(log, "Rob", "robin", LATER + timedelta(minutes=1))
    assert log.players() == ["robin"]
    assert len(log.takes(player="Rob")) == 2


def test_two_players_become_one_only_when_it_is_asked_for(log: Log) -> None:
    play(log, "laptop")
    play(log, "Robin", days=1)
    with pytest.raises(InputError, match=r"Robin is a name in the log; .*--join"):
        players.rename(log, "laptop", "Robin", LATER)
    assert len(log.players()) == 2
    players.rename(log, "laptop", "Robin", LATER, join=True)
    assert log.players() == ["Robin"]
    assert [each.also_played_as for each in players.look(log)] == [("laptop",)]


def test_nobodys_name_is_answered_with_the_names_there_are(log: Log) -> None:
    play(log, "Robin")
    with pytest.raises(InputError, match=r"no player Alex; its players are Robin\."):
        players.rename(log, "Alex", "Sam", LATER)


def test_the_last_of_two_machines_to_rename_wins_in_any_order_of_merging(tmp_path: Path) -> None:
    with Log.open(tmp_path / "one") as log:
        play(log, "robin")
    merging.merge(tmp_path / "two", [tmp_path / "one"], LATER)
    for where, name, minute in (("one", "Rob", 1), ("two", "Bob", 2)):
        with Log.open(tmp_path / where) as log:
            players.rename(log, "robin", name, LATER + timedelta(minutes=minute))
    for number, order in enumerate(permutations(("one", "two"))):
        merging.merge(tmp_path / f"all-{number}", [tmp_path / each for each in order], LATER)
        with Log.open(tmp_path / f"all-{number}") as log:
            assert log.players() == ["Bob"]


a_name = st.sampled_from("abcd")
some_changes = st.lists(
    st.builds(
        PlayerChange,
        st.uuids().map(str),
        a_name,
        st.sampled_from(["rename", "archive", "return"]),
        a_name,
        st.integers(0, 5).map(lambda minute: utc_text(EVENING + timedelta(minutes=minute))),
    ),
    max_size=8,
)


@given(some_changes, st.randoms())
def test_whoever_is_meant_depends_on_the_rows_and_not_on_their_order(
    changes: list[PlayerChange], chance
) -> None:
    shuffled = list(changes)
    chance.shuffle(shuffled)
    one, other = Names.of(changes), Names.of(shuffled)
    for name in "abcd":
        shown = one.shown(name)
        assert shown == other.shown(name)
        assert one.shown(shown) == shown, "a name that is shown can be asked for"
        assert one.is_archived(name) == other.is_archived(name)
    # Every name is somebody's, and of one player only.
    everybody = {one.shown(name) for name in "abcd"}
    of_all = [name for shown in everybody for name in one.all_of(shown)]
    assert len(of_all) == len(set(of_all))
    assert set("abcd") <= set(of_all)


def test_a_renamed_name_is_not_counted_as_two_players(log: Log) -> None:
    play(log, "robin", takes=2)
    players.rename(log, "robin", "Robin", LATER)
    (robin,) = players.look(log)
    assert (robin.name, robin.takes, robin.also_played_as) == ("Robin", 2, ("robin",))


# --- putting away ---------------------------------------------------------------------


def test_an_archived_player_is_hidden_from_lists_and_loses_nothing(log: Log) -> None:
    play(log, "Robin")
    play(log, "Kim", days=1)
    players.put_away(log, "Robin", LATER)
    assert log.players() == ["Kim"]
    assert log.players(include_archived=True) == ["Kim", "Robin"]
    assert [(each.name, each.archived) for each in players.look(log, True)] == [
        ("Kim", False),
        ("Robin", True),
    ]
    assert len(log.takes(player="Robin")) == 2
    with pytest.raises(InputError, match="Robin is archived; there is nothing to do"):
        players.put_away(log, "Robin", LATER)
    players.put_away(log, "Robin", LATER + timedelta(minutes=1), away=False)
    assert log.players() == ["Kim", "Robin"]


def test_a_renamed_player_stays_archived(log: Log) -> None:
    play(log, "robin")
    players.put_away(log, "robin", LATER)
    players.rename(log, "robin", "Robin", LATER + timedelta(minutes=1))
    assert log.players() == []
    players.put_away(log, "Robin", LATER + timedelta(minutes=2), away=False)
    assert log.players() == ["Robin"]


# --- erasing --------------------------------------------------------------------------


def bytes_of(folder: Path) -> bytes:
    return b"".join(bytes_in(folder).values())


def bytes_in(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_of_an_erased_player_no_byte_is_left_in_the_folder(tmp_path: Path) -> None:
    folder, other = tmp_path / "own", tmp_path / "other"
    with Log.open(folder) as log:
        kept = play(log, "Kim")
        gone = [id for evening in range(40) for id in play(log, "robin vale", days=evening)]
        players.rename(log, "robin vale", "Robin of the Hill", LATER)
        gone += play(log, "Robin of the Hill", days=50)
        players.put_away(log, "Robin of the Hill", LATER)
        players.rename(log, "Kim", "Kimberly", LATER)
    with Log.open(other) as log:
        play(log, "Sam")
    merging.merge(folder, [other], LATER)
    assert b"robin vale" in (folder / "log.before-merge.sqlite3").read_bytes()
    erased = players.erase(folder, "robin vale")
    assert (erased.sessions, erased.takes) == (41, 123)
    assert set(erased.files) == {folder / FILE_NAME, folder / "log.before-merge.sqlite3"}
    left = bytes_of(folder)
    for trace in ("robin vale", "Robin of the Hill", *gone):
        assert trace.encode() not in left, trace
    with Log.open(folder) as log:
        assert set(log.players()) == {"Sam", "Kimberly"}
        assert {take.id for take in log.takes(player="Kim", include_cancelled=True)} == set(kept[1:])
        assert log.inputs(kept[0]) == [{"event": "Due", "heard_s": 1.5}]


KILLED = """
import os, sys
from pathlib import Path
from pedaltrainer.records.log import FILE_NAME
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.system.files import scratch_of
own = Path(sys.argv[1], FILE_NAME)
with scratch_of(own) as scratch, snapshot.new_log(own.with_name("return.sqlite3")) as log:
    snapshot.back_up(own, scratch / FILE_NAME)
    snapshot.bring(log, scratch / FILE_NAME, own, {"session": "1", "take": "1"})
    os._exit(9)
"""


def test_what_a_program_that_was_killed_left_of_an_erased_player_goes_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, temporary = tmp_path / "own", tmp_path / "temporary"
    temporary.mkdir()
    monkeypatch.setenv("TMPDIR", str(temporary))
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    with Log.open(folder) as log:
        play(log, "Robin")
        play(log, "Kim")
    assert subprocess.run([sys.executable, "-c", KILLED, folder]).returncode == 9
    left = {path for path in bytes_in(tmp_path) if path != folder / FILE_NAME}
    assert {path.parent for path in left} == {folder, next(temporary.iterdir())}
    players.erase(folder, "Robin")
    assert list(bytes_in(tmp_path)) == [folder / FILE_NAME]
    assert b"Robin" not in bytes_of(tmp_path)


def test_after_erasing_the_log_is_append_only_again(log: Log, tmp_path: Path) -> None:
    play(log, "Robin")
    play(log, "Kim")
    log.close()
    players.erase(tmp_path, "Robin")
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as file:
        assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        for table in ("session", "take", "cancellation", "input"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                file.execute(f"DELETE FROM {table}")


def test_while_another_program_reads_the_log_erasing_says_so_and_can_be_done_again(tmp_path: Path) -> None:
    with Log.open(tmp_path) as log:
        play(log, "Robin")
        play(log, "Kim")
    with closing(sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)) as other:
        other.execute("BEGIN")
        other.execute("SELECT * FROM take").fetchone()
        with pytest.raises(InputError, match="locked by another program"):
            players.erase(tmp_path, "Robin")
        other.execute("ROLLBACK")
    with Log.open(tmp_path) as log:
        assert log.players() == ["Kim", "Robin"]
    players.erase(tmp_path, "Robin")
    assert b"Robin" not in bytes_of(tmp_path)


def test_what_is_kept_aside_of_an_erased_player_goes_too(log: Log, tmp_path: Path) -> None:
    play(log, "Robin")
    play(log, "Kim")
    for player in ("Robin", "Kim"):
        session = a_session(player=player)
        aside.keep(tmp_path, session, [a_take(session)], [])
    log.close()
    players.erase(tmp_path, "Robin")
    assert b"Robin" not in bytes_of(tmp_path)
    assert len(list(tmp_path.glob("kept-aside-*"))) == 1


def test_erasing_for_which_the_disk_has_no_room_erases_nothing_and_can_be_asked_for_again(
    small_disk: Path, tmp_path: Path
) -> None:
    with Log.open(tmp_path / "made") as log:
        for evening in range(4):
            play(log, "Robin", takes=8, days=evening)
            play(log, "Kim", takes=8, days=evening)
        before = log.takes()
    shutil.copy(tmp_path / "made" / FILE_NAME, small_disk)
    ballast = small_disk / "ballast"
    with suppress(OSError), ballast.open("wb", buffering=0) as file:
        while True:
            file.write(b"x" * 4096)
    with pytest.raises(InputError, match=r"is full; free some space"):
        players.erase(small_disk, "Robin")
    assert list(small_disk.glob(".pedaltrainer-*")) == []
    with Log.open(small_disk, read_only=True) as log:
        assert log.takes() == before
    ballast.unlink()
    assert players.erase(small_disk, "Robin").takes == 32
    assert b"Robin" not in bytes_of(small_disk)
    with Log.open(small_disk) as log:
        assert log.players() == ["Kim"]
        assert len(log.takes()) == 28
        assert log._connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
