"""What is played in one piece, a run-through or a trial of tapping along: ready, played, over. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TypeVar

from pedaltrainer.session.events import Event, InputBack, InputLost, Shut, SoundLost


class PiecePhase(StrEnum):
    READY = "ready"
    PLAYING = "playing"
    OVER = "over"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceState:
    """What is known of any such piece. start_s: the heard second of the count-in's first beat."""

    phase: PiecePhase = PiecePhase.READY
    now_s: float = 0.0
    due_s: float | None = None
    start_s: float = 0.0
    lost_input: str | None = None
    notices: tuple[str, ...] = ()


AnyPiece = TypeVar("AnyPiece", bound=PieceState)


@dataclass(frozen=True, slots=True)
class PlayPiece:
    """Let it be heard: its first beat is at a heard second."""

    start_s: float


@dataclass(frozen=True, slots=True)
class StopPiece:
    """Let nothing more of it be heard."""


@dataclass(frozen=True, slots=True)
class KeepPiece:
    """What was played is over: it is to be on disk before anything more is counted in."""


def on_a_pedal(state: AnyPiece, event: Event) -> AnyPiece:
    """The state after what befell a pedal; the same after anything else."""
    match event:
        case InputLost(name=name):
            return replace(state, lost_input=name)
        case InputBack(name=name) if name == state.lost_input:
            return replace(state, lost_input=None)
    return state


def with_reason(state: AnyPiece, event: Shut | SoundLost) -> AnyPiece:
    """The state with what is to be said of the event that stops it."""
    return replace(state, notices=(*state.notices, event.words)) if isinstance(event, SoundLost) else state


def over(state: AnyPiece) -> AnyPiece:
    return replace(state, phase=PiecePhase.OVER, due_s=None)
