"""What a week's errands cost a foot with one switch: gestures and seconds, words typed none.

    python -m tests.benchmarks.errands [--json]

A real window (full 1920x1080 virtual screen), a virtual pedal on a real JACK port. The player has practised
the made-up band's songs for two weeks. Each errand begins at home, on the row that home marks; the foot taps
four times in three seconds and holds for 0.75 s, and looks 0.5 s at each new page. The page that the errand
ends on is compared with the window, pixel by pixel, and then the foot goes back home.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.four_weeks import journey
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import page_of
from pedaltrainer.live.options import Options
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.session.home import Errand, Leaf, Turned, Verb, Walk, step
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Ack, AckKind
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shipped import configs_folder
from tests.benchmarks.watched import FULL_HD
from tests.devices.jack import JackServer, VirtualPedal
from tests.devices.window import RealSession, Screen

DAYS, MINUTES, SEED, PLAYER = 14, 20.0, 5, "Robin"
TAP_S, UP_S, HOLD_S, LOOK_S = 0.1, 0.65, 0.75, 0.5
HOME = Errand(Verb.TURN, "home")
ERRANDS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("begin today's practice", ("Today",)),
    ("practise the change that is next", ("Next",)),
    ("go on with what was last", ("Go on",)),
    ("see how it goes", ("How it goes",)),
    ("see the days of the drill practised last", ("How it goes", "")),
    ("see those of the drill after it", ("How it goes", "", "On to")),
    ("look at a common change", ("A change", "Common", "")),
    ("look at a song", ("Songs", "")),
    ("see which change of a song is hardest", ("Songs", "")),
    ("set the click's loudness", ("Set up", "Sound")),
    ("set how far away the screen is", ("Set up", "Screen")),
    ("let another play", ("Another player",)),
)
"""An errand, and the rows that it takes, each by how it begins; "" for the marked one."""


@dataclass
class Foot:
    """One switch, and how much of it an errand has taken."""

    pedal: VirtualPedal
    gestures: int = 0

    def tap(self) -> None:
        self.pedal.send("b0 40 7f", f"@{TAP_S}", "b0 40 00", f"@{UP_S}")
        self.gestures += 1

    def hold(self) -> None:
        self.pedal.send("b0 40 7f", f"@{HOLD_S}", "b0 40 00")
        self.gestures += 1


def a_folder(folder: Path) -> House:
    """Two weeks of a made-up player, and the house as the program will see it."""
    shutil.copytree(configs_folder() / "songs", folder / "songs")
    (folder / "settings.toml").write_text('cautions_seen_utc = "2026-01-01T00:00:00.000Z"\n')
    desk = Desk(folder, PLAYER)
    settings = Settings(drills=(parse_drill("Am E"),), ladder="seek")
    began = datetime.now().astimezone() - timedelta(days=DAYS)
    for _ in journey(desk, settings, SEED, MINUTES, began, DAYS):
        pass
    return House(Options(settings, desk.afresh()))


def walked(house: House, foot: Foot, rows: tuple[str, ...]) -> Leaf:
    """Go from home through these rows; returns the page that the last one leads to, or stands on."""
    leaf, marker = page_of(house, HOME), None
    for begins in rows:
        marker = leaf.marked
        wanted = next(
            (at for at, row in enumerate(leaf.rows) if begins and row.words.startswith(begins)), marker
        )
        for _ in range((wanted - marker) % len(leaf.rows)):
            foot.tap()
        foot.hold()
        errand = leaf.rows[wanted].errand
        if errand.verb in {Verb.TURN, Verb.ACROSS}:
            leaf = page_of(house, errand)
        time.sleep(LOOK_S)
    return leaf


def one_errand(
    house: House,
    folder: Path,
    screen: Screen,
    pedal: VirtualPedal,
    rows: tuple[str, ...],
    **environment: str,
) -> tuple[int, float, bool]:
    """Gestures, seconds, and whether the window shows where they led."""
    words = ("home", "--input", pedal.client, "--player", PLAYER)
    with RealSession(screen, folder, *words, cautions_seen=False, **environment) as session:
        session.find_window()
        _shows(session, house, page_of(house, HOME), pedal)
        foot = Foot(pedal)
        began_s = time.perf_counter()
        leaf = walked(house, foot, rows)
        took_s = time.perf_counter() - began_s - LOOK_S
        shown = leaf.place == HOME or _shows(session, house, leaf, pedal)
        session.close_window()
        session.wait_for_end()
    return foot.gestures, took_s, shown


def _shows(session: RealSession, house: House, leaf: Leaf, pedal: VirtualPedal) -> bool:
    walk, _ = step(Walk(), Turned(0.0, leaf))
    if leaf.place != HOME:
        # A press was acknowledged, and that has faded.
        walk = replace(walk, trail=((HOME, 0),), ack=Ack(AckKind.PRESS, -60.0))
    around = Surroundings(house.options.desk.shapes, input_name=pedal.name)
    return session.shows(walk_view(walk, 0.0, around), within_s=10)


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    server = JackServer(synchronous=True)
    found = []
    try:
        with tempfile.TemporaryDirectory(prefix="pedaltrainer-benchmark-") as scratch:
            folder = Path(scratch) / "data"
            folder.mkdir()
            house = a_folder(folder)
            with VirtualPedal(server.environment) as pedal, closing(Screen(Path(scratch), FULL_HD)) as screen:
                for name, rows in ERRANDS:
                    gestures, took_s, shown = one_errand(
                        house, folder, screen, pedal, rows, **server.environment
                    )
                    seconds = round(took_s, 1)
                    found.append({"errand": name, "gestures": gestures, "seconds": seconds, "shown": shown})
                    if not asked.json:
                        print(f"| {name} | {gestures} | {seconds} | {'yes' if shown else 'NO'} |", flush=True)
    finally:
        server.stop()
    if asked.json:
        print(json.dumps(found, indent=2))
    return 0 if all(one["shown"] for one in found) else 1


if __name__ == "__main__":
    sys.exit(main())
