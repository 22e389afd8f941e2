"""Kinds of switch: what the values of one switch say about the foot on it.

| kind       | a press is                                   | a hold can be seen |
|------------|----------------------------------------------|--------------------|
| momentary  | the value rises to `high`, and falls to `low` | yes                |
| reversed   | the value falls to `low`, and rises to `high` | yes                |
| continuous | as momentary, on a pedal with a way to travel | yes                |
| latching   | every change of side                          | no                 |
| press-only | every value from `high` on                    | no                 |

Between `low` and `high` the side last taken is kept (hysteresis), so a pedal
that trembles half-way does not press itself. Where no hold can be seen, each
press comes out as down and up at once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from pedaltrainer.pedals.switch import WINDOW_S

TOP_VALUE = 127
LONGEST_WINDOW_S = 0.050
"""No foot taps twice in 50 ms (common practice, no published source): a longer window could eat a press."""


class SwitchKind(StrEnum):
    MOMENTARY = "momentary"
    REVERSED = "reversed"
    LATCHING = "latching"
    PRESS_ONLY = "press-only"
    CONTINUOUS = "continuous"


WITHOUT_HOLD = frozenset({SwitchKind.LATCHING, SwitchKind.PRESS_ONLY})

_ON_OFF = (63, 64)
_THRESHOLDS: Mapping[str, tuple[int, int]] = {"note": (0, 1)}
_CONTINUOUS_THRESHOLDS = (48, 80)
"""Half of the travel, with an eighth of it to either side as hysteresis (ours)."""


@dataclass(frozen=True, slots=True)
class SwitchProfile:
    """What one switch is.

    debounce_s: how long its contact may chatter, 0 to LONGEST_WINDOW_S.
    low, high: values from 0 to 127, low < high; both None for what the MIDI
    1.0 specification says of the message (controllers: 0-63 off, 64-127 on;
    notes: velocity 0 off). Raises ValueError when they are out of bounds.
    """

    kind: SwitchKind = SwitchKind.MOMENTARY
    debounce_s: float = WINDOW_S
    low: int | None = None
    high: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.debounce_s <= LONGEST_WINDOW_S:
            raise ValueError(f"debounce_s must be from 0 to {LONGEST_WINDOW_S:g}, not {self.debounce_s}")
        if (self.low is None) != (self.high is None):
            raise ValueError("low and high go together: give both or neither")
        if self.low is not None and self.high is not None and not 0 <= self.low < self.high <= TOP_VALUE:
            raise ValueError(f"low must be below high, both from 0 to {TOP_VALUE}")

    @property
    def offers_hold(self) -> bool:
        """Whether it can be seen how long the foot stays on the switch."""
        return self.kind not in WITHOUT_HOLD

    def thresholds(self, switch: str) -> tuple[int, int]:
        """(low, high) for a switch of this name: what was set, else what its message means."""
        if self.low is not None and self.high is not None:
            return self.low, self.high
        if self.kind is SwitchKind.CONTINUOUS:
            return _CONTINUOUS_THRESHOLDS
        return _THRESHOLDS.get(switch.partition(" ")[0], _ON_OFF)


Side = bool | None
"""Which side of the thresholds the last value was: True high, False low, None when not known yet."""


def _rising(before: Side, after: Side, value_is_high: bool) -> tuple[bool, ...]:
    was, now = before is True, after is True
    return () if was == now else (now,)


def _falling(before: Side, after: Side, value_is_high: bool) -> tuple[bool, ...]:
    was, now = before is False, after is False
    return () if was == now else (now,)


def _changing(before: Side, after: Side, value_is_high: bool) -> tuple[bool, ...]:
    return () if before == after else (True, False)


def _each(before: Side, after: Side, value_is_high: bool) -> tuple[bool, ...]:
    return (True, False) if value_is_high else ()


_EDGES: Mapping[SwitchKind, Callable[[Side, Side, bool], tuple[bool, ...]]] = {
    SwitchKind.MOMENTARY: _rising,
    SwitchKind.CONTINUOUS: _rising,
    SwitchKind.REVERSED: _falling,
    SwitchKind.LATCHING: _changing,
    SwitchKind.PRESS_ONLY: _each,
}


def step(profile: SwitchProfile, switch: str, side: Side, value: int) -> tuple[Side, tuple[bool, ...]]:
    """Take one value of a switch; return its side now and the foot's edges, True for down.

    A switch starts with side None, which is "foot off" for every kind; for a
    latching one any first value is then a press, since only a press sends one.
    """
    low, high = profile.thresholds(switch)
    after = True if value >= high else False if value <= low else side
    return after, _EDGES[profile.kind](side, after, value >= high)


def is_down(profile: SwitchProfile, side: Side) -> bool:
    """Whether the foot is on the switch; always False where that cannot be seen."""
    if not profile.offers_hold:
        return False
    return side is (profile.kind is not SwitchKind.REVERSED)
