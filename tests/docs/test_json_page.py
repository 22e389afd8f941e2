"""docs/guide/json.md against what the commands print: every field, its type, and none that does not come."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from pedaltrainer.cli import main
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.today import Planned
from pedaltrainer.live.home.house import House
from pedaltrainer.live.options import Options
from pedaltrainer.practice.coach.limits import Limit, Which
from pedaltrainer.practice.coach.plan_lines import Today
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.session.settings import Settings
from pedaltrainer.telling import songs_json
from tests.commands.test_listen_command import write_takes
from tests.history.test_twice_judged import NO, YES
from tests.history.test_twice_judged import play as play_with_ear
from tests.live.test_run_through import played
from tests.page.made_up import CHARTS, write_log, write_songs

PAGE = Path(__file__).parents[2] / "docs" / "guide" / "json.md"
ANYWHERE = """\
song ready --data nothing-asked
rehearse "Am E" "pressure F" --fast --seed 7 --minutes 2
rehearse "ring F" "lead C G" --fast --seed 7 --minutes 6 --answer speak-up --skill 45
rehearse --today --fast --minutes 0.5
click --tempo 97 --bars 1 --out click.wav
track "Am F" --tempo 84 --takes 1 --out track.mid
listen take.wav --drill "C F" --tempo 90 --reference clean-1.wav clean-2.wav
pack check pack.toml
pack check broken.toml
shape Bm7b5
shape C/E --capo 2
moves "C Am"
moves "F Cm"
moves "Em C"
moves "C Em"
route "Em Bm G D" --loop
drills
"""
AT_HOME = """\
rehearse "Am E" --fast --seed 7 --minutes 2 --player Ada
plan --player Robin
plan --player Robin --minutes 60
log --player Robin --limit 50
log --player Ada --all
rehearse "ring F" "ease F" --fast --seed 7 --minutes 6 --answer speak-up --skill 45 --player Ada
progress --player Ada
progress --player Eve
progress --player Mia
progress --player Robin
progress "Am F" --player Robin --target 200
progress "F" --player Robin --target 120
log merge other odd
log check
log check --repair new.sqlite3
export takes.jsonl
import takes.jsonl
player rename Ada Ida
player list
player archive Ida
player return Ida
player export Ida ida.zip
player erase Ida --yes-erase Ida
song add late-bus.txt
song list
song by late 2030-12-12
song show low --fingers
song show late
song ready --player Robin
song breaks low --player Robin
song remove late
pack use pack.toml
pack list
pack drop week
"""
"""What is typed, in order; each with --json."""
WITH_DEVICES = "pedals", "doctor --seconds 0.5"
PACK = """\
title = "Week 3"
minutes = 15
[[drill]]
words = "C F"
target = 70
[[drill]]
words = "F"
[[song]]
chart = "| Am | F |"
title = "Tin Roof"
[shapes.F]
frets = "x x 3 2 1 1"
fingers = "0 0 3 2 1 1"
"""
FLAT_FOR_LONG = Planned(
    Today((), 20.0), {}, {"change C F": (Limit(Which.SECOND, 0.84, {Which.SECOND: 0.84}), parse_drill("F"))}
)
"""No record of a few weeks is flat for long."""
SILENT = {"SDL_AUDIODRIVER": "dummy", "SDL_VIDEODRIVER": "dummy"}


# --- what the page says ------------------------------------------------------------------


class Row(NamedTuple):
    path: str
    kind: str


def sections() -> dict[str, list[str]]:
    """The lines under each heading of the third level."""
    found: dict[str, list[str]] = {}
    lines: list[str] = []
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            lines = found.setdefault(line.removeprefix("### "), []) if line.startswith("### ") else []
        lines.append(line)
    return found


SECTIONS = sections()
LINK = re.compile(r"\[[Aa] [\w ]+\]\(#a-([\w-]+)\)")


def documented(heading: str, prefix: str = "") -> Iterator[Row]:
    """The rows under a heading; in the place of a link, those under the heading that it leads to."""
    for line in SECTIONS[heading]:
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if not line.startswith("|"):
            entries = f"{prefix}[]" if line.startswith("A list;") else prefix
            for name in LINK.findall(line):
                yield from documented(f"A {name.replace('-', ' ')}", entries)
        elif cells[0].startswith("`"):
            for path in re.findall(r"`([^`]+)`", cells[0]):
                whole = f"{prefix}.{path}".removeprefix(".")
                if link := LINK.match(cells[1]):
                    yield from documented(f"A {link[1].replace('-', ' ')}", whole)
                else:
                    yield Row(whole, cells[1])


def commands_of(heading: str) -> list[list[str]]:
    """The commands that a heading names, as words; none for what comes up more than once."""
    return [name.split() for name in re.findall(r"`([^`]+)`", heading)]


def heading_of(words: list[str]) -> str:
    """The heading for a command as it was typed: the longest of those whose words are all there."""
    fits = [
        (len(command), heading)
        for heading in SECTIONS
        for command in commands_of(heading)
        if words[0] == command[0] and set(command) <= set(words)
    ]
    return max(fits)[1]


# --- what comes out ----------------------------------------------------------------------


class Value(NamedTuple):
    """What stands at a path such as `songs[].title`; NOTHING for the entries of an empty list."""

    path: str
    value: object


NOTHING = object()


def values(found: Any, path: str = "") -> Iterator[Value]:
    if isinstance(found, dict):
        for name, value in found.items():
            yield from values(value, f"{path}.{name}".removeprefix("."))
    elif isinstance(found, list) and found:
        for value in found:
            yield from values(value, f"{path}[]")
    else:
        yield Value(f"{path}[]", NOTHING) if found == [] else Value(path, found)


def is_text_for(read: Callable[[str], object]) -> Callable[[object], bool]:
    def fits(value: object) -> bool:
        try:
            return isinstance(value, str) and bool(read(value))
        except ValueError:
            return False

    return fits


KINDS: dict[str, Callable[[object], bool]] = {
    "text": lambda value: isinstance(value, str),
    "number": lambda value: isinstance(value, int | float) and not isinstance(value, bool),
    "whole number": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "true or false": lambda value: isinstance(value, bool),
    "null": lambda value: value is None,
    "date": is_text_for(date.fromisoformat),
    "moment": is_text_for(lambda text: datetime.fromisoformat(text).tzinfo == UTC),
    "anything": lambda value: True,
}


def kinds_of(row: Row) -> list[str]:
    return re.findall("|".join(sorted(KINDS, key=len, reverse=True)), row.kind)


def matches(row: Row, one: Value) -> bool:
    """Whether a value stands at the path of a row; `*` is any name."""
    below = r"([.\[].*)?" if row.kind == "anything" else ""
    return re.fullmatch(re.escape(row.path).replace(r"\*", r"[^.\[\]]+") + below, one.path) is not None


def is_right(row: Row, one: Value) -> bool:
    """Whether a value stands at the path of a row and is of its type; an empty list also above it."""
    if one.value is NOTHING:
        return matches(row, one) or row.path.startswith(one.path)
    return matches(row, one) and any(KINDS[kind](one.value) for kind in kinds_of(row))


# --- the record --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def came_out(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Value]]:
    """Heading -> all that its commands printed, over a made-up player's record."""
    with contextlib.chdir(tmp_path_factory.mktemp("json")):
        write_record()
        found: dict[str, list[Value]] = {heading: [] for heading in SECTIONS}
        for line in ANYWHERE.splitlines():
            note(found, shlex.split(line), printed(shlex.split(line)))
        for line in AT_HOME.splitlines():
            note(found, shlex.split(line), printed([*shlex.split(line), "--data", "home"]))
        note_files(found)
        found["`plan`"] += values(songs_json.plan(FLAT_FOR_LONG))
        for line in WITH_DEVICES:
            words = [sys.executable, "-m", "pedaltrainer", *line.split(), "--json", "--data", "home"]
            done = subprocess.run(words, capture_output=True, text=True, check=True, env=os.environ | SILENT)
            note(found, line.split(), done.stdout)
    return found


def write_record() -> None:
    home = Path("home")
    write_log(home, days=30)
    write_songs(home)
    write_log(Path("other"), days=4)
    write_log(Path("odd"), "Zoe", days=2, last=datetime(2090, 1, 1, tzinfo=UTC))
    write_log(home, "Robin", {"G Em": 0.0}, days=2, last=datetime.now(UTC) - timedelta(hours=1), part=1)
    house = House(Options(Settings(drills=(parse_drill("Am E"),)), Desk(home, "Robin")))
    with Log.open(home) as log:
        played(house, log, (2.6,))
    heard = [("clean", YES), ("missed", NO), ("clean", YES), ("missed", YES), ("unsure", NO)] * 8
    play_with_ear(Desk(home, "Eve"), *heard)
    play_with_ear(Desk(home, "Mia"), *heard[:2])
    song = f"title: Late Bus\nby: 2031-01-31\n# all eyes shut\n{CHARTS['Salt & Lanterns']}"
    Path("late-bus.txt").write_text(song, encoding="utf-8")
    Path("pack.toml").write_text(PACK)
    write_takes(Path())
    Path("broken.toml").write_text("title = 3\n")


def printed(words: list[str]) -> str:
    with contextlib.redirect_stdout(io.StringIO()) as out:
        code = main([*words, "--json"])
    assert code == (2 if "broken.toml" in words else 0), words
    return out.getvalue()


def note(found: dict[str, list[Value]], words: list[str], text: str) -> None:
    found[heading_of(words)] += values(json.loads(text))


def note_files(found: dict[str, list[Value]]) -> None:
    """The lines of exported files, each by what it is."""
    printed(shlex.split("export tempos.jsonl --what tempos --data home"))
    for line in Path("tempos.jsonl").read_text(encoding="utf-8").splitlines():
        found["A clean tempo"] += values(json.loads(line))
    for line in Path("takes.jsonl").read_text(encoding="utf-8").splitlines():
        one = json.loads(line)
        found["A take" if "tempo_bpm" in one else "A session"] += values(one)


# --- the page against it -----------------------------------------------------------------


def test_every_field_that_comes_out_is_on_the_page_with_its_type(came_out: dict[str, list[Value]]) -> None:
    rows = {heading: list(documented(heading)) for heading in SECTIONS}
    assert {
        (heading, *one)
        for heading, found in came_out.items()
        for one in found
        if not any(is_right(row, one) for row in rows[heading])
    } == set()


def test_every_field_on_the_page_comes_out(came_out: dict[str, list[Value]]) -> None:
    headings = [heading for heading in SECTIONS if commands_of(heading) or came_out[heading]]
    paths = {heading: {Value(one.path, None) for one in came_out[heading]} for heading in headings}
    assert [
        (heading, row.path)
        for heading in headings
        for row in documented(heading)
        if not any(matches(row, one) for one in paths[heading])
    ] == []


def test_every_command_that_prints_json_is_on_the_page() -> None:
    on_the_page = {" ".join(words) for heading in SECTIONS for words in commands_of(heading)}
    assert on_the_page - {"rehearse --today --fast"} == {
        " ".join(command) for command in commands() if "--json" in help_of(command)
    }


def commands(above: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every command and every command of a command, as `--help` lists them."""
    listed = re.findall(r"^    (\w+) +\w|^  pedaltrainer \w+ (\w+)  ", help_of(above), re.MULTILINE)
    for name in {one or other for one, other in listed}:
        yield (*above, name)
        if not above:
            yield from commands((name,))


def help_of(command: tuple[str, ...]) -> str:
    with contextlib.redirect_stdout(io.StringIO()) as out, pytest.raises(SystemExit) as left:
        main([*command, "--help"])
    assert left.value.code == 0
    return out.getvalue()
