"""A starter among the desktop's programs, on the three platforms: its files as their makers say them."""

from __future__ import annotations

import configparser
import io
import os
import plistlib
import shlex
import struct
import subprocess
import sys
from pathlib import Path

import pygame
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer import cli
from pedaltrainer.errors import InputError
from pedaltrainer.screen.icon import icon
from pedaltrainer.system.starter import ICON_PX, Starting, desktop_quoted, install

WORDS = ("/opt/my python/bin/python", "-m", "pedaltrainer")
PNG = b"\x89PNG picture"


def unquoted(line: str) -> list[str]:
    r"""An Exec line as the Desktop Entry Specification 1.5 has it read.

    First the string's own escapes ("\\" is a backslash), then quoted arguments in which a backslash keeps the
    next of " ` $ \ , then %% for %.
    """
    text, words = line.replace("\\\\", "\\").replace("%%", "%"), []
    while text:
        assert text[0] == '"'
        word, at = "", 1
        while text[at] != '"':
            at += text[at] == "\\"
            word, at = word + text[at], at + 1
        words.append(word)
        text = text[at + 1 :].lstrip(" ")
    return words


def test_on_linux_it_is_an_entry_of_the_menu_with_the_icon(tmp_path, monkeypatch):
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    where = install(Starting(WORDS, PNG), tmp_path, "linux")
    assert where == tmp_path / ".local/share/applications/pedaltrainer.desktop"
    read = configparser.RawConfigParser()
    read.optionxform = str
    read.read(where)
    entry = read["Desktop Entry"]
    assert (entry["Type"], entry["Terminal"]) == ("Application", "false")
    assert unquoted(entry["Exec"]) == list(WORDS)
    assert Path(entry["Icon"]).read_bytes() == PNG


@given(st.lists(st.text(st.characters(exclude_characters="\n\r\x00", exclude_categories=["Cs"])), min_size=1))
def test_whatever_the_path_an_entry_s_reader_gets_the_same_words(words):
    assert unquoted(" ".join(map(desktop_quoted, words))) == words


def test_on_macos_it_is_an_application_that_can_be_run(tmp_path):
    bundle = install(Starting((sys.executable, "-c", "print('home')"), PNG), tmp_path, "darwin")
    assert bundle == tmp_path / "Applications/Pedaltrainer.app"
    listed = plistlib.loads((bundle / "Contents/Info.plist").read_bytes())
    script = bundle / "Contents/MacOS" / listed["CFBundleExecutable"]
    assert subprocess.run([script], capture_output=True, text=True, check=True).stdout == "home\n"
    icns = (bundle / "Contents/Resources/pedaltrainer.icns").read_bytes()
    assert struct.unpack(">4sI4sI", icns[:16]) == (b"icns", len(icns), b"ic08", len(icns) - 8)
    assert icns[16:] == PNG


@pytest.mark.skipif(os.name == "nt", reason="a stand-in for the script host, which is a shell script")
def test_on_windows_it_is_a_shortcut_made_by_the_system_s_script_host(tmp_path, monkeypatch):
    """The script host is a stand-in that keeps what it was told: no Windows was to be had."""
    told = tmp_path / "told"
    host = tmp_path / "bin" / "powershell"
    host.parent.mkdir()
    host.write_text(f'#!/bin/sh\nprintf %s "$4" > {shlex.quote(str(told))}\n')
    host.chmod(0o755)
    monkeypatch.setenv("PATH", str(host.parent), prepend=os.pathsep)
    monkeypatch.setenv("APPDATA", str(tmp_path / "It's roaming"))
    where = install(Starting(("C:\\my python\\pythonw.exe", "-m", "pedaltrainer"), PNG), tmp_path, "win32")
    script = told.read_text()
    assert "CreateShortcut('" + str(where).replace("'", "''") + "')" in script
    assert "$s.TargetPath='C:\\my python\\pythonw.exe'" in script
    assert "$s.Arguments='-m pedaltrainer'" in script
    ico = (tmp_path / "It's roaming/pedaltrainer/pedaltrainer.ico").read_bytes()
    size, offset = struct.unpack("<II", ico[14:22])
    assert ico[offset : offset + size] == PNG


def test_where_the_script_host_fails_the_mend_is_told(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("APPDATA", str(tmp_path))
    with pytest.raises(InputError, match="make a shortcut by hand that runs: python -m pedaltrainer"):
        install(Starting(("python", "-m", "pedaltrainer"), PNG), tmp_path, "win32")


@pytest.mark.parametrize("platform", ["linux", "darwin"])
def test_one_that_is_there_is_made_anew_only_when_asked(tmp_path, platform, monkeypatch):
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    install(Starting(WORDS, PNG), tmp_path, platform)
    with pytest.raises(InputError, match="is there already; add --force to make it anew"):
        install(Starting(WORDS, PNG), tmp_path, platform)
    install(Starting(WORDS, b"new"), tmp_path, platform, force=True)


def test_a_platform_without_one_says_what_to_do(tmp_path):
    with pytest.raises(InputError, match="No starter is known for plan9"):
        install(Starting(WORDS, PNG), tmp_path, "plan9")


def test_the_command_puts_the_drawn_icon_there(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    assert cli.main(["install-icon"]) == 0
    assert "pedaltrainer.desktop" in capsys.readouterr().out
    (picture,) = tmp_path.rglob("pedaltrainer.png")
    read = pygame.image.load(io.BytesIO(picture.read_bytes()), "icon.png")
    assert read.get_size() == (ICON_PX, ICON_PX)
    assert pygame.image.tobytes(read, "RGBA") == pygame.image.tobytes(icon(ICON_PX), "RGBA")
    assert cli.main(["install-icon"]) == 2
