"""What is printed goes one way out, and steers no terminal."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import pedaltrainer
from pedaltrainer.errors import InputError
from pedaltrainer.system import terminal

HOUSE = Path(pedaltrainer.__file__).parent
# ISO/IEC 6429: C0 is 0 to 31, DEL 127, C1 128 to 159. Unicode Standard Annex #9, table 4: marks of direction.
CONTROLS = {chr(code) for code in (*range(32), *range(127, 160))} - {"\n", "\t"}
DIRECTIONS = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@given(st.text(st.characters()))
def test_no_text_steers_a_terminal_and_lines_stay_lines(text: str) -> None:
    said = terminal.harmless(text)
    assert not (CONTROLS - {"\r"} | DIRECTIONS) & set(said)
    assert "\r" not in said.replace("\r\n", "\n")
    assert said.count("\n") == text.count("\n")
    said.encode()


@given(st.text(st.characters()))
def test_json_says_the_same_without_steering(text: str) -> None:
    said = terminal.harmless_json(json.dumps({"name": text}, ensure_ascii=False, indent=2))
    assert not (CONTROLS | DIRECTIONS) & set(said)
    assert json.loads(said) == {"name": text}


def test_text_that_steers_nothing_stays_as_it_is() -> None:
    for text in ("Am – E", "é字\U0001f3b8", "a\tb\nc", "क्\u200dष"):
        assert terminal.harmless(text) == text


def test_everything_that_is_printed_goes_this_way() -> None:
    """The bar of what takes long is drawn with what steers a terminal, of its own; nothing else is."""
    ways = re.compile(r"\bprint\(|std(out|err)\.write|\bsys\.std(out|err)\b.*\.write")
    found = {
        path.relative_to(HOUSE).as_posix()
        for path in HOUSE.rglob("*.py")
        if ways.search(path.read_text(encoding="utf-8"))
    }
    assert found == {"system/terminal.py"}


class Taking:
    """A terminal, or what stands for one, that takes nothing."""

    encoding = "utf-8"

    def __init__(self, error: OSError) -> None:
        self.error = error

    def write(self, text: str) -> int:
        raise self.error

    def flush(self) -> None:
        raise self.error


def test_a_disk_that_is_full_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", Taking(OSError(28, "No space left on device")))
    with pytest.raises(InputError, match=r"cannot be printed .No space left on device."):
        terminal.put("a report")


def test_a_terminal_that_was_closed_reads_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", Taking(OSError(5, "Input/output error")))
    with pytest.raises(BrokenPipeError):
        terminal.put("a report")
    monkeypatch.setattr(sys, "stderr", Taking(OSError(5, "Input/output error")))
    terminal.put("a complaint", to_stderr=True)


def test_a_terminal_that_lacks_letters_is_given_plain_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", out)
    terminal.put("Am – E, “Löw Water”")
    assert out.buffer.getvalue() == b'Am - E, "L?w Water"\n'


def test_without_a_terminal_nothing_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    terminal.put("nobody there")
