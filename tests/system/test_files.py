"""A file written whole: the old one or the new one at every moment, readable by whom it should be."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.system.files import OTHER_FILE, refuse_existing, whole_file, write_whole

posix = pytest.mark.skipif(os.name != "posix", reason="links, modes and pipes are those of POSIX")


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_until_it_is_written_to_its_end_the_old_file_stays(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("old")
    with whole_file(path) as file:
        file.write(b"ne")
        assert path.read_text() == "old"
        file.write(b"w")
    assert path.read_text() == "new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("private", [True, False])
@pytest.mark.parametrize("trouble", [KeyboardInterrupt(), InputError("no"), OSError(28, "No space left")])
def test_whatever_cuts_it_short_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, private: bool, trouble: BaseException
) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("old")

    def cut_short() -> None:
        with whole_file(path, private=private) as file:
            file.write(b"half of the ne")
            raise trouble

    with pytest.raises((KeyboardInterrupt, InputError)):
        cut_short()
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


@posix
def test_a_private_file_and_its_folder_are_the_players_own_from_the_first_byte(tmp_path: Path) -> None:
    path = tmp_path / "mine" / "notes.txt"
    with whole_file(path) as file:
        assert mode_of(Path(file.name)) == 0o600
    assert (mode_of(path), mode_of(path.parent)) == (0o600, 0o700)


@posix
def test_an_ordinary_file_is_as_other_programs_make_theirs(tmp_path: Path) -> None:
    other, path = tmp_path / "other", tmp_path / "track.wav"
    other.write_text("made by another program")
    with whole_file(path, private=False) as file:
        file.write(b"RIFF")
    assert mode_of(path) == mode_of(other)


def test_an_ordinary_file_is_not_put_into_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with (
        pytest.raises(InputError, match=r"track\.wav cannot be written .*; name another file\."),
        whole_file(tmp_path / "no" / "track.wav", private=False, mend=OTHER_FILE),
    ):
        pass
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["n" * 300, "n/" * 3000 + "n"])
def test_a_name_that_no_disk_takes_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match=r"cannot be written .*; name another file\."):
        write_whole(tmp_path / name, "new", mend=OTHER_FILE)
    with pytest.raises(InputError, match=r"cannot be written"), whole_file(tmp_path / name, private=False):
        pass


def test_what_is_there_already_is_refused_when_asked_for_a_new_file(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    write_whole(path, "first", force=False)
    with pytest.raises(InputError, match=r"report\.html is there already"):
        write_whole(path, "second", force=False)
    assert path.read_text() == "first"
    write_whole(path, "third")
    assert path.read_text() == "third"


@posix
def test_what_comes_to_be_there_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "report.html"

    def written_by_two() -> None:
        with whole_file(path, force=False):
            path.write_text("somebody else's")

    with pytest.raises(InputError, match=r"report\.html is there already"):
        written_by_two()
    assert path.read_text() == "somebody else's"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_to_nowhere_is_there_already(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "gone")
    with pytest.raises(InputError, match="is there already"):
        refuse_existing(tmp_path / "link")


@posix
def test_a_link_stays_one_and_its_file_is_written(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    kept = tmp_path / "elsewhere" / "kept.txt"
    kept.write_text("old")
    (tmp_path / "link").symlink_to(kept)
    write_whole(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert kept.read_text() == "new"


@posix
def test_what_is_no_ordinary_file_is_neither_written_to_nor_replaced(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for name in ("pipe", "folder", "loop"):
        with pytest.raises(InputError, match=f"{name} cannot be written"):
            write_whole(tmp_path / name, "text")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "loop", "pipe"]
    assert (tmp_path / "pipe").is_fifo()
    assert (tmp_path / "loop").is_symlink()
