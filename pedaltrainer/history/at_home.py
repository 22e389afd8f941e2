"""What home says of a player's log, songs and packs."""

from __future__ import annotations

from datetime import datetime

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, read_known
from pedaltrainer.history.today import can_be_played, next_up, usual_minutes
from pedaltrainer.showing.home.front import HomeFacts


def home_facts(desk: Desk, now: datetime) -> HomeFacts:
    """What the first page is made of. Raises InputError for a log that cannot be read."""
    asked = bool(desk.songs or any(pack.drills for pack in desk.packs))
    known = read_known(desk)
    coming = next_up(desk, evidence(desk, now), now) if asked else None
    return HomeFacts(
        player=desk.player,
        minutes=usual_minutes(desk.packs) if asked else None,
        next_up=None if coming is None else coming.drill,
        last=tuple(drill for drill in known.last_drills if can_be_played(drill, desk.shapes)),
        songs=len(desk.songs),
        has_played=bool(known.last_drills),
    )
