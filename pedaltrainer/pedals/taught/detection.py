"""What kind of switch is it? Told from the values it sends in a few presses.

The player is asked for one press after another, in the order of ASKS: a short
press, a long one, and so on; never more than four. Between two presses the
switch is at rest, so each *trial* is judged by itself. A trial falls into
*bursts*: values less than BURST_GAP_S apart are one movement of the contact,
and where a burst ends is where the contact came to rest.

| kind       | short press                        | long press                     |
|------------|------------------------------------|--------------------------------|
| momentary  | high, then low                     | high, a second later low       |
| reversed   | low, then high                     | low, a second later high       |
| latching   | one level, the other at the next   | the same                       |
| press-only | one burst, the same each time      | the same, however long         |
| continuous | many values, there and back        | the same                       |

Momentary, reversed and continuous need two presses that agree, latching and
press-only three (two lost messages could look like them). Whatever fits no
row, or two, is not guessed at: the verdict says what was odd, and the program
asks again.
"""

from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from pedaltrainer.pedals.bindings import PRESS_ONLY_MESSAGES, fits
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.kinds import TOP_VALUE, SwitchKind, SwitchProfile
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.switch import WINDOW_S

BURST_GAP_S = 0.020
"""Contacts chatter for some milliseconds; no foot lets go within 20 ms (common practice, no source)."""
LONGEST_BOUNCE_S = 0.040
LONG_PRESS_S = 0.45
"""A press asked to last about a second lasted at least this long, or it was not one."""
SHORT_PRESS_S = 0.80
TRAVEL_VALUES = 5
"""From so many different values in one press on, a pedal travels instead of switching."""
TRAVEL_LEAST = 24
MOST_PRESSES = 4


class Ask(StrEnum):
    SHORT = "press and let go"
    LONG = "press, stay down for about a second, let go"


ASKS = (Ask.SHORT, Ask.LONG, Ask.SHORT, Ask.LONG)


@dataclass(frozen=True, slots=True)
class Trial:
    """The values of one switch, in the order of their times, while one press was asked for."""

    ask: Ask
    observations: tuple[Observation, ...]


@dataclass(frozen=True, slots=True)
class Detection:
    """What the presses seen so far say.

    kind is None as long as nothing fits; it may be a guess while not
    confident. why is a sentence for the player. low and high are None where
    the message's own meaning serves.
    """

    kind: SwitchKind | None
    confident: bool
    why: str
    debounce_s: float = WINDOW_S
    low: int | None = None
    high: int | None = None

    @property
    def profile(self) -> SwitchProfile:
        """The switch as concluded. Raises ValueError while there is no kind."""
        if self.kind is None:
            raise ValueError("nothing was concluded about this switch")
        return SwitchProfile(self.kind, self.debounce_s, self.low, self.high)


@dataclass(frozen=True, slots=True)
class _Burst:
    start_s: float
    end_s: float
    levels: tuple[bool, ...]

    @property
    def rests_at(self) -> bool:
        return self.levels[-1]


WORDS: Mapping[SwitchKind, str] = {
    SwitchKind.MOMENTARY: "it is on while the foot is down",
    SwitchKind.REVERSED: "it is off while the foot is down (its polarity is reversed)",
    SwitchKind.LATCHING: "it changes at each press and stays so; a hold cannot be seen",
    SwitchKind.PRESS_ONLY: "it speaks as the foot goes down and is silent after; a hold cannot be seen",
    SwitchKind.CONTINUOUS: "it travels; a press is counted past the middle",
}


def detect(trials: Sequence[Trial]) -> Detection:
    """Judge the presses seen so far. All observations must be of one switch."""
    seen = len(trials)
    observations = [one for trial in trials for one in trial.observations]
    if not observations or not all(trial.observations for trial in trials):
        return Detection(None, False, "Nothing was heard of the switch.")
    switch = observations[0].switch
    if any(fits(pattern, switch) for pattern in PRESS_ONLY_MESSAGES):
        return _press_only_message(trials)
    if any(_distinct(trial) >= TRAVEL_VALUES for trial in trials) and not switch.startswith("note "):
        return _travelling(trials)
    split = _split(trials)
    if split is None:
        return Detection(None, False, "Its values make no two levels.")
    low, high = split
    bursts = [_bursts(trial, high) for trial in trials]
    fitting = [kind for kind, test in _TESTS.items() if test(trials, bursts)]
    if len(fitting) != 1:
        why = "One press does not tell yet." if fitting else "These presses do not agree with each other."
        return Detection(None, False, why)
    kind = fitting[0]
    two_levels = kind is not SwitchKind.LATCHING or len({one.value for one in observations}) == 2
    enough = two_levels and seen >= (3 if kind in (SwitchKind.LATCHING, SwitchKind.PRESS_ONLY) else 2)
    window_s = _window_s(kind, bursts)
    if _plain(switch, observations, high):
        return Detection(kind, enough, _sentence(kind), window_s)
    return Detection(kind, enough, _sentence(kind), window_s, low, high)


def learn_windows(
    double_taps: Sequence[tuple[float, float]], tap_lengths_s: Iterable[float]
) -> GestureSettings:
    """The two windows for this player's foot, from the times of its own presses.

    double_taps: the two ways down (seconds) of each double tap. tap_lengths_s:
    from down to up of single short presses, empty where that cannot be seen.
    The double-tap window is the slowest pair plus a quarter, within 0.20 to
    0.60 s; a hold is three times the median tap and at least a tenth more than
    the double-tap window, within 0.45 to 1.20 s. (The margins are ours, no
    published source.) Without presses to learn from: the defaults.
    """
    usual = GestureSettings()
    gaps_s = [second - first for first, second in double_taps if second > first]
    lengths_s = [length for length in tap_lengths_s if length > 0]
    double_tap_s = _within(0.20, 1.25 * max(gaps_s), 0.60) if gaps_s else usual.double_tap_s
    tap_based_s = 3 * statistics.median(lengths_s) if lengths_s else usual.hold_s
    return GestureSettings(
        round(double_tap_s, 3), round(_within(0.45, max(tap_based_s, 1.1 * double_tap_s), 1.20), 3)
    )


_RANKS: tuple[tuple[str, int], ...] = (
    *((f"controller {number} *", 3) for number in (0, 32, 6, 38, 96, 97, 98, 99, 100, 101)),
    ("program *", 1),
    ("song *", 1),
    ("transport *", 1),
    ("machine control *", 1),
    ("pitch wheel *", 2),
    ("pressure *", 2),
    ("axis *", 2),
)
"""Bank select, data entry and parameter numbers (MIDI 1.0, table III) go with other messages: last of all."""


def rank(switch: str) -> int:
    """How little a switch says of a press when several moved at once: 0 for the likeliest."""
    return next((rank for pattern, rank in _RANKS if fits(pattern, switch)), 0)


def _within(least: float, value: float, most: float) -> float:
    return min(most, max(least, value))


def came_back(values: Sequence[int]) -> bool:
    """Whether these values of one press look like a foot that let go: two levels, or there and back."""
    first, last = values[0], values[-1]
    if len(set(values)) < TRAVEL_VALUES:
        return last != first
    return 2 * abs(last - first) <= max(abs(value - first) for value in values)


def _sentence(kind: SwitchKind) -> str:
    return f"A {kind} switch: {WORDS[kind]}."


def _distinct(trial: Trial) -> int:
    return len({one.value for one in trial.observations})


def _press_only_message(trials: Sequence[Trial]) -> Detection:
    one_each = all(len(_times_apart(trial)) == 1 for trial in trials)
    kind = SwitchKind.PRESS_ONLY
    if not one_each:
        return Detection(kind, False, "It spoke more than once for one press.")
    return Detection(kind, len(trials) >= 2, _sentence(kind))


def _times_apart(trial: Trial) -> list[list[Observation]]:
    bursts: list[list[Observation]] = []
    for one in trial.observations:
        if bursts and one.t_s - bursts[-1][-1].t_s < BURST_GAP_S:
            bursts[-1].append(one)
        else:
            bursts.append([one])
    return bursts


def _bursts(trial: Trial, high: int) -> tuple[_Burst, ...]:
    return tuple(
        _Burst(burst[0].t_s, burst[-1].t_s, tuple(one.value >= high for one in burst))
        for burst in _times_apart(trial)
    )


def _split(trials: Sequence[Trial]) -> tuple[int, int] | None:
    """(low, high) between the two levels that the values form, None when they form none.

    Two levels are two values; or nothing and something, for a pad that sends
    how hard it is struck. A switch that only ever sends one value is split
    just below it.
    """
    values = sorted({one.value for trial in trials for one in trial.observations})
    if len(values) == 1:
        return (values[0] - 1, values[0]) if values[0] else None
    if values[0] == 0 and all(_distinct(trial) <= 2 for trial in trials):
        return (0, 1) if values[1] < 2 else (values[1] // 4, max(1, values[1] // 2))
    if len(values) == 2:
        middle = math.ceil(sum(values) / 2)
        return middle - 1, middle
    return None


def _plain(switch: str, observations: Sequence[Observation], high: int) -> bool:
    """Whether the message's own thresholds say the same as the ones found."""
    low_by_name, high_by_name = SwitchProfile().thresholds(switch)
    return all((one.value >= high) == (one.value >= high_by_name) for one in observations) and all(
        one.value >= high_by_name or one.value <= low_by_name for one in observations
    )


def _returns(trials: Sequence[Trial], bursts: Sequence[tuple[_Burst, ...]], pressed: bool) -> bool:
    """Whether each trial goes to the pressed level and back, for as long as was asked."""
    return all(
        len(trial_bursts) == 2
        and trial_bursts[0].levels[0] is pressed
        and trial_bursts[0].rests_at is pressed
        and trial_bursts[1].levels[0] is not pressed
        and trial_bursts[1].rests_at is not pressed
        and _lasted_as_asked(trial.ask, trial_bursts[1].start_s - trial_bursts[0].start_s)
        for trial, trial_bursts in zip(trials, bursts, strict=True)
    )


def _lasted_as_asked(ask: Ask, length_s: float) -> bool:
    return length_s >= LONG_PRESS_S if ask is Ask.LONG else length_s < SHORT_PRESS_S


def _is_momentary(trials: Sequence[Trial], bursts: Sequence[tuple[_Burst, ...]]) -> bool:
    return _returns(trials, bursts, pressed=True)


def _is_reversed(trials: Sequence[Trial], bursts: Sequence[tuple[_Burst, ...]]) -> bool:
    return _returns(trials, bursts, pressed=False)


def _is_latching(trials: Sequence[Trial], bursts: Sequence[tuple[_Burst, ...]]) -> bool:
    """One movement a trial, to the other level than the one before; its chatter begins with the new level."""
    if not all(len(trial_bursts) == 1 for trial_bursts in bursts):
        return False
    moved = [trial_bursts[0] for trial_bursts in bursts]
    return all(burst.levels[0] is burst.rests_at for burst in moved) and all(
        one.rests_at is not other.rests_at for one, other in itertools.pairwise(moved)
    )


def _is_press_only(trials: Sequence[Trial], bursts: Sequence[tuple[_Burst, ...]]) -> bool:
    """The same each time: a press without a way up, or one whose way up follows by itself at once."""
    if not all(len(trial_bursts) <= 2 for trial_bursts in bursts):
        return False
    if not all(trial_bursts[0].levels[0] for trial_bursts in bursts):
        return False
    pulse = {len(trial_bursts) for trial_bursts in bursts} == {2}
    if pulse:
        # Up by itself after a fixed time, in the long press too. Three alike, or it may be a hasty foot.
        lengths_s = [second.start_s - first.start_s for first, second in bursts]
        long_asked = sum(trial.ask is Ask.LONG for trial in trials)
        alike = max(lengths_s) - min(lengths_s) < 0.010 and max(lengths_s) < LONG_PRESS_S / 2
        return alike and long_asked >= 1 and all(not second.rests_at for _, second in bursts)
    if not all(len(trial_bursts) == 1 for trial_bursts in bursts):
        return False
    return len({trial_bursts[0].rests_at for trial_bursts in bursts}) == 1


_TESTS = {
    SwitchKind.MOMENTARY: _is_momentary,
    SwitchKind.REVERSED: _is_reversed,
    SwitchKind.LATCHING: _is_latching,
    SwitchKind.PRESS_ONLY: _is_press_only,
}


def _window_s(kind: SwitchKind, bursts: Sequence[tuple[_Burst, ...]]) -> float:
    """Twice the longest chatter seen, since the next may be longer; never below the default."""
    if kind is SwitchKind.PRESS_ONLY:
        return WINDOW_S
    chatter_s = max(burst.end_s - burst.start_s for trial_bursts in bursts for burst in trial_bursts)
    return round(_within(WINDOW_S, 2 * chatter_s, LONGEST_BOUNCE_S), 3)


def _travelling(trials: Sequence[Trial]) -> Detection:
    """A pedal that travels: there and back each time, ending near where it rests."""
    values = [[one.value for one in trial.observations] for trial in trials]
    seen = len(trials)
    rests = [trial_values[-1] for trial_values in values]
    rest = statistics.median(rests)
    reach = [max(trial_values, key=lambda value: abs(value - rest)) for trial_values in values]
    rises = [value > rest for value in reach]
    if len(set(rises)) != 1 or min(abs(value - rest) for value in reach) < TRAVEL_LEAST:
        return Detection(None, False, "It moved, but not clearly there and back.")
    nearest = min(reach, key=lambda value: abs(value - rest))
    travel = nearest - rest
    if max(abs(value - rest) for value in rests) > abs(travel) / 4 or not all(map(_one_sweep, values)):
        return Detection(None, False, "It did not come back to where it rests.")
    near, far = sorted((round(rest + 0.4 * travel), round(rest + 0.6 * travel)))
    kind = SwitchKind.CONTINUOUS if travel > 0 else SwitchKind.REVERSED
    middle = round((near + far) / 2)
    why = f"A pedal that travels: a press is counted past the middle of its way (about {middle})."
    return Detection(kind, seen >= 2, why, WINDOW_S, max(0, near), min(TOP_VALUE, far))


def _one_sweep(values: Sequence[int]) -> bool:
    """Whether values go out and back once; a tremble of an eighth of the way does not count as turning."""
    tremble = max(4, (max(values) - min(values)) // 8)
    turns, heading, extreme = 0, 0, values[0]
    for value in values[1:]:
        if heading == 0:
            if abs(value - extreme) > tremble:
                heading, extreme = (1 if value > extreme else -1), value
        elif (value - extreme) * heading > 0:
            extreme = value
        elif (extreme - value) * heading > tremble:
            heading, extreme, turns = -heading, value, turns + 1
    return turns == 1
