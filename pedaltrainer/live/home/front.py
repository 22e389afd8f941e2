"""Home's first page, what it begins, and the question before it is left."""

from __future__ import annotations

from pedaltrainer.history import at_home
from pedaltrainer.live import starting
from pedaltrainer.live.home.house import House
from pedaltrainer.session.home import Leaf
from pedaltrainer.session.settings import Settings
from pedaltrainer.showing.home import front
from pedaltrainer.showing.home.pages import DRILLS


def home(house: House, value: str) -> Leaf:
    return front.home(at_home.home_facts(house.options.desk, house.now()))


def close(house: House, value: str) -> Leaf:
    return front.close()


def today(house: House, value: str) -> Settings:
    """The day's practice, of so many minutes."""
    return starting.of_today(house.usual, house.options.desk, float(value), house.now())


def drills(house: House, value: str) -> Settings:
    """Some drills, in turn."""
    named = [house.options.desk.drill(words) for words in value.split(DRILLS)]
    return starting.of_drills(house.usual, house.options.desk, named)
