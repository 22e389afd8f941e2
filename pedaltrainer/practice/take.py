"""Takes: one run of a drill at one tempo, and how it was answered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from pedaltrainer.practice.drill import Drill

COUNTED_IN_BEATS = 2
"""With how many beats of count-in a take is reckoned: what all but a drill's first have, where not fast."""
REACTION_S = 0.25
"""How long a foot takes to speak up of what the ear heard, until the player says otherwise."""


MORE = 2
"""How many misses are said when there was more than one: nobody is asked to count them."""


class Outcome(StrEnum):
    PASS_ = "pass"
    FAIL = "fail"
    VOID = "void"


class AnswerStyle(StrEnum):
    """ask: every take is answered. speak-up: silence is a pass, a press is the miss."""

    ASK = "ask"
    SPEAK_UP = "speak-up"


COUNTED = "count"
"""How players call the style in which every take is asked about, and a missed one whether more than once."""


def style_of(chosen: str) -> tuple[AnswerStyle, bool]:
    """The style that a player's choice means, and whether misses are counted."""
    return (AnswerStyle.ASK, True) if chosen == COUNTED else (AnswerStyle(chosen), False)


def chosen_style(style: AnswerStyle, counts_misses: bool) -> str:
    """The choice that a style is; `style_of` undone."""
    return COUNTED if style is AnswerStyle.ASK and counts_misses else style.value


@dataclass(frozen=True, slots=True)
class Take:
    """One run of a drill at one tempo, as answered.

    first_miss is the 1-based landing at which it went wrong, None when the
    take was clean or when the player only said so at the end. A void take
    was interrupted and says nothing about the player. misses: of a failed take 1 for a single
    landing, MORE for more than one; None where that was not asked. taken_off_s: what was
    taken off the press to find first_miss. press_beat: when the foot spoke up, in
    beats from the first landing; only the first sessions measure by it.
    """

    drill: Drill
    tempo_bpm: float
    landings: int
    outcome: Outcome
    first_miss: int | None = None
    press_beat: float | None = None
    taken_off_s: float = REACTION_S
    misses: int | None = None


DatedTake = tuple[datetime, Take]


def minutes_of(take: Take) -> float:
    """How long a take was played, as far as it went, with its count-in."""
    landings = take.landings if take.first_miss is None else min(take.first_miss, take.landings)
    return minutes_played(1 / take.tempo_bpm, landings * take.drill.beats_per_landing / take.tempo_bpm)


def minutes_played(beat_min: float, landings_min: float) -> float:
    """Minutes of takes, from the minutes of a beat and those of all landings, each the sum over the takes."""
    return COUNTED_IN_BEATS * beat_min + landings_min
