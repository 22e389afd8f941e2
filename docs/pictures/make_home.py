"""Make the guide's pictures of home: `python docs/pictures/make_home.py [FOLDER]`.

A made-up player has practised the songs of the made-up band for two weeks; each picture is what the stage
makes of one of home's pages then.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.four_weeks import journey
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import page_of
from pedaltrainer.live.options import Options
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.tapping_along import USUAL_LEAD_S
from pedaltrainer.screen.window import save_png
from pedaltrainer.session.home import BACK, Errand, Turned, Verb, Walk, step
from pedaltrainer.session.piece import PiecePhase
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.tap_along import Aim, TapSettings, TapState, ready
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shipped import configs_folder

SIZE = (1366, 768)
BEGAN = datetime(2026, 10, 5, 18, 0, tzinfo=UTC)
DAYS, MINUTES, SEED = 14, 20.0, 5
RECKONED_S, HEADPHONES_S = 0.021, 0.18
PAGES = {
    "home": Errand(Verb.TURN, "home"),
    "home-change": Errand(Verb.TURN, "change", "Am F"),
    "home-song": Errand(Verb.TURN, "song", "Low Water"),
    "sound-tapped": Errand(Verb.TURN, "sound tapped"),
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
    house = House(Options(settings, desk.afresh()), now=lambda: evening)
    house.sounds_on = lambda: ("Headphones", RECKONED_S)
    house.tapped = _tapped(HEADPHONES_S)
    return house


def _tapped(late_s: float) -> TapState:
    """A trial of a sound so late, tapped as usual."""
    trial = ready(TapSettings(Aim.DELAY, RECKONED_S))
    taps_s = [beat_s + late_s - RECKONED_S - USUAL_LEAD_S for beat_s in trial.beats_s]
    spread_s = (-0.03, 0.01, 0.02, 0.0, 0.03, -0.02)
    taps = tuple((tap_s + spread_s[number % 6], tap_s) for number, tap_s in enumerate(taps_s))
    return replace(trial, taps=taps, phase=PiecePhase.OVER, whole=True)


if __name__ == "__main__":
    main()
