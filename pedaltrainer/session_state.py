"""What a session is made of: settings, effects and state; its events have a file of their own. Frozen, pure.

Time in a session is `heard_s`: seconds of the click stream as heard by the
player. It is the stream's own time base, so the beat grid is exact in it and
a stalled sound device makes everything late together. Presses carry the raw
`t_s` of their arrival beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.ladder import LADDERS, Ladder, LadderResult, LadderStart, PastResult, climb
from pedaltrainer.practice.take import AnswerStyle, Take


class Phase(StrEnum):
    """Where a session stands. Each phase gives every control its meaning."""

    CAUTIONS = "cautions"
    SCREEN_SIZE = "screen size"
    DISTANCE = "distance"
    PLAN = "plan"
    READY = "ready"
    COUNT_IN = "count-in"
    TAKE = "take"
    ASKING = "asking"
    BREATH = "breath"
    PAUSED = "paused"
    REST_OFFERED = "rest offered"
    RESTING = "resting"
    TEACHING = "teaching"
    DRILL_DONE = "drill done"
    FINISHED = "finished"
    CLOSED = "closed"


FIRST_START_BPM = 60
"""Where a drill that was never practised begins: slow enough to think."""

PLAYING = frozenset({Phase.COUNT_IN, Phase.TAKE, Phase.ASKING, Phase.BREATH})
CLICKING = frozenset({Phase.COUNT_IN, Phase.TAKE})

SCREEN_CHOICES_INCHES = (11.6, 13.3, 14.0, 15.6, 17.3, 21.5, 24.0, 27.0, 32.0, 43.0, 55.0)
DISTANCE_CHOICES_M = (0.6, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0)


@dataclass(frozen=True, slots=True)
class Settings:
    """What a session is run with. Kept in the log beside the inputs, for replay."""

    drills: tuple[Drill, ...]
    answer_style: AnswerStyle = AnswerStyle.ASK
    ladder: str = "steps"
    starts_bpm: tuple[int, ...] = ()
    """Where each drill's ladder begins; a drill beyond the end begins at FIRST_START_BPM."""
    start_named: bool = False
    """The player has named the first tempo: no ladder may know better."""
    mode: str = "measure"
    """measure: find the clean tempo and end; practise: stay where the player learns."""
    histories: tuple[tuple[PastResult, ...], ...] = ()
    """What was found before, a tuple a drill; a drill beyond the end is new."""
    step_bpm: int = 8
    landings: int = 8
    beats_per_bar: int = 4
    minutes: float | None = None
    minutes_each: tuple[float, ...] = ()
    """In a planned session the minutes of each drill; `minutes` is then not asked."""
    modes: tuple[str, ...] = ()
    """In a planned session the mode of each drill: measure, practise, or slow (the tempo is held)."""
    reasons: tuple[str, ...] = ()
    """In a planned session why each drill is in it; the session then begins with its plan."""
    reaction_s: float = 0.25
    grace_s: float = 2.0
    """How long after the last landing of a speak-up take a press still means that take."""
    breath_s: float = 1.5
    lead_s: float = 0.5
    """From a decision to the first click it asks for: more than the sound takes to reach the ear."""
    rest_after_s: float = 20 * 60
    rest_s: float = 120
    rate: int = 48_000
    show_cautions: bool = False
    ask_sight: bool = False
    teach: bool = False
    """Begin with a lesson for the pedal, and close after it."""
    seed: int | None = None

    @property
    def count_in_beats(self) -> int:
        """A whole number of bars, and at least four beats."""
        bars = -(-4 // self.beats_per_bar)
        return bars * self.beats_per_bar

    @property
    def allowances_s(self) -> tuple[float, ...]:
        """Seconds for each drill: as planned, or the minutes asked for shared evenly, or five minutes."""
        if self.minutes_each:
            return tuple(minutes * 60 for minutes in self.minutes_each)
        minutes = 5.0 if self.minutes is None else self.minutes / len(self.drills)
        return (minutes * 60,) * len(self.drills)

    def landings_of(self, drill: Drill) -> int:
        """Landings in a take: as set, or a passage once through, a short one over and over."""
        if drill.kind is not Kind.PASSAGE:
            return self.landings
        times = -(-self.landings // len(drill.chords))
        return times * len(drill.chords)

    def new_ladder(self, drill_index: int) -> Ladder:
        """The ladder of one of the drills, before its first take."""
        mode = self.modes[drill_index] if self.modes else self.mode
        # Slow work has no tempo to look for.
        slow = mode == "slow" or self.drills[drill_index].kind is Kind.PRESSURE
        known = self.starts_bpm[drill_index : drill_index + 1]
        history = self.histories[drill_index : drill_index + 1]
        start = LadderStart(
            start_bpm=known[0] if known else FIRST_START_BPM,
            first_bpm=known[0] if known and (self.start_named or mode == "slow") else None,
            step_bpm=self.step_bpm,
            landings=self.landings_of(self.drills[drill_index]),
            count_in_beats=self.count_in_beats,
            beats_per_chord=max(1, round(self.drills[drill_index].beats_per_landing)),
            speak_up=self.answer_style is AnswerStyle.SPEAK_UP,
            reaction_s=self.reaction_s,
            mode=mode,
            history=history[0] if history else (),
        )
        return LADDERS["hold" if slow else self.ladder](start)


# --- the take that is on ----------------------------------------------------


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
    beats_per_bar: int
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


# --- effects ----------------------------------------------------------------


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
    | CautionsSeen
    | SightChosen
    | StartTeaching
    | StopTeaching
    | Close
)

# --- state ------------------------------------------------------------------


class AckKind(StrEnum):
    PRESS = "press"
    PASS_ = "pass"
    FAIL = "fail"
    NEXT = "next"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Ack:
    """The last thing the player said, to be shown at once."""

    kind: AckKind
    words: str
    at_s: float


@dataclass(frozen=True, slots=True)
class DrillResult:
    """What a drill has come to. last_bpm: the clean tempo found the time before, if one was."""

    drill: Drill
    result: LadderResult
    takes: int
    last_bpm: float | None = None


@dataclass(frozen=True, slots=True)
class State:
    """Everything a session knows. `answers` holds the current drill's answered takes, oldest first."""

    settings: Settings
    phase: Phase
    ladder: Ladder
    allowances_s: tuple[float, ...]
    """Seconds for each drill, with what earlier ones left over."""
    now_s: float = 0.0
    since_s: float = 0.0
    """When this phase began: a control whose press began earlier belongs to the phase before."""
    due_s: float | None = None
    drill_index: int = 0
    serial: int = 0
    run: Run | None = None
    answers: tuple[Answered, ...] = ()
    earlier: tuple[Take, ...] = ()
    """The answered takes of this session's drills before the current one, oldest first."""
    results: tuple[DrillResult, ...] = ()
    rounds_before: tuple[DrillResult, ...] = ()
    """What the drills came to in earlier rounds, when all of them are done once more."""
    chosen: int = 0
    went_on_to: Phase = Phase.READY
    """Where a pause, or the first pages, lead."""
    late_until_s: float = float("-inf")
    miss_pressed_s: float | None = None
    """The raw time of the press that marked a miss: whatever gesture it becomes, it has been heard."""
    spent_s: float = 0.0
    since_rest_s: float = 0.0
    played_s: float = 0.0
    rests: int = 0
    ack: Ack | None = None
    lost_input: str | None = None
    log_trouble: str | None = None
    notices: tuple[str, ...] = field(default=())

    @property
    def all_results(self) -> tuple[DrillResult, ...]:
        """Of every round of this session, in order."""
        return (*self.rounds_before, *self.results)

    @property
    def drill(self) -> Drill:
        return self.settings.drills[self.drill_index]

    @property
    def new_ladder(self) -> Ladder:
        """This drill's ladder before its first take now: it knows what the session has seen of it before."""
        key = self.drill.key
        before = (take for take in self.earlier if take.drill.key == key)
        return climb(self.settings.new_ladder(self.drill_index), before)

    @property
    def allowance_s(self) -> float:
        """Seconds for the current drill."""
        return self.allowances_s[self.drill_index]

    @property
    def last_drill(self) -> bool:
        return self.drill_index + 1 == len(self.settings.drills)

    @property
    def time_up(self) -> bool:
        return self.spent_s >= self.allowance_s

    @property
    def takes_so_far(self) -> tuple[Take, ...]:
        return tuple(answered.take for answered in self.answers)
