"""Nothing is written outside the program's own folders and the files that were named."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ALL = """
import sys
from pathlib import Path
from pedaltrainer.cli import main
home = Path(sys.argv[1])
for words in (
    ["rehearse", "--fast", "--seed", "7", "--minutes", "1", "--player", "Robin", "--data", "{data}", "Am E"],
    ["song", "add", "configs/songs/low-water.chart", "--data", "{data}"],
    ["progress", "Am E", "--player", "Robin", "--picture", "{out}/p.png", "--data", "{data}"],
    ["song", "ready", "Low Water", "--picture", "{out}/s.svg", "--data", "{data}"],
    ["shape", "C", "--picture", "{out}/c.pdf", "--data", "{data}"],
    ["sheet", "F", "--player", "Robin", "--out", "{out}/f.pdf", "--data", "{data}"],
    ["report", "--player", "Robin", "--out", "{out}/r.html", "--data", "{data}"],
    ["track", "Am F", "--tempo", "84", "--takes", "1", "--out", "{out}/t.wav"],
    ["export", "{out}/takes.csv", "--data", "{data}"],
    ["log", "check", "--data", "{data}"],
):
    here = {"data": str(home.parent / "data"), "out": str(home.parent / "out")}
    assert main([word.format(**here) for word in words]) == 0, words
"""


@pytest.mark.skipif(os.name != "posix", reason="where the home is, is told otherwise elsewhere")
def test_of_a_home_only_the_cache_of_the_program_is_used(tmp_path: Path) -> None:
    home, out = tmp_path / "home", tmp_path / "out"
    home.mkdir()
    out.mkdir()
    names = ("MPLCONFIGDIR", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")
    bare = {name: value for name, value in os.environ.items() if name not in names}
    done = subprocess.run(
        [sys.executable, "-c", ALL, str(home)],
        cwd=ROOT,
        env=bare | {"HOME": str(home)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    made = {path.relative_to(home).as_posix() for path in home.rglob("*") if path.is_file()}
    caches = (".cache/pedaltrainer/", "Library/Caches/pedaltrainer/")
    assert all(name.startswith(caches) for name in made), made
    assert len(list(out.iterdir())) == 7
