"""Make the guide's pictures of a record: `python docs/pictures/make_report.py [FOLDER]`. Needs Chromium.

A made-up pupil's page and a teacher's page of four, as the tests of the report have them; a drill's progress.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from datetime import UTC, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from playwright.sync_api import sync_playwright

from pedaltrainer import cli
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.many_players import pupils
from pedaltrainer.history.one_player import tell
from pedaltrainer.page.html import page
from pedaltrainer.telling.report import player_page
from pedaltrainer.telling.report_players import players_page
from tests.page.made_up import FLAT, NOW, RISING, TODAY, write_log, write_songs

PUPILS = (("Kim", RISING, NOW), ("Noor", FLAT, NOW), ("Alex", RISING, NOW - timedelta(days=30)))
WIDTH = 800
HEIGHTS = {"report": 1120, "report-players": 560}


def main() -> None:
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        write_log(folder)
        for seed, (name, gain, last) in enumerate(PUPILS, start=2):
            write_log(folder, name, {"Am E": gain}, last=last - timedelta(hours=1), seed=seed)
        write_songs(folder)
        progress = ("progress", "Am F", "--player", "Robin", "--target", "150", "--data", str(folder))
        cli.main([*progress, "--picture", str(out / "progress.png")])
        desk = Desk(folder, "Robin")
        pages = {
            "report": player_page(tell(desk, NOW, 90, zone=UTC)),
            "report-players": players_page(pupils([desk], NOW, 90, zone=UTC), TODAY, 90),
        }
        with sync_playwright() as playing:
            browser = playing.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            for name, content in pages.items():
                shown = browser.new_page(viewport={"width": WIDTH, "height": HEIGHTS[name]})
                shown.set_content(page(content))
                shown.screenshot(path=out / f"{name}.png")
            browser.close()


if __name__ == "__main__":
    main()
