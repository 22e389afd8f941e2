"""Takes: one run of a drill at one tempo, and how it was answered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from pedaltrainer.practice.drill import Drill
from pedaltrainer.timing.grid import COUNT_IN_BEATS


class Outcome(StrEnum):
    PASS_ = "pass"
    FAIL = "fail"
    VOID = "void"


class AnswerStyle(StrEnum):
    """ask: every take is answered. speak-up: silence is a pass, a press is the miss."""

    ASK = "ask"
    SPEAK_UP = "speak-up"


@dataclass(frozen=True, slots=True)
class Take:
    """One run of a drill at one tempo, as answered.

    first_miss is the 1-based landing at which it went wrong, None when the
    take was clean or when the player only said so at the end. A void take
    was interrupted and says nothing about the player. press_beat is when the
    foot spoke up, in beats from the first landing; it says more than first_miss
    about which landing it was, because feet differ in how late they are.
    """

    drill: Drill
    tempo_bpm: float
    landings: int
    outcome: Outcome
    first_miss: int | None = None
    press_beat: float | None = None


DatedTake = tuple[datetime, Take]


def missed_landing(press_beat: float, reaction_beats: float, drill: Drill, landings: int) -> int:
    """The 1-based landing that a press in a speak-up take is about.

    A foot answers late, so the press belongs to the last landing at or before
    the press less the player's reaction time. press_beat counts beats from the
    first landing. A press sooner after the first landing than the reaction
    time can only be about the first; one after the last, about the last.
    """
    about = drill.landing_at(press_beat - reaction_beats) + 1
    return min(max(about, 1), landings)


def minutes_of(take: Take) -> float:
    """How long a take was played, as far as it went, with its count-in."""
    landings = take.landings if take.first_miss is None else min(take.first_miss, take.landings)
    return minutes_played(1 / take.tempo_bpm, landings * take.drill.beats_per_landing / take.tempo_bpm)


def minutes_played(beat_min: float, landings_min: float) -> float:
    """Minutes of takes, from the minutes of a beat and those of all landings, each the sum over the takes."""
    return COUNT_IN_BEATS * beat_min + landings_min
