"""The state of a session: everything it knows between two events. Frozen, pure.

Time in a session is `heard_s`: seconds of the click stream as heard by the
player. It is the stream's own time base, so the beat grid is exact in it and
a stalled sound device makes everything late together. Presses carry the raw
`t_s` of their arrival beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum, StrEnum, auto
from functools import lru_cache

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.ladders.ladder import Ladder, LadderResult, climb
from pedaltrainer.practice.ladders.rungs import on_the_ladder
from pedaltrainer.practice.steps import step_after
from pedaltrainer.practice.take import Take
from pedaltrainer.session.effects import Answered, Run
from pedaltrainer.session.events import EarHeard, Pressed, SoundChecked
from pedaltrainer.session.settings import Settings


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
    STILL_THERE = "still there"
    FINISH_ASKED = "finish asked"
    SWITCHES = "switches"
    CHANGES = "changes"
    NOTES = "notes"
    HURTS = "hurts"
    CLOSED = "closed"
    SOUND_CHECK = "sound check"
    """Last: made-up players draw their chances by a phase's place."""


PLAYING = frozenset({Phase.COUNT_IN, Phase.TAKE, Phase.ASKING, Phase.BREATH})
CLICKING = frozenset({Phase.COUNT_IN, Phase.TAKE})
LISTS = (Phase.SCREEN_SIZE, Phase.DISTANCE, Phase.PAUSED, Phase.CHANGES, Phase.NOTES)
"""Where a marker is moved to one of several rows."""
DWELL_S = 2.5
"""How long a foot that cannot say stop rests on a row to choose it."""

SCREEN_CHOICES_INCHES = (11.6, 13.3, 14.0, 15.6, 17.3, 21.5, 24.0, 27.0, 32.0, 43.0, 55.0)
DISTANCE_CHOICES_M = (0.6, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0)


class AckKind(Enum):
    """What is acknowledged."""

    PRESS = auto()
    PASS_ = auto()
    FAIL = auto()
    NEXT = auto()
    REPEAT = auto()
    TAKEN_BACK = auto()
    NOTHING_TO_UNDO = auto()
    PAUSED = auto()
    RESTED = auto()
    TAUGHT = auto()
    NOT_TAUGHT = auto()
    INPUT_GONE = auto()
    INPUT_BACK = auto()
    LOG_BACK = auto()
    TOO_LATE = auto()
    OUT_OF_PLACE = auto()
    STANDS = auto()
    NOBODY_THERE = auto()
    SAID = auto()
    CHANGED = auto()
    NOTED = auto()
    STUMBLED = auto()
    SOUND_BACK = auto()
    STRING = auto()
    EAR = auto()


@dataclass(frozen=True, slots=True)
class Ack:
    """The last thing that was said or happened, to be shown at once.

    take: as answered, of PASS_ and FAIL. name: of the input that has gone, of what is back; of TAUGHT what
    the lesson said, of SAID what home says, of STRING the one that did not ring.
    """

    kind: AckKind
    at_s: float
    take: Take | None = None
    name: str = ""


A_STEP = 1.08
"""By what "slower" and "faster" divide and multiply a tempo."""
LEAST_ROUND_S = 60.0
"""With less of its time left a plan does not come round again."""
STUMBLES_IN_A_ROW = 3
"""So many takes one after the other that the sound breaks: then no more of them by itself."""
LEAST_TAKES = 3
"""Takes of one visit before a drill is left because it is ready: fewer may be luck."""


@dataclass(frozen=True, slots=True)
class DrillResult:
    """What a drill has come to. last_bpm: the clean tempo found the time before, if one was."""

    drill: Drill
    result: LadderResult
    takes: int
    last_bpm: float | None = None
    place: int = 0
    """How many drills had been left before it."""
    target_bpm: float | None = None
    """The tempo that the songs ask of it."""
    is_ready: bool = False
    """Is it ready for that, as sure as that has to be?"""
    silent: Mapping[str, int] = field(default_factory=dict)
    """The strings that did not ring, and in how many of its takes, where it is played string by string."""


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
    visited: tuple[int, ...] = ()
    """The drills that were left, in the order in which they were: a plan may come round to one again."""
    used_s: float = 0.0
    """What the drills that were left have had of a plan's time."""
    serial: int = 0
    run: Run | None = None
    last_run: Run | None = None
    """The take that was begun last: what a note is about."""
    tempo_steps: int = 0
    """How many steps faster than its ladder asks this drill is played, slower below 0: the player's word."""
    held_bpm: int | None = None
    """The tempo that the player stays at, on this drill; None: the ladder's."""
    next_bpm: int | None = None
    """The tempo of the next take, whatever its ladder asks; None: as that asks."""
    dropped: tuple[int, ...] = ()
    """The drills that are left out from now on."""
    answers: tuple[Answered, ...] = ()
    earlier: tuple[Take, ...] = ()
    """The answered takes of this session's drills before the current one, oldest first."""
    results: tuple[DrillResult, ...] = ()
    rounds_before: tuple[DrillResult, ...] = ()
    """What the drills came to in earlier rounds, when all of them are done once more."""
    takes_before: tuple[Take, ...] = ()
    """The answered takes of those rounds, oldest first."""
    opened_with: Settings | None = None
    """The settings before those rounds, as the log has them; None in the first one."""
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
    named: tuple[Pressed, ...] = ()
    """The presses in the take that is on, each about a string, where it is played string by string."""
    heard: EarHeard | None = None
    """What the ear made of the take that is on, or was last."""
    checks: bool = False
    """A sound check is on."""
    checked: SoundChecked | None = None
    """What the last sound check came to."""
    may_count: bool = False
    """In this breath a press says that more than one landing was missed."""
    ack: Ack | None = None
    lost_input: str | None = None
    log_trouble: str | None = None
    notices: tuple[str, ...] = field(default=())
    stumbled: tuple[int, ...] = ()
    """The takes in which the sound stumbled, by their numbers."""
    downs: tuple[Down, ...] = ()
    """The presses whose gesture is not known yet."""
    dwells: bool = False
    """The foot that pressed last chooses by resting."""
    unseen: int = 0
    """Silent passes since the foot showed itself: they stand when it does."""

    def down_at(self, pressed_s: float) -> Down | None:
        """The press that arrived at a raw time, while its gesture is not known."""
        return next((down for down in self.downs if down.pressed_s == pressed_s), None)

    @property
    def tempo_bpm(self) -> int:
        """The tempo of the next take."""
        return self.asked_bpm(self.ladder) if self.next_bpm is None else self.next_bpm

    def asked_bpm(self, ladder: Ladder) -> int:
        """The tempo that a ladder leads to, as the player lets it."""
        if self.held_bpm is not None:
            return self.held_bpm
        if not self.tempo_steps:
            return ladder.tempo_bpm
        return on_the_ladder(ladder.tempo_bpm * A_STEP**self.tempo_steps)

    def ended(self, ladder: Ladder) -> bool:
        """Is the drill over by its ladder? Not for a player who stays at a tempo."""
        return ladder.ended is not None and self.held_bpm is None

    @property
    def mode(self) -> str:
        """The mode of the current drill."""
        return self.settings.modes[self.drill_index] if self.settings.modes else self.settings.mode

    @property
    def all_results(self) -> tuple[DrillResult, ...]:
        """Of every round of this session, in order."""
        return (*self.rounds_before, *self.results)

    @property
    def drill(self) -> Drill:
        """What is practised now, in the order of the take that comes."""
        drill = self.settings.drills[self.drill_index]
        if drill.row.drawn_anew:
            return replace(drill, turn=self.serial)
        return replace(drill, turn=self._step_of(drill)) if drill.row.steps else drill

    def _step_of(self, drill: Drill) -> int:
        """The step that a drill has come to, by all its takes of this session."""
        all_of_them = (*self.takes_before, *self.earlier, *self.takes_so_far)
        takes = (take for take in all_of_them if take.drill.key == drill.key)
        return step_after(takes, drill.row, self.settings.first_step(self.drill_index))

    @property
    def new_ladder(self) -> Ladder:
        """This drill's ladder before its first take now: it knows what the session has seen of it before."""
        key = self.drill.key
        before = (take for take in self.earlier if take.drill.key == key)
        return climb(self.settings.new_ladder(self.drill_index), before)

    @property
    def found(self) -> LadderResult:
        """What this drill has come to: of all that the session has played of it, as the log will tell it."""
        found, opened = self.ladder.result(), self.opened_with
        if opened is None or found.interval_bpm is None:
            return found
        if opened.drills[self.drill_index].key != self.drill.key:
            return found
        all_of_them = (*self.takes_before, *self.earlier, *self.takes_so_far)
        takes = (take for take in all_of_them if take.drill.key == self.drill.key)
        whole = climb(opened.new_ladder(self.drill_index), takes).result()
        return replace(
            found, finding=whole.finding, interval_bpm=whole.interval_bpm, clean_bpm=whole.clean_bpm
        )

    @property
    def allowance_s(self) -> float:
        """Seconds for the current drill."""
        return self.allowances_s[self.drill_index]

    @property
    def last_drill(self) -> bool:
        return self.drill_index + 1 == len(self.settings.drills) and not self.goes_round

    @property
    def goes_round(self) -> bool:
        """Has a plan that came to its end minutes left, and drills with a target to keep?"""
        planned_s = sum(self.settings.allowances_s) if self.settings.minutes_each else 0.0
        comes = any(target for at, target in enumerate(self.settings.targets_bpm) if at not in self.dropped)
        return comes and planned_s - self.used_s - self.spent_s >= LEAST_ROUND_S

    @property
    def target_bpm(self) -> float | None:
        """The tempo that the songs ask of the current drill."""
        return self.settings.target_bpm(self.drill_index)

    @property
    def is_ready(self) -> bool:
        """Has this visit to a planned drill reached what the songs ask of it? A few takes have to say so."""
        planned, target_bpm = bool(self.settings.minutes_each), self.target_bpm
        enough = planned and target_bpm is not None and len(self.answers) >= LEAST_TAKES
        return enough and self.ladder.reaches(target_bpm or 0.0)

    def was_reached(self, drill_index: int) -> bool:
        """Have the takes of this session brought a drill to what the songs ask of it?"""
        key = self.settings.drills[drill_index].key
        takes = tuple(take for take in (*self.earlier, *self.takes_so_far) if take.drill.key == key)
        return _is_reached(self.settings, drill_index, takes)

    @property
    def time_up(self) -> bool:
        return self.spent_s >= self.allowance_s

    @property
    def takes_so_far(self) -> tuple[Take, ...]:
        return tuple(answered.take for answered in self.answers)


@dataclass(frozen=True, slots=True)
class Down:
    """A foot that went down, and the state that the stage showed then.

    pressed_s: its raw arrival. known_s: the heard second by which its gesture is known.
    """

    pressed_s: float
    known_s: float
    then: State


@lru_cache(maxsize=64)
def _is_reached(settings: Settings, drill_index: int, takes: tuple[Take, ...]) -> bool:
    """Kept, since the stage asks with every frame what comes next."""
    target_bpm = settings.target_bpm(drill_index)
    if target_bpm is None or not takes:
        return False
    return climb(settings.new_ladder(drill_index), takes).reaches(target_bpm)
