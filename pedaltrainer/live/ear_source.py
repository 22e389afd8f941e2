"""What the ear listens to, behind one door: a microphone (`by_microphone`) or notes (`by_notes`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.from_notes import NotesHeard
from pedaltrainer.ear.hearing import HeardTogether
from pedaltrainer.ear.verdicts import TakeHeard
from pedaltrainer.session.effects import Run
from pedaltrainer.session.events import EarHeard, LandingTold, SoundChecked
from pedaltrainer.timing.stream import ClickStream

BEFORE_THE_COUNT_S = 0.3
"""So much earlier than the count-in a take is cut out."""

TakeTogether = HeardTogether | NotesHeard
"""A take of this session that was heard: later ones may be held against it."""


@dataclass(frozen=True, slots=True, eq=False)
class Listened:
    """A take that is to be judged: what is expected, and from when to when it lasts, on the clock of
    presses."""

    run: Run
    expected: Expected
    start_t_s: float
    last_t_s: float
    end_t_s: float
    backing: bool

    @property
    def by_string(self) -> bool:
        """Are its strings picked one by one?"""
        return self.run.drill.row.by_string


class Source(Protocol):
    """Used by the ear's thread alone, but for level, strings and close."""

    patience_s: float
    """For how long it is looked for what has not come in yet."""

    def until_t_s(self, take: Listened, clean: Sequence[TakeTogether]) -> float:
        """When all that is needed of a take has sounded. clean: takes of its drill."""

    def hear(self, take: Listened, until_t_s: float, clean: Sequence[TakeTogether]) -> TakeTogether | None:
        """What a take was; None where not all of it is there. Raises UnheardError where it allows no
        verdict."""

    def told(self, take: Listened, one: TakeTogether) -> EarHeard:
        """What was heard, as the session is told."""

    def missed(self, take: Listened, why: str) -> EarHeard:
        """That nothing was heard, and why; "": why not all of it was there."""

    @property
    def lost(self) -> bool:
        """Nothing will come any more, for now."""

    def begin_check(self, stream: ClickStream) -> float:
        """A sound check begins; when it can be told, on the clock of presses."""

    def checked(self) -> SoundChecked:
        """What came of the sound check."""

    def level(self) -> float | None:
        """How loud it is, 0-1; None where there is nothing to be told."""

    def strings(self) -> tuple[str, ...] | None:
        """The open strings that have been heard, as players call them; None where that is not asked."""

    def close(self) -> None: ...


def landings_told(expected: Expected, heard: TakeHeard) -> tuple[LandingTold, ...]:
    """The verdicts on the landings of a take, strings by their names."""
    return tuple(
        LandingTold(
            landing.verdict.value,
            None if landing.late_ms is None else round(landing.late_ms, 1),
            tuple(wanted.shape.tuning.called[string] for string in landing.strings),
            landing.sure,
        )
        for wanted, landing in zip(expected.landings, heard.landings, strict=True)
    )
