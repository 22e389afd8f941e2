"""What a player is likely to choose: from the songs, the packs and the log."""

from __future__ import annotations

from datetime import datetime

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, read_known
from pedaltrainer.history.today import can_be_played, playable
from pedaltrainer.practice.coach.first_changes import common_changes
from pedaltrainer.practice.coach.plan import in_turn
from pedaltrainer.showing.home.choosing import ChangesFacts


def changes_facts(desk: Desk, now: datetime) -> ChangesFacts:
    """What the page of changes is made of. Raises InputError for a log that cannot be read."""
    tasks = playable(desk)
    needed = [one.drill for one in in_turn(tasks, evidence(desk, now), now.date())] if tasks else []
    last = [drill for drill in read_known(desk).last_drills if can_be_played(drill, desk.shapes)]
    # What is next is a row of home.
    return ChangesFacts(
        tuple(needed[1:]),
        tuple(drill for drill in last if drill not in needed[:1]),
        common_changes(desk.shapes),
    )
