"""Files of anybody's: ordinary ones are read, and nothing else is waited for."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.system import reading
from pedaltrainer.system.reading import There


def test_a_file_is_read_and_no_more_of_it_than_was_agreed(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_bytes(b"\xef\xbb\xbfAm E\n")
    assert reading.read_text(path, 8) == "Am E\n"
    assert reading.read_some(path, 4) == b"\xef\xbb\xbfAm"
    with pytest.raises(InputError, match=r"a\.txt has more than"):
        reading.read_bytes(path, 7)


def a_pipe(path: Path) -> None:
    os.mkfifo(path)


def a_device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def a_link_to_itself(path: Path) -> None:
    path.symlink_to(path)


def a_folder(path: Path) -> None:
    path.mkdir()


def nothing(path: Path) -> None:
    pass


@pytest.mark.skipif(os.name != "posix", reason="pipes and devices are those of POSIX")
@pytest.mark.parametrize("make", [a_pipe, a_device, a_link_to_itself, a_folder, nothing])
def test_what_is_no_ordinary_file_is_refused_at_once(tmp_path: Path, make: Callable[[Path], None]) -> None:
    make(tmp_path / "odd.chart")
    with pytest.raises(InputError, match=r"odd\.chart cannot be read"):
        reading.read_text(tmp_path / "odd.chart", 100)
    assert reading.what_is_at(tmp_path / "odd.chart") is not There.FILE
    assert reading.is_missing(tmp_path / "odd.chart") == (make is nothing)


def test_a_name_that_no_disk_takes_is_refused(tmp_path: Path) -> None:
    for name in ("n" * 300, "a\0b"):
        assert reading.what_is_at(tmp_path / name) is None
        with pytest.raises(InputError, match="cannot be read"):
            reading.read_bytes(tmp_path / name, 100)


def test_what_is_no_utf_8_is_named_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_bytes(b"a = 1\nb = \xff\n")
    with pytest.raises(
        InputError, match=r"a\.toml, line 2: this is not UTF-8 text; save the pack as UTF-8\."
    ):
        reading.read_text(tmp_path / "a.toml", 100, "pack")


@pytest.mark.parametrize("text", ["a = " + "[" * 5000, "a = " + "{b=" * 5000, "a = " + "9" * 5000, "a = ["])
def test_toml_that_the_parser_stumbles_over_is_refused(text: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        reading.parse_toml(text)
    with pytest.raises(tomllib.TOMLDecodeError, match="64 bits"):
        reading.parse_toml(f"a = [{{b = {'9' * 400}}}]")


@given(st.text())
def test_any_text_is_toml_or_is_refused(text: str) -> None:
    with suppress(tomllib.TOMLDecodeError):
        assert isinstance(reading.parse_toml(text), dict)
