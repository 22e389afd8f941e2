"""All that a session is started with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from pedaltrainer.history.desk import Desk
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import Sight
from pedaltrainer.session.settings import Settings
from pedaltrainer.timing.backing.feels import Backing, Feel
from pedaltrainer.timing.sound_device import SoundWish


@dataclass(frozen=True, slots=True)
class Options:
    """All that a session is started with. notices: told on the stage until the first take."""

    settings: Settings
    desk: Desk
    volume: float = 0.4
    answer_sounds: bool = True
    sound: SoundWish = field(default_factory=SoundWish)
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
    feel: Feel | None = None
    """Of the backing; None for the click alone."""
    backing_level: float = 0.6
    backing_pad: bool = False
    clock_out: str = ""
    """The MIDI output that a clock is sent to; "" for none."""
    clock_offset_s: float = 0.0
    ear_input: str = ""
    """A part of the name of the input that the ear listens to; "" for the system's first."""

    @property
    def backing(self) -> Backing | None:
        return None if self.feel is None else Backing(self.feel, self.backing_level, pad=self.backing_pad)


VOLUMES = (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""The steps of the volume that are offered by foot."""


LEVELS = (0.2, 0.4, 0.6, 0.8, 1.0)
"""Those of how loud a backing is beside the click, gone round."""


def feel_of(chosen: str) -> Feel | None:
    """The feel that a player's choice means: none for "off"."""
    return None if chosen == "off" else Feel(chosen)


def with_ear(settings: Settings, chosen: str) -> Settings:
    """The settings as a player's choice has them: "off", "tells" or "answers"."""
    return replace(settings, ear=chosen != "off", ear_answers=chosen == "answers")


def ear_of(settings: Settings) -> str:
    """The choice that they are; `with_ear` undone."""
    return "answers" if settings.ear_answers else "tells" if settings.ear else "off"


def delays_s(delays_ms: Mapping[str, float]) -> dict[str, float]:
    """How late devices reach the ear, by their names, in seconds."""
    return {name: delay_ms / 1000 for name, delay_ms in delays_ms.items()}


def stepped(values: Sequence[float], now: float, steps: int) -> float:
    """The next of some ascending values above a value, or below it for a step down; at an end the value."""
    if steps > 0:
        return min((value for value in values if value > now + 1e-9), default=now)
    return max((value for value in values if value < now - 1e-9), default=now)
