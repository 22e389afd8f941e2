"""What a start costs, and that every command can be started: each in a real process of its own, once."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from pedaltrainer.commands import COMMANDS

HEAVY = {"numpy", "pygame", "matplotlib"}
ON_THE_STAGE = {"home", "play", "run", "rehearse", "pedals", "teach", "doctor"}
"""Commands that need window, sound or keys."""
LIGHT = {"log", "player list", "player rename", "player archive", "player return", "player erase"}
"""Commands that only look into the log."""
LOOK = f"""
import json, sys
from pedaltrainer.cli import main
try:
    main(sys.argv[1:])
finally:
    ours = sorted(name for name in sys.modules if name.startswith("pedaltrainer"))
    print(json.dumps([ours, sorted({HEAVY} & sys.modules.keys())]), file=sys.stderr)
"""


def asked_for_help(*words: str) -> tuple[str, list[str], set[str]]:
    """What the help of a command says in a fresh interpreter, and what of ours and of HEAVY it has loaded."""
    done = subprocess.run(
        [sys.executable, "-c", LOOK, *words, "--help"],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    ours, heavy = json.loads(done.stderr)
    return done.stdout, ours, set(heavy)


def test_help_tells_the_job_and_every_command_and_loads_no_library_and_no_room():
    said, ours, heavy = asked_for_help()
    assert "by\nfoot" in said
    for name, summary, _ in COMMANDS:
        assert " " in name or re.search(f"^    {name}\\s+{re.escape(summary)}$", said, re.MULTILINE)
    assert heavy == set()
    assert ours == [
        "pedaltrainer", "pedaltrainer.cli", "pedaltrainer.commands", "pedaltrainer.commands.parser",
        "pedaltrainer.errors", "pedaltrainer.system", "pedaltrainer.system.terminal",
    ]  # fmt: skip


@pytest.fixture(scope="module")
def started() -> dict[str, tuple[str, list[str], set[str]]]:
    """By command what its help says and loads; as many are started at once as there are processors."""
    names = [name for name, _, _ in COMMANDS]
    with ThreadPoolExecutor(os.cpu_count()) as at_once:
        return dict(zip(names, at_once.map(lambda name: asked_for_help(*name.split()), names), strict=True))


@pytest.mark.parametrize("name", [name for name, _, _ in COMMANDS])
def test_every_command_starts_and_explains_itself_and_none_loads_a_window_for_nothing(name, started):
    said, _, heavy = started[name]
    assert said.startswith(f"usage: pedaltrainer {name}")
    assert "matplotlib" not in heavy
    assert name in ON_THE_STAGE or "pygame" not in heavy
    assert name not in LIGHT or heavy == set()
