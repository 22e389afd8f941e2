"""Every command that README and guides write can be typed; the README's are run, in the order it has them."""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from pedaltrainer import cli
from pedaltrainer.commands import COMMANDS
from pedaltrainer.live import app, fast
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.options import Options
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from tests.page.made_up import NOW, write_log

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
PAGES = sorted([README, *(ROOT / "docs" / "guide").glob("*.md")])
BLOCK = re.compile(r"^```\n(.*?)^```", re.MULTILINE | re.DOTALL)
TYPED = re.compile(r"^pedaltrainer((?: (?:\"[^\"]*\"|[^\s\"]+))*)(?= {2}|$)", re.MULTILINE)
INLINE = re.compile(r"`pedaltrainer((?: [^`]+)?)`")
MEASURES = {"doctor", "teach"}
"""Commands of the README that tests/devices and tests/commands run with real devices."""


def written(page: Path) -> list[list[str]]:
    """The words of each command on a page, without the first, blocks before those amid a sentence."""
    text = page.read_text(encoding="utf-8")
    in_blocks = [words for block in BLOCK.findall(text) for words in TYPED.findall(block)]
    amid = INLINE.findall(BLOCK.sub("", text).replace("\n", " "))
    return [shlex.split(words) for words in (*in_blocks, *amid)]


@pytest.fixture
def understood(monkeypatch: pytest.MonkeyPatch) -> Callable[[Sequence[str]], bool]:
    """Whether the command line reads these words; the command they name is not carried out."""
    read = cli.parser

    def reads() -> SimpleNamespace:
        def parse_args(words: Sequence[str]) -> argparse.Namespace:
            return argparse.Namespace(**vars(read().parse_args(words)) | {"command": lambda asked: 0})

        return SimpleNamespace(parse_args=parse_args)

    monkeypatch.setattr(cli, "parser", reads)
    return lambda words: cli.main(words) == 0


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_the_command_line_reads_every_command_as_it_is_written(
    page: Path, understood: Callable[[Sequence[str]], bool]
) -> None:
    named = [name.split() for name, _, _ in COMMANDS]
    assert [words for words in written(page) if words not in named and not understood(words)] == []


def test_commands_are_found_on_the_pages() -> None:
    assert sum(len(written(page)) for page in PAGES) > 80
    assert ["play", "C F", "F", "--minutes", "10"] in written(README)


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder with what the README's commands are given, and a stage whose made-up player needs no time."""

    def on_stage(options: Options) -> Conductor:
        settings = replace(options.settings, minutes=0.5, minutes_each=())
        player = options.made_up or MadeUpPlayer(84, seed=1)
        with Log.open(options.desk.log_place) as log:
            return fast.rehearse(replace(options, settings=settings, made_up=player), log)

    monkeypatch.chdir(tmp_path)
    for name in ("HOME", "XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path))
    monkeypatch.setenv("LOGNAME", "robin")
    monkeypatch.setattr(app, "run", on_stage)
    monkeypatch.setattr(app, "run_home", lambda house, first=None: [on_stage(house.options)])
    (chart,) = (block for block in BLOCK.findall(README.read_text(encoding="utf-8")) if "title:" in block)
    Path("low-water.txt").write_text(chart, encoding="utf-8")
    assert cli.main(["pack", "new", "week3.toml"]) == 0
    for place in ("pupils", "laptop"):
        write_log(Path(place), "Kim", {"Am F": 0.01}, days=10, last=NOW)
    Path("laptop/log.sqlite3").rename("laptop.sqlite3")


def test_every_command_of_the_readme_runs_as_it_stands_there(
    at_home: None, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = [words for words in written(README) if words[:1] not in [[name] for name in MEASURES]]
    assert len(ran) > 30
    for words in ran:
        assert cli.main(words) == 0, (words, capsys.readouterr().err)
        assert capsys.readouterr().out, words
    for name in ("click.wav", "low-water.png", "practice-sheet.pdf", "report.html", "takes.csv", "am-f.mid"):
        assert Path(name).stat().st_size > 100, name
