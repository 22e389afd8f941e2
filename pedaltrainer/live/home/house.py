"""The house: whose it is, and what the stage is set up as by now."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from pedaltrainer.live.options import Options
from pedaltrainer.session.settings import Settings


@dataclass(slots=True)
class House:
    """What home is about: the stage's options, which change as the player sets things up, and the day.

    now: what time it is, with its zone.
    """

    options: Options
    now: Callable[[], datetime] = lambda: datetime.now().astimezone()

    def freshly(self) -> None:
        """Look at the folder anew: what is kept there may have changed."""
        self.options = replace(self.options, desk=self.options.desk.afresh())

    @property
    def usual(self) -> Settings:
        """What a session is run with, whatever it will play; the first pages are home's."""
        return replace(self.options.settings, show_cautions=False, ask_sight=False)
