"""Four weeks of a made-up player's practice on a simulated clock: the whole way from songs to readiness.

Every day the plan is made from what the log knows, the session is run by the same conductor as a real one,
and the player's hands learn from the takes they played. Only those hands are made up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from pedaltrainer.history.known import evidence
from pedaltrainer.history.today import as_session, plan_for
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.practice.coach.readiness import Need, needs_of, standings_of
from pedaltrainer.practice.take import Take
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.evening import Evening
from pedaltrainer.rehearsal.learner import Learner
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.settings import Settings
from pedaltrainer.songs.song import Song

DAYS = 28
SEEDS_A_DAY = 1000


def journey(
    songs: Sequence[Song],
    settings: Settings,
    folder: Path,
    player: str,
    seed: int,
    minutes: float,
    began: datetime,
    book: ShapeBook,
    days: int = DAYS,
) -> Iterator[Evening]:
    """Practise `minutes` a day from `began`; yields the evening before the first day, then each day's.

    The log is written in `folder`. Raises InputError when the songs have no change to practise.
    """
    needs = needs_of(songs)
    learner = Learner(book, seed)
    yield _evening(0, (), learner, needs, folder, player, began)
    for day in range(1, days + 1):
        now = began + timedelta(days=day - 1)
        planned = plan_for(songs, folder, player, minutes, now, book)
        options = Options(
            settings=replace(as_session(settings, planned), seed=seed),
            player=player,
            folder=folder,
            settings_folder=folder,
            made_up=MadeUpPlayer(0.0, seed * SEEDS_A_DAY + day, learner=learner),
            began=now,
            shapes=book,
        )
        with Log.open(folder) as log:
            done = fast.rehearse(options, log)
        takes = (*done.state.earlier, *done.state.takes_so_far)
        learner = learner.after(takes)
        yield _evening(day, takes, learner, needs, folder, player, now + timedelta(hours=1))


def _evening(
    day: int,
    takes: Sequence[Take],
    learner: Learner,
    needs: Sequence[Need],
    folder: Path,
    player: str,
    now: datetime,
) -> Evening:
    known = evidence(folder, player, now) if day else {}
    return Evening(
        day,
        len(takes),
        tuple(dict.fromkeys(take.drill.title for take in takes)),
        standings_of(needs, known),
        {need.drill.key: learner.skill_bpm(need.drill) for need in needs},
    )
