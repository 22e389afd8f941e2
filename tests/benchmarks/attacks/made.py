"""What the attacks begin from: a player's folder as it ought to be, and a good file of each kind."""

from __future__ import annotations

import atexit
import functools
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from pedaltrainer.commands import starter
from pedaltrainer.live import app
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.usher import first_leaf
from pedaltrainer.live.options import Options
from pedaltrainer.pedals import monitor
from pedaltrainer.records.log import Log
from pedaltrainer.session.step import begin
from tests.benchmarks.attacks.harness import command

ROOT = Path(__file__).parents[3]
PLAYERS = ("Robin", "Kim")
WORDS = (
    *(
        "Am E",
        "F",
        "C G",
        "G[320003] C",
        "re-land F",
        "level A Bm",
        "shared C Am +1",
        "pressure F",
        "Em C G D",
    ),
    *(
        "passage Am:3 G F:3/2",
        "Am",
        "Bm7b5",
        "F#m7",
        "D A x4",
        *PLAYERS,
        "Robin Vale",
        "Low Water",
        "Salt",
        "Verse",
    ),
    *(
        "D A D G B E",
        "E A D G B E",
        "a4",
        "letter",
        "takes",
        "tempos",
        "12 December",
        "2026-12-01",
        "ask",
        "seek",
    ),
)


@functools.cache
def folder() -> Path:
    """A data folder with two players' takes, songs, a pack, shapes and settings; its neighbour `inputs` has
    a good file of each kind. Made once; nobody may write into it."""
    base = Path(tempfile.mkdtemp(prefix="attack-made-"))
    atexit.register(shutil.rmtree, base, ignore_errors=True)
    data, inputs = base / "data", base / "inputs"
    inputs.mkdir()

    def done(*words: object) -> None:
        said = command([*map(str, words), "--data", str(data)])
        assert said.code == 0, (words, said)

    for seed, player in enumerate(PLAYERS, start=7):
        done("rehearse", "--fast", "--seed", seed, "--player", player, "--minutes", 2, "Am E", "F", "C G")
    for chart in sorted((ROOT / "configs" / "songs").glob("*.chart")):
        done("song", "add", chart)
        shutil.copy(chart, inputs)
    shutil.copy(ROOT / "configs" / "packs" / "example.toml", inputs / "pack.toml")
    for score in ("lantern_reel.xml", "low_water.musicxml"):
        shutil.copy(ROOT / "tests" / "data" / score, inputs)
    done("export", inputs / "takes.csv")
    done("export", inputs / "takes.jsonl")
    done("pack", "return", inputs / "log.sqlite3", "--player", "Kim")
    done("pack", "use", inputs / "pack.toml")
    (data / "settings.toml").write_text('volume = 0.3\ncautions_seen_utc = "2026-01-01T00:00:00.000Z"\n')
    (data / "shapes.toml").write_text('[Am]\nfrets = "x 0 2 2 1 0"\nfingers = "0 0 2 3 1 0"\n')
    (data / "pedals").mkdir()
    preset = (ROOT / "configs" / "pedals" / "two_switches_by_controller.toml").read_text(encoding="utf-8")
    (data / "pedals" / "mine.toml").write_text(
        f'device = "My pedal"\n{_without_match(preset)}', encoding="utf-8"
    )
    for path in (data / "log.sqlite3", inputs / "log.sqlite3"):
        with closing(sqlite3.connect(path)) as log:
            log.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return data


def _without_match(preset: str) -> str:
    lines = preset.splitlines()
    return "\n".join(line for line in lines if not line.startswith(("match", "device")))


NO_DEVICES = {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy", "MIDO_BACKEND": "none.such"}
"""Environment in which no window, sound or MIDI is looked for."""


def without_devices(put: Callable[[object, str, object], None] = setattr) -> None:
    """No window, sound or MIDI: what would open the stage opens log and session, and closes them again.

    put: how an attribute is set, for a while or for good.
    """

    def run(options: Options, on_take: object = None) -> Conductor:
        with Log.open(options.desk.log_place) as log:
            book = open_book(log, options)
            conductor = Conductor(begin(options.settings), SimulatedStream(), book)
            conductor.open(0.0)
            conductor.shut(1.0)
            conductor.finish()
            return conductor

    def run_home(house: House) -> list[Conductor]:
        first_leaf(house)
        return [run(house.options)]

    put(app, "run", run)
    put(app, "run_home", run_home)
    # The player's own desktop is no place for what is tried out.
    put(starter, "install", lambda starting, home, force: home)
    put(monitor, "teach", lambda *_: None)
