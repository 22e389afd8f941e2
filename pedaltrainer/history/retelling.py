"""A session of the log told again from its inputs, and held against the takes that were written. Pure."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.practice.ladders.ladder import LADDERS
from pedaltrainer.records.rows import SessionRow, TakeRow
from pedaltrainer.session.effects import Answered, RecordTake
from pedaltrainer.session.replay import event_from_json, replay, settings_from_json
from pedaltrainer.session.run_through import run_replay, run_settings_from_json
from pedaltrainer.session.tap_along import tap_replay, tap_settings_from_json


def told_otherwise(
    row: SessionRow, inputs: Sequence[Mapping[str, Any]], takes: Sequence[TakeRow]
) -> str | None:
    """What differs when a session is run again; None when it gives the takes of the log, in their order.

    The last take may lack the inputs that led to it, where the program was killed in between. Raises
    InputError for settings or inputs that this program cannot read, and for a ladder that it does not have.
    """
    run = run_settings_from_json(row.settings)
    if run is not None:
        # Its passes are not written apart from its inputs: they can only be run again, or not.
        deque(run_replay(run, inputs), maxlen=0)
        return None
    tapped = tap_settings_from_json(row.settings)
    if tapped is not None:
        tap_replay(tapped, inputs)
        return None
    events = [event_from_json(record) for record in inputs]
    settings = settings_from_json(row.settings)
    if settings.ladder not in tuple(LADDERS):
        raise InputError(
            f"its ladder, “{settings.ladder}”, is no longer part of the program; "
            "its takes are kept, and not told again"
        )
    told = [
        effect.answered
        for _, effects in replay(settings, events)
        for effect in effects
        if isinstance(effect, RecordTake)
    ]
    if not len(takes) - 1 <= len(told) <= len(takes):
        return f"its inputs tell of {len(told)} takes and {len(takes)} are there"
    for number, (answered, take) in enumerate(zip(told, takes, strict=False), start=1):
        if _of_answer(answered) != _of_take(take):
            return f"its inputs tell take {number} otherwise than it is there"
    return None


def _of_answer(answered: Answered) -> tuple[object, ...]:
    take, run = answered.take, answered.run
    return run.drill.key, float(run.tempo_bpm), run.landings, str(take.outcome), take.first_miss, take.misses


def _of_take(take: TakeRow) -> tuple[object, ...]:
    return take.drill, take.tempo_bpm, take.landings, take.outcome, take.first_miss, take.misses
