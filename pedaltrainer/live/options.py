"""All that a session is started with."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from pedaltrainer.history.desk import Desk
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import Sight
from pedaltrainer.session.settings import Settings


@dataclass(frozen=True, slots=True)
class Options:
    """All that a session is started with. notices: told on the stage until the first take."""

    settings: Settings
    desk: Desk
    volume: float = 0.4
    answer_sounds: bool = True
    sound_delay_s: float | None = None
    windowed: bool = False
    size: tuple[int, int] | None = None
    sight: Sight = field(default_factory=Sight)
    input_wanted: str | None = None
    made_up: MadeUpPlayer | None = None
    began: datetime | None = None
    """When the session began, for a rehearsal of another day; None: now."""
    left_handed: bool = False
    boxes_in_take: bool = True
    notices: tuple[str, ...] = ()
