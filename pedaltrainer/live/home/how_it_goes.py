"""How it goes, on the stage."""

from __future__ import annotations

from pedaltrainer.errors import InputError
from pedaltrainer.history import going
from pedaltrainer.live.home.house import House
from pedaltrainer.session.home import Leaf
from pedaltrainer.showing.home import how_it_goes as pages
from pedaltrainer.telling.progress_words import verdict_alone


def how_it_goes(house: House, value: str) -> Leaf:
    desk = house.options.desk
    there = going.goings(desk, verdict_alone)
    return pages.how_it_goes(going.week_of(desk, house.now()), there, bool(desk.songs))


def drill(house: House, value: str) -> Leaf:
    there = going.goings(house.options.desk, verdict_alone)
    at = next((index for index, one in enumerate(there) if one.drill.key == value), None)
    if at is None:
        raise InputError("The log has no takes of that drill any more.")
    after = there[(at + 1) % len(there)].drill if len(there) > 1 else None
    return pages.drill(there[at], after)
