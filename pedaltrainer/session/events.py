"""What happens to a session: everything that goes into `session.step`. Frozen and pure.

Every event carries the heard second at which it happened.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from pedaltrainer.ear.verdicts import HeardAs, HeardTake
from pedaltrainer.pedals.events import Control


@dataclass(frozen=True, slots=True)
class Opened:
    """The stage is open and the stream runs."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class Pressed:
    """A foot (or an answering key) went down: known at once, before any gesture is."""

    heard_s: float
    t_s: float
    judge: str
    answers: bool = True
    """Its switch can answer a take; logs of before tell of no other."""
    known_within_s: float = 0.0
    """Seconds until its gesture is known at the latest."""
    dwells: bool = False
    """Nothing on its pedal can choose from a list: there a rest of the foot does."""


@dataclass(frozen=True, slots=True)
class Pointed:
    """A pointer or a finger was put on a row of a list: it is marked."""

    heard_s: float
    row: int


@dataclass(frozen=True, slots=True)
class Given:
    """A control was given: its press began at pressed_heard_s, and arrived at the raw time pressed_s."""

    heard_s: float
    pressed_heard_s: float
    pressed_s: float
    control: Control
    judge: str


@dataclass(frozen=True, slots=True)
class Due:
    """The moment the state was waiting for has come: heard_s is state.due_s."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class InputLost:
    """An input went. in_use: it gave the last press, or there is no other one left."""

    heard_s: float
    name: str
    in_use: bool = True


@dataclass(frozen=True, slots=True)
class InputBack:
    heard_s: float
    name: str


@dataclass(frozen=True, slots=True)
class SoundLost:
    heard_s: float
    words: str


@dataclass(frozen=True, slots=True)
class SoundStumbled:
    """The sound device had nothing to play for a moment, at the heard second at_s: it sounds broken."""

    heard_s: float
    at_s: float


@dataclass(frozen=True, slots=True)
class SoundBack:
    """Another sound device plays from now on; without a name the same one, of which more is known.

    lead_s: from a decision to the first click, at the least.
    """

    heard_s: float
    name: str
    lead_s: float = 0.0


class LandingTold(NamedTuple):
    """What the ear said of a landing: a value of `ear.verdicts.HeardAs`, how late it was, and the strings
    that did not ring, as players call them. sure: enough to answer by itself; None where that is not told
    apart, as in logs from before it was: late and not struck then are."""

    verdict: str
    late_ms: float | None = None
    strings: tuple[str, ...] = ()
    sure: bool | None = None


@dataclass(frozen=True, slots=True)
class EarHeard:
    """What the ear makes of a take, by its number. It stands in the log beside the foot's answer.

    take_utc: when the take began, as its row has it. take: a value of `ear.verdicts.HeardTake`. guard:
    nothing in it can be the click's. has_reference: clean takes of the drill were there to compare with.
    click: it was heard in it, however softly. by_notes: of a MIDI guitar, which hears neither click nor room.
    why: why there is no verdict (`ear.verdicts.Unheard`, or "gone"
    of a microphone that went); "" where there is one.
    """

    heard_s: float
    serial: int
    take: str = HeardTake.UNSURE.value
    guard: bool = False
    has_reference: bool = False
    clearness_db: float = 0.0
    landings: tuple[LandingTold, ...] = ()
    why: str = ""
    take_utc: str = ""
    click: bool = False
    by_notes: bool = False

    def __post_init__(self) -> None:
        # In the log they are lists.
        told = (LandingTold(kind, ms, tuple(silent), *sure) for kind, ms, silent, *sure in self.landings)
        object.__setattr__(self, "landings", tuple(told))

    @property
    def is_sure(self) -> bool:
        """May the ear answer by itself? Only where it was shown to be right (docs/evidence/ear.md)."""
        heard_well = self.by_notes or (not self.click and self.clearness_db >= CLEAR_DB)
        speaks = self.guard and heard_well and self.has_reference
        return speaks and self.take == HeardTake.MISSED and self.first_sure is not None

    @property
    def first_sure(self) -> int | None:
        """The first landing, from 1, that surely was late, not struck or another chord."""
        sure = (one.verdict in SPEAKS_OF if one.sure is None else one.sure for one in self.landings)
        return next((at for at, is_sure in enumerate(sure, 1) if is_sure), None)

    @property
    def silent(self) -> tuple[str, ...]:
        """The strings that did not ring, in the order of their landings, each once."""
        dead = (one.strings for one in self.landings if one.verdict == HeardAs.DEAD)
        return tuple(dict.fromkeys(name for names in dead for name in names))


CLEAR_DB = 30.0
"""How far a take must stand above the room for the ear to answer by itself."""
SPEAKS_OF = frozenset({HeardAs.LATE, HeardAs.ABSENT})
"""What the ear answers by itself where it is not told apart how sure it is."""


@dataclass(frozen=True, slots=True)
class SoundChecked:
    """What came of a sound check. name: of the input. noise_db: of the room, click_db: of the click above it,
    None where it is not heard; delay_ms: from the click's way out to its way in. why: why nothing can be
    heard. by_notes: of a MIDI guitar, which hears neither.
    """

    heard_s: float
    name: str
    noise_db: float = 0.0
    click_db: float | None = None
    delay_ms: float | None = None
    why: str = ""
    by_notes: bool = False


@dataclass(frozen=True, slots=True)
class LogLost:
    """The log cannot be written for now; what was answered is kept in memory and tried again."""

    heard_s: float
    words: str


@dataclass(frozen=True, slots=True)
class LogBack:
    """Everything answered is on disk again."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class Taught:
    """The lesson for a pedal is over; words say what was learnt."""

    heard_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Shut:
    """The window was closed from outside: a take that is on is void."""

    heard_s: float


@dataclass(frozen=True, slots=True)
class Noted:
    """What was noted of a take, beside what led to it: for whoever reads the record. Nothing comes of it.

    take_utc: when the take began, as its row has it. drill: its key.
    """

    heard_s: float
    at_utc: str
    take_utc: str
    drill: str
    tempo_bpm: int
    note: str


@dataclass(frozen=True, slots=True)
class AtHome:
    """What happened at home before this session, `was` as plain data. Nothing comes of it."""

    heard_s: float
    was: dict[str, Any]


Told = (
    Pressed
    | Pointed
    | Given
    | Due
    | InputLost
    | InputBack
    | SoundLost
    | SoundStumbled
    | SoundBack
    | Taught
    | Shut
)
"""What the devices, the clock and the window tell."""

Event = Told | Opened | AtHome | Noted | LogLost | LogBack | EarHeard | SoundChecked
