"""Make the guide's pictures of home: `python docs/pictures/make_home.py [FOLDER]`.

A made-up player has practised the songs of the made-up band for two weeks; each picture is what the stage
makes of one of home's pages then.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.four_weeks import journey
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import page_of
from pedaltrainer.live.options import Options
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.screen.window import save_png
from pedaltrainer.session.home import BACK, Errand, Turned, Verb, Walk, step
from pedaltrainer.session.settings import Settings
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shipped import configs_folder

SIZE = (1366, 768)
BEGAN = datetime(2026, 10, 5, 18, 0, tzinfo=UTC)
DAYS, MINUTES, SEED = 14, 20.0, 5
PAGES = {
    "home": Errand(Verb.TURN, "home"),
    "home-change": Errand(Verb.TURN, "change", "Am F"),
    "home-song": Errand(Verb.TURN, "song", "Low Water"),
    "how-it-goes": Errand(Verb.TURN, "drill", "change Am F"),
}
"""Picture name -> the page."""


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    with tempfile.TemporaryDirectory() as scratch:
        house = _house(Path(scratch))
        for name, place in PAGES.items():
            walk, _ = step(Walk(trail=((BACK, 0),)), Turned(0.0, page_of(house, place)))
            around = Surroundings(house.options.desk.shapes)
            save_png(walk_view(walk, 0.0, around), folder / f"{name}.png", SIZE)
            print(f"{name}.png: {walk.leaf.title if walk.leaf else ''}")


def _house(folder: Path) -> House:
    shutil.copytree(configs_folder() / "songs", folder / "songs")
    desk = Desk(folder, "Robin")
    settings = Settings(drills=(parse_drill("Am E"),), ladder="seek")
    for _ in journey(desk, settings, SEED, MINUTES, BEGAN, DAYS):
        pass
    evening = BEGAN + timedelta(days=DAYS - 1, hours=2)
    return House(Options(settings, desk.afresh()), now=lambda: evening)


if __name__ == "__main__":
    main()
