"""What a session asks of the world: effects, the take to play, the answer to keep. Frozen, pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.take import Take
from pedaltrainer.songs.metre import Metre


@dataclass(frozen=True, slots=True)
class Run:
    """A take under way: everything about its time follows from start_s and the tempo.

    start_s is the first beat of the count-in and lies on a sample of the stream.
    """

    serial: int
    drill: Drill
    tempo_bpm: int
    start_s: float
    count_in_beats: int
    metre: Metre
    landings: int

    @property
    def beats(self) -> int:
        """Whole beats from the first landing to the end of the last chord."""
        return math.ceil(self.drill.landing_beat(self.landings))

    def beat_s(self, beat: float) -> float:
        """The heard second of a beat counted from the first landing; the count-in is negative."""
        return self.start_s + (self.count_in_beats + beat) * 60 / self.tempo_bpm

    def beat_at(self, heard_s: float) -> float:
        """The beat, counted from the first landing, that is heard at a second."""
        return (heard_s - self.start_s) * self.tempo_bpm / 60 - self.count_in_beats

    @property
    def last_landing_s(self) -> float:
        return self.beat_s(float(self.drill.landing_beat(self.landings - 1)))

    @property
    def end_s(self) -> float:
        """Half a beat after the last beat: where the hand would lift."""
        return self.beat_s(self.beats - 0.5)


@dataclass(frozen=True, slots=True)
class Answered:
    """A take with its answer and everything the log keeps of it.

    pressed_s is the raw arrival of the press that judged it, heard_press_s the same in heard time;
    both None when silence or a device judged.
    """

    run: Run
    take: Take
    judge: str
    ended_s: float
    pressed_s: float | None = None
    heard_press_s: float | None = None
    silent: tuple[str, ...] = ()
    """The strings that did not ring, where it is played string by string."""


@dataclass(frozen=True, slots=True)
class PlayRun:
    run: Run


@dataclass(frozen=True, slots=True)
class StopClick:
    pass


class Cue(StrEnum):
    """Short sounds that acknowledge. The timing room has a sound of each name."""

    PASS_ = "pass"
    FAIL = "fail"
    NEXT = "next"
    PRESS = "press"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class SoundCue:
    cue: Cue


@dataclass(frozen=True, slots=True)
class RecordTake:
    answered: Answered


@dataclass(frozen=True, slots=True)
class CancelTake:
    serial: int
    reason: str


class Note(StrEnum):
    """What can be noted of a take."""

    HURTS = "hurts"
    BUZZ = "buzz"
    WRONG_FINGER = "wrong finger"


@dataclass(frozen=True, slots=True)
class NoteTake:
    """Keep a note of the take that was begun last."""

    run: Run
    note: str
    """A `Note`; of a take that is played string by string, what a string that did not ring is called."""


@dataclass(frozen=True, slots=True)
class CheckSound:
    """Play the click by itself, and listen to it."""


@dataclass(frozen=True, slots=True)
class VolumeStep:
    """The click louder by so many steps, or quieter, and heard."""

    steps: int


@dataclass(frozen=True, slots=True)
class CautionsSeen:
    pass


@dataclass(frozen=True, slots=True)
class SightChosen:
    screen_inches: float | None = None
    distance_m: float | None = None


@dataclass(frozen=True, slots=True)
class StartTeaching:
    pass


@dataclass(frozen=True, slots=True)
class StopTeaching:
    pass


@dataclass(frozen=True, slots=True)
class Close:
    pass


Effect = (
    PlayRun
    | StopClick
    | SoundCue
    | RecordTake
    | CancelTake
    | NoteTake
    | CheckSound
    | VolumeStep
    | CautionsSeen
    | SightChosen
    | StartTeaching
    | StopTeaching
    | Close
)
