"""What home says of a player's log, songs and packs."""

from __future__ import annotations

from datetime import datetime

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, read_known
from pedaltrainer.history.today import can_be_played, next_up, usual_minutes
from pedaltrainer.practice.coach.limits import ratio_of
from pedaltrainer.practice.coach.readiness import needs_of, song_standing
from pedaltrainer.showing.home.front import HomeFacts
from pedaltrainer.showing.home.songs import SongFacts


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


def songs_facts(desk: Desk, now: datetime) -> tuple[SongFacts, ...]:
    """The songs with how ready they are. Raises InputError for a log that cannot be read."""
    if not desk.songs:
        return ()
    known = evidence(desk, now)
    ratio = ratio_of([need.drill for need in needs_of(desk.songs)], known)
    return tuple(SongFacts(song, song_standing(song, known, ratio)) for song in desk.songs)
