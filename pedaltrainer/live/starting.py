"""From what is to be played, the log and what is remembered, to what a session is run with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import Known, read_known
from pedaltrainer.history.today import Planned, plan_for, usual_minutes
from pedaltrainer.neck.chords.tuning import check_frets
from pedaltrainer.practice.coach.evidence import history_of
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.hands import hands, strings_picked
from pedaltrainer.session.settings import Settings
from pedaltrainer.showing.plan_words import reason_words


def of_drills(
    usual: Settings,
    desk: Desk,
    drills: Sequence[Drill],
    known: Known | None = None,
    start_bpm: int | None = None,
) -> Settings:
    """The settings of a session of some drills, the others as usual.

    known: what the log knows, when it has been read already. start_bpm: the first tempo, when it was named.
    Raises InputError for a drill that the shapes of the desk do not allow.
    """
    known = known or read_known(desk)
    now = datetime.now(UTC)
    return replace(
        usual,
        drills=tuple(drills),
        starts_bpm=tuple(
            start_bpm or known.start_bpm(drill, usual.step_bpm, usual.first_bpm) for drill in drills
        ),
        start_named=start_bpm is not None,
        targets_bpm=tuple(desk.targets_bpm.get(drill.key, 0.0) for drill in drills),
        metres=usual.metres or tuple(str(desk.metres.get(drill.key, "")) for drill in drills),
        histories=tuple(known.history(drill, now) for drill in drills),
        **_of_their_own(desk, drills, known, usual.capo),
    )


def _of_their_own(desk: Desk, drills: Sequence[Drill], known: Known, capo: int) -> dict[str, Any]:
    """What only some kinds of drill need: the names of their strings, the steps that they have come to."""
    for drill in drills:
        _check_above_capo(drill, desk, capo)
    strings = tuple(_picked_alone(drill, desk) for drill in drills)
    first_steps = tuple(map(known.step, drills))
    return {
        "strings": strings if any(strings) else (),
        "first_steps": first_steps if any(first_steps) else (),
    }


def _check_above_capo(drill: Drill, desk: Desk, capo: int) -> None:
    """Raises InputError for a shape that would run off the neck."""
    for hand in hands(drill, desk.shapes):
        if hand.shape is not None and capo:
            try:
                check_frets(hand.shape.frets, replace(hand.shape.tuning, capo=capo))
            except InputError as trouble:
                raise InputError(f"“{drill.words}”, {hand.name}: {trouble}") from None


def _picked_alone(drill: Drill, desk: Desk) -> tuple[str, ...]:
    """What the strings are called that a drill has picked one by one."""
    held = hands(drill, desk.shapes)
    shapes = [hand.shape for hand in held if hand.shape and drill.row.by_string]
    return tuple(shape.tuning.called[string] for shape in shapes for string in strings_picked(drill, shape))


def of_today(usual: Settings, desk: Desk, minutes: float | None, now: datetime) -> Settings:
    """The settings of today's practice. Raises InputError when nothing asks for any."""
    return made(of_plan(usual, plan_for(desk, minutes or usual_minutes(desk.packs), now)), desk)


def made(settings: Settings, desk: Desk) -> Settings:
    """The settings with what the shapes of the desk and its log have to say of their drills.

    Raises InputError for a drill that the shapes do not allow.
    """
    return replace(settings, **_of_their_own(desk, settings.drills, read_known(desk), settings.capo))


def asks_for_practice(desk: Desk) -> bool:
    """Is there a song or a pack that a day can be planned for?"""
    return bool(desk.songs or any(pack.drills for pack in desk.packs))


def of_plan(usual: Settings, planned: Planned) -> Settings:
    """The settings of a session that runs a plan, its other settings as they are."""
    lines = planned.plan.lines
    return replace(
        usual,
        drills=tuple(line.drill for line in lines),
        minutes_each=tuple(line.minutes for line in lines),
        modes=tuple(line.mode.value for line in lines),
        reasons=tuple(reason_words(line) for line in lines),
        starts_bpm=tuple(line.start_bpm or usual.first_bpm for line in lines),
        start_named=False,
        targets_bpm=tuple(line.target_bpm or 0.0 for line in lines),
        metres=usual.metres or tuple(str(line.metre or "") for line in lines),
        histories=tuple(history_of(line.drill, planned.known, planned.ratio.value) for line in lines),
        minutes=None,
    )
