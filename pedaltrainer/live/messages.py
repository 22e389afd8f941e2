"""What reaches the decider's queue."""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.live.home.drops import Dropped
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import InputStatus, Slid
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.screen.touch import Touch
from pedaltrainer.session.events import EarHeard, SoundChecked


@dataclass(frozen=True, slots=True)
class Touched:
    """A pointer or a finger on something of the stage, at a moment of the clock of presses."""

    touch: Touch
    t_s: float


Message = EarHeard | SoundChecked | BoundEdge | Slid | InputStatus | Observation | Touched | Dropped | None
"""None wakes the decider so that it can end."""
