"""Logs united: the same union whatever the order, the split and the repeats; the others are only read."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.records import cells, schema
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.names import PlayerChange
from pedaltrainer.records.rows import SessionRow, TakeRow, utc_text
from pedaltrainer.records.upkeep import merging
from tests.records.samples import EVENING, a_session, a_take

NOW = EVENING + timedelta(days=30)


def a_log(folder: Path, player: str = "Robin", takes: int = 3, **changes: str) -> list[str]:
    """A log of one session; the ids of its takes."""
    with Log.open(folder) as log:
        session = a_session(player=player)
        log.begin_session(session)
        rows = [a_take(session, **changes) for _ in range(takes)]
        for row in rows:
            log.append_take(row)
        log.append_inputs(session.id, [{"event": "Due", "heard_s": 1.5}, {"event": "Due", "heard_s": 2.5}])
        return [row.id for row in rows]


def everything(folder: Path) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(folder / FILE_NAME)) as file:
        return {table: sorted(file.execute(f"SELECT * FROM {table}"), key=repr) for table in schema.TABLES}


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


# --- union ------------------------------------------------------------------------------

SESSIONS = [a_session(player=player) for player in ("Robin", "Kim", "Robin")]
TAKES = [a_take(session) for session in SESSIONS for _ in range(4)]
INPUTS = [{"event": "Due", "heard_s": float(number)} for number in range(3)]
CHANGES = [
    PlayerChange("c1", "Robin", "rename", "Rob", utc_text(EVENING)),
    PlayerChange("c2", "Kim", "archive", "Kim", utc_text(EVENING)),
]


def write_part(folder: Path, takes: set[int], inputs: int, undone: set[int], changes: set[int]) -> None:
    """A machine that knows some takes, the first so many inputs of their sessions, and some changes."""
    with Log.open(folder) as log:
        known = {TAKES[number].session_id for number in takes}
        for session in SESSIONS:
            if session.id in known:
                log.begin_session(session)
                log.append_inputs(session.id, INPUTS[:inputs])
        for number in sorted(takes):
            log.append_take(TAKES[number])
        log.append_changes([CHANGES[number] for number in sorted(changes)])
        for number in sorted(undone & takes):
            log.cancel_take(TAKES[number].id, utc_text(EVENING), "undo")


a_part = st.tuples(
    st.sets(st.integers(0, len(TAKES) - 1)),
    st.integers(0, len(INPUTS)),
    st.sets(st.integers(0, len(TAKES) - 1)),
    st.sets(st.integers(0, len(CHANGES) - 1)),
)


@settings(max_examples=40)
@given(st.lists(a_part, min_size=1, max_size=4), st.data())
def test_the_union_is_the_same_for_any_split_order_and_repeats(parts, data: st.DataObject) -> None:
    numbers = st.integers(0, len(parts) - 1)
    first = data.draw(st.permutations(range(len(parts))))
    second = [*data.draw(st.permutations(range(len(parts)))), *data.draw(st.lists(numbers, max_size=3))]
    with TemporaryDirectory() as scratch:
        base = Path(scratch)
        for number, part in enumerate(parts):
            write_part(base / str(number), *part)
        unions = []
        for name, order in (("one", first), ("two", second)):
            for number in order:
                merging.merge(base / name, [base / str(number)], NOW)
            unions.append(everything(base / name))
        at_once = merging.merge(base / "three", [base / str(number) for number in second], NOW)
        unions.append(everything(base / "three"))
    assert unions[0] == unions[1] == unions[2]
    assert {row[0] for row in unions[0]["take"]} == {TAKES[number].id for part in parts for number in part[0]}
    assert len(unions[0]["input"]) == sum(
        max(part[1] for part in parts if session.id in {TAKES[number].session_id for number in part[0]})
        for session in SESSIONS
        if any(TAKES[number].session_id == session.id for part in parts for number in part[0])
    )
    assert sum(one.added["take"] for one in at_once.merged) == len(unions[0]["take"])


def test_two_machines_in_different_time_zones_agree_on_the_order_of_takes(tmp_path: Path) -> None:
    program = (
        "import sys; from datetime import datetime, timedelta; from pathlib import Path\n"
        "from pedaltrainer.records.log import Log; from pedaltrainer.records.rows import utc_text\n"
        "from tests.records.samples import a_session, a_take\n"
        "with Log.open(Path(sys.argv[1])) as log:\n"
        "    session = a_session(); log.begin_session(session)\n"
        "    for minute in range(int(sys.argv[2]), 10, 2):\n"
        "        wall = datetime.fromtimestamp(1772388300 + 60 * minute)\n"
        "        at = utc_text(wall.astimezone())\n"
        "        log.append_take(a_take(session, started_utc=at, ended_utc=at, tempo_bpm=60.0 + minute))\n"
    )
    for name, zone, first in (("home", "Pacific/Auckland", "0"), ("away", "America/Los_Angeles", "1")):
        words = [sys.executable, "-c", program, str(tmp_path / name), first]
        subprocess.run(words, check=True, env=os.environ | {"TZ": zone}, cwd=Path(__file__).parents[2])
    merging.merge(tmp_path / "both", [tmp_path / "home", tmp_path / "away"], NOW)
    with Log.open(tmp_path / "both", read_only=True) as log:
        assert [take.tempo_bpm for take in log.takes(newest_first=False)] == [60.0 + n for n in range(10)]


# --- what is said -------------------------------------------------------------------------


def test_takes_of_a_wrong_clock_are_kept_and_named(tmp_path: Path) -> None:
    for name, date in (("ahead", "2031-05-01T10:00:00.000Z"), ("unset", "1970-01-01T00:00:07.000Z")):
        a_log(tmp_path / name, player=name, started_utc=date, ended_utc=date)
    union = merging.merge(tmp_path / "all", [tmp_path / "ahead", tmp_path / "unset"], NOW)
    odd = [each for one in union.merged for each in one.odd_dates]
    assert [(each.player, each.takes, each.first_utc[:4]) for each in odd] == [
        ("ahead", 3, "2031"),
        ("unset", 3, "1970"),
    ]
    with Log.open(tmp_path / "all", read_only=True) as log:
        assert log.count_takes() == 6


def test_a_name_that_two_logs_share_is_named_until_they_have_a_session_in_common(tmp_path: Path) -> None:
    a_log(tmp_path / "own")
    a_log(tmp_path / "pupil")
    first = merging.merge(tmp_path / "own", [tmp_path / "pupil"], NOW)
    assert first.merged[0].shared == ("Robin",)
    a_log(tmp_path / "pupil")
    again = merging.merge(tmp_path / "own", [tmp_path / "pupil"], NOW)
    assert again.merged[0].shared == ()
    assert again.merged[0].added["take"] == 3


def test_a_take_that_differs_in_the_other_log_does_not_replace_the_one_that_is_there(tmp_path: Path) -> None:
    session: SessionRow = a_session()
    take: TakeRow = a_take(session)
    for name, tempo in (("own", 84.0), ("other", 184.0)):
        with Log.open(tmp_path / name) as log:
            log.begin_session(session)
            log.append_take(a_take(session, id=take.id, tempo_bpm=tempo))
    union = merging.merge(tmp_path / "own", [tmp_path / "other"], NOW)
    assert union.merged[0].differing == 1
    with Log.open(tmp_path / "own", read_only=True) as log:
        assert [row.tempo_bpm for row in log.takes()] == [84.0]


# --- only read ----------------------------------------------------------------------------


def test_the_logs_that_are_merged_in_are_left_byte_for_byte(tmp_path: Path) -> None:
    a_log(tmp_path / "in" / "one")
    a_log(tmp_path / "in" / "two")
    with Log.open(tmp_path / "in" / "playing") as playing:
        playing.begin_session(a_session())
        before = contents(tmp_path / "in")
        assert any(name.endswith("-wal") for name in before)
        union = merging.merge(tmp_path / "own", [tmp_path / "in"], NOW)
        assert contents(tmp_path / "in") == before
    assert len(union.merged) == 3
    assert sum(one.added["session"] for one in union.merged) == 3


@pytest.mark.parametrize("version", range(1, schema.newest_version(schema.MIGRATIONS)))
def test_an_older_log_is_brought_forward_in_a_copy(tmp_path: Path, version: int) -> None:
    (tmp_path / "old").mkdir()
    path = tmp_path / "old" / FILE_NAME
    session, take = a_session(), a_take(a_session())
    with closing(sqlite3.connect(path)) as file:
        schema.migrate(_autocommit(file), {each: schema.MIGRATIONS[each] for each in range(1, version + 1)})
        file.execute(
            "INSERT INTO session VALUES (?, ?, ?, ?, ?, '{}')",
            (session.id, session.player, session.started_utc, "0.1.0", 7),
        )
        values = [
            take.id, session.id, take.player, take.drill, '["Am","E"]', 1, 4, 84.0, 8, "pass", None,
            "foot", "ask", "seek", take.started_utc, take.ended_utc, None, None, 250.0, 8.5,
        ]  # fmt: skip
        file.execute(cells.inserting("take", cells.TAKE_COLUMNS[: len(values)]), values)
    before = contents(tmp_path / "old")
    union = merging.merge(tmp_path / "own", [path], NOW)
    assert union.merged[0].added["take"] == 1
    assert contents(tmp_path / "old") == before


def _autocommit(file: sqlite3.Connection) -> sqlite3.Connection:
    file.isolation_level = None
    return file


def newer(path: Path) -> None:
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA user_version = 99")


def torn(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:20_000])


def foreign(path: Path) -> None:
    path.write_bytes(b"dear diary" * 1000)


@pytest.mark.parametrize(
    ("spoil", "said"), [(newer, "newer version"), (torn, "--repair"), (foreign, "not a log")]
)
def test_a_log_that_cannot_be_used_is_named_and_nothing_is_brought(tmp_path: Path, spoil, said: str) -> None:
    a_log(tmp_path / "own")
    a_log(tmp_path / "good")
    a_log(tmp_path / "bad")
    spoil(tmp_path / "bad" / FILE_NAME)
    before = contents(tmp_path)
    with pytest.raises(InputError) as caught:
        merging.merge(tmp_path / "own", [tmp_path / "good", tmp_path / "bad"], NOW)
    assert said in str(caught.value)
    assert str(tmp_path / "bad" / FILE_NAME) in str(caught.value)
    assert contents(tmp_path) == before


def test_the_own_log_is_copied_before_anything_is_brought(tmp_path: Path) -> None:
    a_log(tmp_path / "own")
    a_log(tmp_path / "other")
    before = everything(tmp_path / "own")
    union = merging.merge(tmp_path / "own", [tmp_path / "other"], NOW)
    assert union.backup is not None
    (tmp_path / "copy").mkdir()
    union.backup.rename(tmp_path / "copy" / FILE_NAME)
    assert everything(tmp_path / "copy") == before


def test_a_second_merge_leaves_the_way_back_of_the_first(tmp_path: Path) -> None:
    for name in ("own", "one", "two"):
        a_log(tmp_path / name, player=name)
    before = everything(tmp_path / "own")
    first = merging.merge(tmp_path / "own", [tmp_path / "one"], NOW).backup
    second = merging.merge(tmp_path / "own", [tmp_path / "two"], NOW).backup
    assert first is not None
    assert second not in (None, first)
    (tmp_path / "back").mkdir()
    first.rename(tmp_path / "back" / FILE_NAME)
    assert everything(tmp_path / "back") == before


def test_a_merge_that_brings_nothing_leaves_no_copy(tmp_path: Path) -> None:
    a_log(tmp_path / "own")
    merging.merge(tmp_path / "other", [tmp_path / "own"], NOW)
    assert merging.merge(tmp_path / "own", [tmp_path / "other"], NOW).backup is None
    assert [path.name for path in (tmp_path / "own").iterdir()] == [FILE_NAME]


def test_merging_a_log_into_itself_brings_nothing(tmp_path: Path) -> None:
    a_log(tmp_path)
    before = everything(tmp_path)
    assert merging.merge(tmp_path, [tmp_path / FILE_NAME], datetime.now(UTC)).merged == ()
    assert everything(tmp_path) == before


def test_a_folder_without_a_log_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="There is no log in"):
        merging.merge(tmp_path / "own", [tmp_path], NOW)
    with pytest.raises(InputError, match="There is no log"):
        merging.merge(tmp_path / "own", [tmp_path / "none.sqlite3"], NOW)
    assert not (tmp_path / "own").exists()
