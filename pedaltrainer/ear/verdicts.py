"""What the ear says of a take and of each of its landings; and why it cannot say anything."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class HeardAs(StrEnum):
    """Of a landing."""

    OK = "ok"
    LATE = "late"
    ABSENT = "absent"
    WRONG = "wrong"
    DEAD = "dead"
    """One string or more of the right chord did not ring."""
    UNSURE = "unsure"


class HeardTake(StrEnum):
    """Of a take: missed when one landing surely was, clean when every one surely was not."""

    CLEAN = "clean"
    MISSED = "missed"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class LandingHeard:
    """late_ms: how much later than in the player's clean takes (or than its place), below 0 earlier; None
    where nothing was struck. strings: 0-based, lowest first; those that are dead, or may be where it is
    unsure. sure: is it late, absent or another chord beyond doubt, beside clean takes and without a click?
    None where that is not told apart."""

    verdict: HeardAs
    late_ms: float | None
    strings: tuple[int, ...] = ()
    sure: bool | None = None


@dataclass(frozen=True, slots=True)
class TakeHeard:
    """delay_ms: where the first beat of the count-in is in the recording. guard: what is left of the click
    is too faint to be taken for a chord; without it no landing is judged. has_reference: there were clean
    takes to compare with."""

    take: HeardTake
    delay_ms: float
    guard: bool
    has_reference: bool
    landings: tuple[LandingHeard, ...]


class Unheard(StrEnum):
    """Why a recording cannot be judged."""

    SILENT = "silent"
    CLIPPED = "clipped"
    SHORT = "short"
    LONG = "long"
    NO_CLICK = "no click"
    OTHER_TEMPO = "other tempo"
    NO_CHORDS = "no chords"
    OTHER_CHORD = "other chord"
    NOT_ALONE = "not alone"
    """More than the chords: another guitar, or other music."""
    FLOOD = "flood"
    """More notes than a guitar can send."""
    OTHER_INSTRUMENT = "other instrument"


class UnheardError(Exception):
    """Raised in place of a verdict. recording: 0 the take, 1 the first reference."""

    def __init__(self, why: Unheard, recording: int = 0) -> None:
        super().__init__(why.value)
        self.why, self.recording = why, recording
