"""The settings of a session that runs a plan. Pure."""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.history.today import Planned
from pedaltrainer.practice.coach.evidence import history_of
from pedaltrainer.session.settings import FIRST_START_BPM, Settings
from pedaltrainer.showing.plan_words import reason_words


def as_session(settings: Settings, planned: Planned) -> Settings:
    """The settings of a session that runs a plan, its other settings as they are."""
    lines = planned.plan.lines
    return replace(
        settings,
        drills=tuple(line.drill for line in lines),
        minutes_each=tuple(line.minutes for line in lines),
        modes=tuple(line.mode.value for line in lines),
        reasons=tuple(reason_words(line) for line in lines),
        starts_bpm=tuple(line.start_bpm or FIRST_START_BPM for line in lines),
        start_named=False,
        targets_bpm=tuple(line.target_bpm or 0.0 for line in lines),
        histories=tuple(history_of(line.drill, planned.known, planned.ratio.value) for line in lines),
        minutes=None,
    )
