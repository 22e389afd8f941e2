"""Where a lesson for a pedal stands, and what it says there. Pure; what leads on is in `lesson`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from pedaltrainer.pedals.events import Control
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.taught.arranging import ORDER, TaughtSwitch
from pedaltrainer.pedals.taught.counting import Presses
from pedaltrainer.pedals.taught.detection import ASKS, MOST_PRESSES, Ask, Detection, Trial
from pedaltrainer.pedals.taught.form import DeviceBinding

WAIT_S = 10.0
PAIRS_WANTED = 2
_CALLED: Mapping[Control, str] = MappingProxyType({Control.PASS_: "clean", Control.FAIL: "missed"})


def called(control: Control) -> str:
    """A control in the player's words: those of the answers it gives."""
    return _CALLED.get(control, str(control))


class Station(StrEnum):
    QUIET = "quiet"
    PRESSING = "pressing"
    CONFIRMING = "confirming"
    RHYTHM = "rhythm"
    DONE = "done"


Key = tuple[str, str]
"""Device and switch."""


@dataclass(frozen=True, slots=True)
class TeachState:
    """Where the lesson is. `title`, `lines` and `hint` are what to show. first: it is a first lesson."""

    first: bool = False
    station: Station = Station.QUIET
    since_s: float | None = None
    heard: Mapping[Key, int] = field(default_factory=dict)
    noisy: frozenset[Key] = frozenset()
    place: int = 0
    trials: tuple[Trial, ...] = ()
    current: tuple[Observation, ...] = ()
    chosen: Key | None = None
    verdict: Detection | None = None
    presses: Presses | None = None
    pairs: tuple[tuple[float, float], ...] = ()
    tap_lengths_s: tuple[float, ...] = ()
    taught: tuple[TaughtSwitch, ...] = ()
    device: str = ""
    complaint: str = ""
    result: DeviceBinding | None = None
    waits: int = 0

    @property
    def ask(self) -> Ask:
        """What the next press should be like."""
        return ASKS[len(self.trials) % MOST_PRESSES]

    @property
    def title(self) -> str:
        match self.station:
            case Station.QUIET:
                return "Take your feet off every switch"
            case Station.RHYTHM:
                return "Tap twice"
            case Station.DONE if self.first:
                return "The pedal is known" if self.taught else "The keys it is"
            case Station.DONE:
                return "Learnt" if self.taught else "Nothing was learnt"
            case Station.PRESSING if self.first:
                return "Press your pedal three times"
        return f"The switch for “{called(ORDER[self.place])}”"

    @property
    def lines(self) -> tuple[str, ...]:
        said = (self.complaint,) if self.complaint else ()
        match self.station:
            case Station.QUIET:
                return (*said, "Listening for what moves by itself.")
            case Station.PRESSING:
                return (*said, f"{self.ask[0].upper()}{self.ask[1:]}.", *self._progress())
            case Station.DONE if self.first:
                return self._first_summary()
            case Station.CONFIRMING:
                assert self.verdict is not None
                assert self.chosen is not None
                return (*said, f"{self.chosen[1]}: {self.verdict.why}", "Press it once more to keep it.")
            case Station.RHYTHM:
                which = f"({len(self.pairs) + 1} of {PAIRS_WANTED})"
                return (*said, f"Tap the switch twice, as quick as is easy for you {which}.")
        return (*said, *self._summary())

    @property
    def hint(self) -> str:
        if self.first and self.station is Station.PRESSING and not self.trials:
            return f"No pedal? Wait {WAIT_S:g} seconds: the space bar does the same."
        if self.station is Station.PRESSING and self.taught:
            return f"No such switch on this pedal? Press the one for “{called(ORDER[0])}” again, or wait."
        if self.station in (Station.RHYTHM, Station.CONFIRMING):
            rhythm = self.station is Station.RHYTHM
            return "Wait to keep the usual pace." if rhythm else "Wait to begin again."
        return ""

    def _progress(self) -> tuple[str, ...]:
        if not self.trials or self.chosen is None:
            return ()
        return (f"Heard {self.chosen[1]}, press {len(self.trials)}.",)

    def _first_summary(self) -> tuple[str, ...]:
        if self.verdict is None or not self.taught:
            return ("The space bar is your foot. A pedal can be taught later, in Set up.",)
        return (self.verdict.why, "Its other switches, if it has any, are taught in Set up.")

    def _summary(self) -> tuple[str, ...]:
        if self.result is None:
            return ("No switch was pressed.",)
        return tuple(
            f"{row.name}: " + ", ".join(f"{kind} {control}" for kind, control in row.controls.items())
            for row in self.result.switches
        )
