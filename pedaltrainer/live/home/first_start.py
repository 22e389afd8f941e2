"""The first start by foot: its pages, and what ends it."""

from __future__ import annotations

from datetime import UTC

from pedaltrainer.live.home.house import House
from pedaltrainer.records.rows import utc_text
from pedaltrainer.session.home import Leaf
from pedaltrainer.showing.home import first_start as pages


def cautions(house: House, value: str) -> Leaf:
    return pages.cautions(house.options.settings.ask_sight, value == pages.FURTHER)


def screen(house: House, value: str) -> Leaf:
    return pages.screen(house.options.sight)


def distance(house: House, value: str) -> Leaf:
    return pages.distance(house.options.sight)


def tempo(house: House, value: str) -> Leaf:
    return pages.tempo()


def begin(house: House, value: str) -> str:
    """The tempo of the first takes, 0 for none; the next start is no first one. Raises InputError."""
    house.remember(first_tempo_bpm=float(value), cautions_seen_utc=utc_text(house.now().astimezone(UTC)))
    return ""
