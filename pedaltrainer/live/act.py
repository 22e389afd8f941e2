"""Whoever has the stage: a session, or home. What the devices tell goes in, one call a happening."""

from __future__ import annotations

from abc import ABC, abstractmethod

from pedaltrainer.live.foot import Foot
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import Control, InputStatus, Slid
from pedaltrainer.pedals.midi.lights import Moment
from pedaltrainer.pedals.scrolling import scroll
from pedaltrainer.screen.touch import Touch
from pedaltrainer.screen.view import StageView
from pedaltrainer.session.events import (
    Due,
    EarHeard,
    Given,
    Pointed,
    Shut,
    SoundBack,
    SoundChecked,
    SoundLost,
    SoundStumbled,
    Taught,
    Told,
)
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.timing.stream import ClickStream

POINTER = "pointer"
"""Who answered, when a pointer or a finger did."""


class Act(ABC):
    """It owns no thread and reads no clock: it is told the time with every call, from one thread."""

    stream: ClickStream
    foot: Foot

    @property
    @abstractmethod
    def closed(self) -> bool: ...

    @property
    @abstractmethod
    def due_s(self) -> float | None:
        """The heard second of what comes by itself; None for never."""

    @property
    def moment(self) -> Moment | None:
        """What the lights of a pedal show."""
        return None

    @property
    @abstractmethod
    def is_fresh(self) -> bool:
        """Has nothing been played or chosen in it yet?"""

    @property
    def listed(self) -> tuple[int, int]:
        """How many rows the list has that stands on the stage, 0 where none does, and which one is marked."""
        return (0, 0)

    @abstractmethod
    def open(self, t_s: float) -> None:
        """The stage is its own now."""

    @abstractmethod
    def view(self, heard_s: float, around: Surroundings) -> StageView: ...

    @abstractmethod
    def _happen(self, event: Told) -> None: ...

    def due_t_s(self) -> float | None:
        """When something is due by itself, on the clock of presses; None for never."""
        due_s = self.due_s
        dues = (self.foot.due_s, None if due_s is None else self.stream.t_s(due_s))
        return min((due for due in dues if due is not None), default=None)

    def edge(self, edge: BoundEdge) -> None:
        """A switch went down or came up."""
        self._let_due_come(edge.t_s)
        for event in self.foot.edge(edge, self.stream.heard_s):
            self._happen(event)

    def advance(self, t_s: float) -> None:
        """Time has come to t_s. Feed every edge that has arrived before telling the time."""
        for event in self.foot.tick(t_s, self.stream.heard_s):
            self._happen(event)
        self._let_due_come(t_s)

    def _let_due_come(self, t_s: float) -> None:
        """A due moment that an edge's own time has passed comes before that edge."""
        while (due_s := self.due_s) is not None and due_s <= self.stream.heard_s(t_s):
            self._happen(Due(due_s))

    def touched(self, touch: Touch, t_s: float) -> None:
        """A pointer or a finger was put on a row, which chooses it, or on a hint, which does what it says."""
        heard_s = self.stream.heard_s(t_s)
        if touch.row is not None:
            self._happen(Pointed(heard_s, touch.row))
        control = Control.PAUSE if touch.row is not None else Control(touch.says)
        self._happen(Given(heard_s, heard_s, t_s, control, POINTER))

    def slid(self, slid: Slid) -> None:
        """A pedal or a knob that scrolls was moved."""
        rows, marker = self.listed
        if self.foot.due_s is not None:
            # A gesture that has begun is about the row that it saw.
            return
        self.foot.scroll = scroll(self.foot.scroll, slid.place, rows, marker)
        row = self.foot.scroll.row
        if row is not None and row != marker:
            self._happen(Pointed(self.stream.heard_s(slid.t_s), row))

    def input_changed(self, status: InputStatus) -> None:
        """A pedal came, went or came back."""
        event = self.foot.input_changed(status, self.stream.heard_s)
        if event is not None:
            self._happen(event)

    def taught(self, words: str, t_s: float) -> None:
        """The lesson for a pedal is over."""
        self._happen(Taught(self.stream.heard_s(t_s), words))

    def sound_lost(self, stream: ClickStream, t_s: float, words: str) -> None:
        """The sound device stopped for good: go on with another stream, silently."""
        self.stream = stream
        self._happen(SoundLost(stream.heard_s(t_s), words))

    def sound_known(self, t_s: float, lead_s: float) -> None:
        """It is known by now how late the stream reaches the ear. lead_s: as in `SoundBack`."""
        self._happen(SoundBack(self.stream.heard_s(t_s), "", lead_s))

    def sound_back(self, stream: ClickStream, t_s: float, lead_s: float) -> None:
        """Another device plays: go on with its stream. lead_s: to a first click, as in `SoundBack`."""
        self.stream = stream
        self._happen(SoundBack(stream.heard_s(t_s), stream.name, lead_s))

    def stumbled(self, at_s: float, t_s: float) -> None:
        """The sound broke at a heard second, as is known now."""
        self._happen(SoundStumbled(self.stream.heard_s(t_s), at_s))

    def told_by_ear(self, said: EarHeard | SoundChecked, t_s: float) -> None:  # noqa: B027
        """What the ear has heard: a session's affair alone."""

    @property
    @abstractmethod
    def plays(self) -> bool:
        """Does it count on the stream that it has? Then no other one may take its place."""

    def shut(self, t_s: float) -> None:
        """The window was closed from outside."""
        if not self.closed:
            self._happen(Shut(self.stream.heard_s(t_s)))

    def write_waiting(self) -> None:  # noqa: B027 (home has nothing to write)
        """Try again to write what the log refused before."""

    def finish(self) -> None:  # noqa: B027
        """Write what still waits. Raises InputError where that cannot be."""
