"""How long the player waits: for the help, for the first picture, from the press to the first click.

    python -m tests.benchmarks.start_up [--runs 7] [--json]

Each run starts the command anew in a process of its own, as a player would,
on a full 1920x1080 virtual screen with a virtual pedal on a real JACK port,
and watches from outside. The first run warms the disk cache and is not
counted. Printed:

- first picture: from the start of the process to bright letters in the screen's frame buffer;
- home: from the start of the process to bright letters of home's first page (no drill named); with
  --log FOLDER that of its player, whose log may be a long one;
- ready: to the stage that names the pedal, which takes presses;
- first click: from the pedal's hand-over of the press that begins to the moment a buffer with
  sound in it is written out (SDL's disk driver: the buffer would begin to play then); of this,
  the half second between a decision and the click it asks for is meant;
- help: `pedaltrainer --help`, in multiples of an interpreter that reads the same words with a bare argparse
  (the two in turn, 21 times each; the ratio of the medians).
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import shape_book
from tests.benchmarks.watched import FULL_HD
from tests.devices.jack import JackServer, VirtualPedal, wait_until
from tests.devices.window import RealSession, Screen
from tests.session.playing import Playing, settings

BARE = "import argparse; argparse.ArgumentParser(description='Nothing.').parse_args()"
HELP_RUNS = 21
LETTER_BRIGHTNESS = 128
LOOK_EVERY_S = 0.004


def wait_for(happened: Callable[[], bool], within_s: float = 20.0) -> float:
    """The moment at which it was seen to have happened."""
    if not wait_until(happened, within_s, LOOK_EVERY_S):
        raise RuntimeError("it did not happen")
    return time.perf_counter()


class Ear:
    """Listens to a recording as it grows, to each frame once."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._at = path.stat().st_size

    def hears(self) -> bool:
        """Whether what was written since the last time has sound in it."""
        with self._path.open("rb") as file:
            file.seek(self._at)
            new = file.read()
        self._at += len(new)
        return any(new)


def lasts_s(*words: str) -> float:
    """How long an interpreter takes from its start to its end."""
    started_s = time.perf_counter()
    subprocess.run([sys.executable, *words, "--help"], stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - started_s


def help_times_bare() -> float:
    pairs = [(lasts_s("-c", BARE), lasts_s("-m", "pedaltrainer")) for _ in range(HELP_RUNS)]
    bare_s, help_s = (statistics.median(each) for each in zip(*pairs, strict=True))
    return help_s / bare_s


def one_run(screen: Screen, folder: Path, pedal: VirtualPedal, server: dict[str, str]) -> dict[str, float]:
    ready = present(Playing(settings("Am E")).state, 0.0, Surroundings(shape_book(), input_name=pedal.name))
    words = ("play", "Am E", "--ladder", "steps", "--input", pedal.client, "--no-answer-sounds")
    started_s = time.perf_counter()
    with RealSession(screen, folder, *words, **server) as session:
        pictured_s = wait_for(lambda: bool((screen.picture() > LETTER_BRIGHTNESS).any()))
        session.find_window()
        assert session.shows(ready)
        ready_s = time.perf_counter()
        ear = Ear(folder / "heard.raw")
        pressed_s = pedal.tap()
        click_s = wait_for(ear.hears)
        session.keys("key", "q", "sleep", 0.5, "key", "Right")  # nothing was answered yet: to the door
        session.wait_for_end()
    return {
        "first_picture_s": pictured_s - started_s,
        "ready_s": ready_s - started_s,
        "first_click_s": click_s - pressed_s,
    }


def home_s(screen: Screen, folder: Path) -> float:
    """From the start of the process to the letters of home."""
    started_s = time.perf_counter()
    with RealSession(screen, folder, "home") as session:
        pictured_s = wait_for(lambda: bool((screen.picture() > LETTER_BRIGHTNESS).any()))
        session.find_window()
        session.close_window()
        session.wait_for_end()
    return pictured_s - started_s


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--log", type=Path, metavar="FOLDER", help="a folder with a log, for home")
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    runs = []
    server = JackServer(synchronous=True)
    try:
        with tempfile.TemporaryDirectory(prefix="pedaltrainer-benchmark-") as scratch:
            for number in range(asked.runs + 1):
                folder = Path(scratch) / str(number)
                folder.mkdir()
                # A dark screen each time: what the last session showed may stay on it.
                with VirtualPedal(server.environment) as pedal, closing(Screen(folder, FULL_HD)) as screen:
                    runs.append(one_run(screen, folder, pedal, server.environment))
                with closing(Screen(folder, FULL_HD)) as screen:
                    runs[-1]["home_s"] = home_s(screen, asked.log or folder)
    finally:
        server.stop()
    figures: dict[str, object] = {
        name: {
            "median": round(statistics.median(run[name] for run in runs[1:]), 3),
            "slowest": round(max(run[name] for run in runs[1:]), 3),
        }
        for name in runs[0]
    }
    figures["help_times_bare"] = round(help_times_bare(), 2)
    print(json.dumps(figures) if asked.json else "\n".join(f"{k}: {v}" for k, v in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
