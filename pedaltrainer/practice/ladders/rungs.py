"""What every ladder is made of: its start, its rungs, its result, and what the session needs of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum, auto
from typing import NamedTuple, Protocol, Self

from pedaltrainer.practice.clean_tempo import TOO_WIDE, Estimate, PastResult
from pedaltrainer.practice.kinds import SLOW_BPM
from pedaltrainer.practice.rules import NOW, Rules
from pedaltrainer.practice.take import REACTION_S, Take
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

PRACTISE_CHANCE = 0.80
"""Where four takes in five come out clean one learns soonest, by simulation: docs/evidence/coaching.md."""


@dataclass(frozen=True, slots=True)
class LadderStart:
    """Everything a ladder may want to know before its first take.

    start_bpm: where a ladder without knowledge begins; step_bpm: the step of
    those that have one. mode: "measure" looks for the clean tempo and ends,
    "practise" stays where the player learns until the time is up. history: what
    was found before, on this drill or on related ones.
    """

    start_bpm: int
    step_bpm: int = 8
    landings: int = 8
    count_in_beats: int = 4
    beats_per_chord: int = 1
    speak_up: bool = False
    mode: str = "measure"
    history: tuple[PastResult, ...] = ()
    first_bpm: int | None = None
    """The tempo of the first take when the player has named one."""
    reaction_s: float = REACTION_S
    pause_s: float = 0.0
    """From the end of a take to the next count-in, its answer included."""
    rules: Rules = NOW
    tight: float = 0.05
    """A measurement ends when the 90 % interval is within this share either way."""
    step_up: float = 0.12
    """The largest step over the fastest tempo passed, once something was missed."""
    first_step_up: float = 0.35
    """The same while nothing was missed yet: far from the limit, larger steps frighten nobody."""
    most_rise: float | None = None
    """How much faster than the take before the next one may be, as a share; None: as the steps allow."""
    practise_chance: float = PRACTISE_CHANCE
    """The chance of a clean take that practise mode keeps to."""
    counts_misses: bool = False
    """A missed take is said to be missed once, or more often."""
    slow_bpm: int = SLOW_BPM
    """Where slow work begins."""
    gives_way: bool = True
    """Slow work becomes slower after a miss."""


@dataclass(frozen=True, slots=True)
class Rung:
    """One tempo, and how often it was passed and failed."""

    tempo_bpm: int
    passes: int = 0
    fails: int = 0


class EndedBy(Enum):
    """Why a ladder needs no more takes, or a drill was left before that."""

    TOP_REACHED = auto()
    BOTTOM_MISSED = auto()
    WELL_KNOWN = auto()
    MISSED_TWICE = auto()
    READY = auto()
    """What the songs ask for is reached."""
    TIME_UP = auto()
    STOPPED = auto()


class Ending(NamedTuple):
    """Why a drill ended, with the figure it is about: a tempo in BPM, or per cent."""

    by: EndedBy
    figure: float = 0.0


TIME_UP, STOPPED = Ending(EndedBy.TIME_UP), Ending(EndedBy.STOPPED)


class Finding(Enum):
    """What a ladder can say of the clean tempo, with no more certainty than there is."""

    NONE = auto()
    """No take was clean."""
    FASTEST_RUNG = auto()
    """Nothing but the fastest rung passed."""
    CLEAN_TEMPO = auto()
    ABOVE = auto()
    """Nothing was missed yet: the interval's lower end alone rests on takes."""
    BELOW = auto()
    """No take came out clean yet: its upper end alone does."""
    WITHIN = auto()
    """Too wide an interval for a number."""
    SLOW_WORK = auto()
    """How many takes were clean: nothing is measured."""


def finding_of(found: Estimate, passed: bool, failed: bool, knew: bool) -> Finding:
    """What can be said of a clean tempo that was found.

    passed, failed: was any take of the session clean, was any missed? knew: it began with a history.
    """
    # With a tight history one side of the answers is enough; without, both are needed.
    if found.half_width <= TOO_WIDE and (knew or (passed and failed)):
        return Finding.CLEAN_TEMPO
    if passed and failed:
        return Finding.WITHIN
    return Finding.ABOVE if passed else Finding.BELOW


class ToldTempo(NamedTuple):
    """As much of a clean tempo as can be told, in BPM.

    bpm is None when it is not known well enough for a number; low_bpm when it is known only to be below
    high_bpm, high_bpm when only to be above low_bpm; all three are None where nothing is measured.
    """

    bpm: float | None = None
    low_bpm: float | None = None
    high_bpm: float | None = None


def told_of(found: Estimate, finding: Finding) -> ToldTempo:
    """What a finding lets be told."""
    return ToldTempo(
        found.bpm if finding is Finding.CLEAN_TEMPO else None,
        None if finding is Finding.BELOW else found.low_bpm,
        None if finding is Finding.ABOVE else found.high_bpm,
    )


@dataclass(frozen=True, slots=True)
class LadderResult:
    """What a ladder has found.

    tried: the rungs. interval_bpm and clean_bpm: the clean tempo and its 90 %
    interval when the ladder measures them. found: the same as the history of what is played next.
    """

    ending: Ending
    tried: tuple[Rung, ...] = ()
    finding: Finding = Finding.NONE
    interval_bpm: tuple[float, float] | None = None
    clean_bpm: float | None = None
    found: PastResult | None = None

    @property
    def best_bpm(self) -> int | None:
        """The fastest rung passed."""
        return best_of(self.tried)


class Ladder(Protocol):
    """What the session needs of a ladder."""

    @property
    def name(self) -> str: ...
    @property
    def tempo_bpm(self) -> int:
        """The tempo of the next take."""
        ...

    @property
    def ended(self) -> Ending | None:
        """Why the ladder needs no more takes; None while it does."""
        ...

    def answered(self, take: Take) -> Self:
        """The ladder after one more take. A void take changes nothing."""
        ...

    def result(self) -> LadderResult: ...
    def reaches(self, tempo_bpm: float) -> bool:
        """Is the clean tempo at least this, as surely as a drill is called ready?"""
        ...

    def rungs(self) -> tuple[Rung, ...]:
        """The rungs tried so far, slow to fast."""
        ...


def with_answer(tried: tuple[Rung, ...], tempo_bpm: int, passed: bool) -> tuple[Rung, ...]:
    """The rungs after one more answer, slow to fast."""
    by_tempo = {rung.tempo_bpm: rung for rung in tried}
    rung = by_tempo.get(tempo_bpm, Rung(tempo_bpm))
    by_tempo[tempo_bpm] = replace(rung, passes=rung.passes + passed, fails=rung.fails + (not passed))
    return tuple(by_tempo[tempo] for tempo in sorted(by_tempo))


def best_of(tried: tuple[Rung, ...]) -> int | None:
    """The fastest rung passed."""
    return max((rung.tempo_bpm for rung in tried if rung.passes), default=None)


def on_the_ladder(tempo_bpm: float) -> int:
    """A tempo as a whole number of BPM between the slowest and the fastest rung."""
    return min(max(round(tempo_bpm), SLOWEST_BPM), FASTEST_BPM)
