"""Lines to copy keep where the practice is, and whose."""

from __future__ import annotations

import argparse
import re
import shlex
from pathlib import Path

import pytest

from pedaltrainer import cli
from pedaltrainer.commands import COMMANDS
from pedaltrainer.commands.copying import remember, to_copy
from tests.page.made_up import FLAT, NOW, write_log


@pytest.fixture
def kims():
    remember(argparse.Namespace(data=Path("pupils"), player="Kim Ash"))
    yield
    remember(argparse.Namespace())


@pytest.mark.usefixtures("kims")
@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ('try: pedaltrainer play "C"', "try: pedaltrainer play --data pupils --player 'Kim Ash' \"C\""),
        ("add: pedaltrainer song add FILE (a", "add: pedaltrainer song add --data pupils FILE (a"),
        ("To practise: pedaltrainer", "To practise: pedaltrainer --data pupils --player 'Kim Ash'"),
        ("pedaltrainer player return", "pedaltrainer player return --data pupils"),
        ("pedaltrainer: that will not do", "pedaltrainer: that will not do"),
        ("start pedaltrainer in a desktop session.", "start pedaltrainer in a desktop session."),
        ("see pedaltrainer playful", "see pedaltrainer playful"),
    ],
)  # fmt: skip
def test_a_line_to_copy_asks_for_the_same_practice(said, kept):
    assert to_copy(said) == kept


def test_without_them_nothing_is_added():
    remember(argparse.Namespace(data=None))
    assert to_copy('pedaltrainer play "C"') == 'pedaltrainer play "C"'


@pytest.mark.usefixtures("kims")
@pytest.mark.parametrize("name", [name for name, _, builder in COMMANDS if builder])
def test_every_command_takes_what_its_line_is_given(name, monkeypatch):
    line = shlex.split(to_copy(f"pedaltrainer {name}"))[1:]
    kept = dict(zip(line[len(name.split()) :: 2], line[len(name.split()) + 1 :: 2], strict=True))
    reads = cli.parser()
    try:
        asked, _ = reads.parse_known_args(line)
    except SystemExit:
        # It wants more words than its name: then it must not be these it complains of.
        assert kept.keys() <= {"--data", "--player"}
        return
    assert {f"--{key}" for key in ("data", "player") if getattr(asked, key, None)} == kept.keys()


def test_a_report_prints_lines_that_can_be_copied(tmp_path, capsys):
    write_log(tmp_path, "Kim", {"Am F": FLAT}, last=NOW)
    mine = ("--data", str(tmp_path), "--player", "Kim")
    for words in (("progress", "--all"), ("song", "ready"), ("plan",)):
        cli.main([*words, *mine])
        heard = capsys.readouterr()
        lines = re.findall(r"pedaltrainer (?:play|song add)[^;\n]*", heard.out + heard.err)
        assert lines, words
        assert all(f"--data {tmp_path}" in line for line in lines)
