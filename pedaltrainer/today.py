"""Today's practice: the player's songs and log in, a planned session out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.known import evidence
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.practice.evidence import Known, history_of
from pedaltrainer.practice.plan import plan_today
from pedaltrainer.practice.plan_choices import passages_of
from pedaltrainer.practice.plan_lines import Today
from pedaltrainer.practice.readiness import needs_of
from pedaltrainer.session_state import FIRST_START_BPM, Settings
from pedaltrainer.songs.song import Song

USUAL_MINUTES = 20.0
NO_SONGS = (
    "There is no song yet to plan for; add one with pedaltrainer song add FILE, "
    'or practise a change with pedaltrainer play "Am E".'
)


@dataclass(frozen=True, slots=True)
class Planned:
    """Today's plan and the evidence it rests on."""

    plan: Today
    known: Known


def plan_for(
    songs: Sequence[Song], folder: Path, player: str, minutes: float, now: datetime, book: ShapeBook
) -> Planned:
    """What to practise now. `now` carries its time zone: its date there is today.

    Raises InputError when there is no song with a change in it, or for a log that cannot be read.
    """
    needs = needs_of(songs)
    if not needs:
        raise InputError(NO_SONGS)
    known = evidence(folder, player, now)
    plan = plan_today(needs, known, minutes, now.date(), book=book, passages=passages_of(songs))
    return Planned(plan, known)


def as_session(settings: Settings, planned: Planned) -> Settings:
    """The settings of a session that runs a plan, its other settings as they are."""
    lines = planned.plan.lines
    return replace(
        settings,
        drills=tuple(line.drill for line in lines),
        minutes_each=tuple(line.minutes for line in lines),
        modes=tuple(line.mode.value for line in lines),
        reasons=tuple(line.reason for line in lines),
        starts_bpm=tuple(line.start_bpm or FIRST_START_BPM for line in lines),
        start_named=False,
        histories=tuple(history_of(line.drill, planned.known) for line in lines),
        minutes=None,
    )
