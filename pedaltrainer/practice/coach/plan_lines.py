"""A plan for today: its lines, and how they are made to fit the minutes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from pedaltrainer.practice.drill import Drill
from pedaltrainer.songs.metre import Metre

UNIT_MIN = 0.5
"""Lines are whole half minutes long where the minutes asked for allow it."""
BREAK_AFTER_MIN, NO_BREAK_UP_TO_MIN = 20.0, 25.0


class Mode(StrEnum):
    MEASURE = "measure"
    PRACTISE = "practise"
    SLOW = "slow"


class Why(StrEnum):
    """Why a line is in a plan."""

    WARM_UP = "warm-up"
    NEW = "new"
    ASKED = "asked for"
    KEPT = "kept"


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One block. start_bpm: where it begins; None where the ladder knows best.

    target_bpm: the tempo at which it is ready; None where nothing asks for one. sources: the songs or packs
    that ask for it. now_bpm: its clean tempo as its last take left it. metre: of the song; None where none
    asks.
    """

    drill: Drill
    minutes: float
    mode: Mode
    start_bpm: int | None
    why: Why
    target_bpm: float | None = None
    sources: tuple[str, ...] = ()
    now_bpm: float | None = None
    metre: Metre | None = None


@dataclass(frozen=True, slots=True)
class Today:
    """The lines in order. Their minutes add up to `minutes`. breaks: after how many minutes to rest."""

    lines: tuple[PlanLine, ...]
    minutes: float
    breaks: tuple[float, ...] = ()


def fitted(lines: Sequence[PlanLine], minutes: float) -> Today:
    """The plan of these lines, made to last so many minutes."""
    whole = tuple(shared_out(merged(lines), minutes))
    return Today(whole, minutes, breaks_in(whole, minutes))


def merged(lines: Sequence[PlanLine]) -> list[PlanLine]:
    """Neighbours of one drill become one line."""
    joined: list[PlanLine] = []
    for line in lines:
        if joined and joined[-1].drill.key == line.drill.key and joined[-1].mode is line.mode:
            joined[-1] = replace(joined[-1], minutes=joined[-1].minutes + line.minutes)
        else:
            joined.append(line)
    return joined


def shared_out(lines: Sequence[PlanLine], minutes: float) -> list[PlanLine]:
    """The lines made to last so many minutes in all, in whole units but for the last line."""
    wanted = sum(line.minutes for line in lines)
    whole: list[PlanLine] = []
    ideal = given = 0.0
    for line in lines[:-1]:
        ideal += line.minutes * minutes / wanted
        upto = max(given, round(ideal / UNIT_MIN) * UNIT_MIN)
        whole.append(replace(line, minutes=upto - given))
        given = upto
    whole.append(replace(lines[-1], minutes=minutes - given))
    return [line for line in whole if line.minutes > 0]


def breaks_in(lines: Sequence[PlanLine], minutes: float) -> tuple[float, ...]:
    """Where to rest: at the end of the line nearest to every twentieth minute, in a session that needs it."""
    if minutes <= NO_BREAK_UP_TO_MIN:
        return ()
    ends, at = [], 0.0
    for line in lines[:-1]:
        at += line.minutes
        ends.append(at)
    breaks: list[float] = []
    since = 0.0
    while ends and minutes - since > NO_BREAK_UP_TO_MIN:
        since = min(ends, key=lambda end: abs(end - since - BREAK_AFTER_MIN))
        if breaks and since <= breaks[-1]:
            break
        breaks.append(since)
    return tuple(breaks)
