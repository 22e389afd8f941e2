"""Four weeks of a made-up player's practice on a simulated clock: the whole way from songs to readiness.

Every day the plan is made from what the log knows, the session is run by the same conductor as a real one,
and the player's hands learn from the takes they played. Only those hands are made up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence
from pedaltrainer.history.today import plan_for
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.live.starting import made, of_plan
from pedaltrainer.practice.coach.readiness import Need, needs_of, standings_of
from pedaltrainer.practice.take import Take
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.evening import Evening
from pedaltrainer.rehearsal.learner import Learner
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.settings import Settings

DAYS = 28
SEEDS_A_DAY = 1000


def journey(
    desk: Desk, settings: Settings, seed: int, minutes: float, began: datetime, days: int = DAYS
) -> Iterator[Evening]:
    """Practise `minutes` a day from `began`; yields the evening before the first day, then each day's.

    Raises InputError when the songs of the desk have no change to practise.
    """
    needs = needs_of(desk.songs)
    learner = Learner(desk.shapes, seed)
    yield _evening(0, (), learner, needs, desk, began)
    for day in range(1, days + 1):
        now = began + timedelta(days=day - 1)
        options = Options(
            settings=replace(made(of_plan(settings, plan_for(desk, minutes, now)), desk), seed=seed),
            desk=desk,
            made_up=MadeUpPlayer(0.0, seed * SEEDS_A_DAY + day, learner=learner),
            began=now,
        )
        with Log.open(desk.log_place) as log:
            done = fast.rehearse(options, log)
        takes = (*done.state.earlier, *done.state.takes_so_far)
        learner = learner.after(takes)
        yield _evening(day, takes, learner, needs, desk, now + timedelta(hours=1))


def _evening(
    day: int, takes: Sequence[Take], learner: Learner, needs: Sequence[Need], desk: Desk, now: datetime
) -> Evening:
    known = evidence(desk, now) if day else {}
    return Evening(
        day,
        len(takes),
        tuple(dict.fromkeys(take.drill.title for take in takes)),
        standings_of(needs, known),
        {need.drill.key: learner.skill_bpm(need.drill) for need in needs},
    )
