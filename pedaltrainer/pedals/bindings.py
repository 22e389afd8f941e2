"""Bindings: which switch, by which gesture, gives which control.

A rule names a device and a switch, either in full or with "*" for any run of
letters; the first rule that fits wins. All switches of one device that fall
under the same rule, or under rules of the same `foot`, act as *one* switch:
that is how any pedal works before it has been taught. Rules that were taught
or come from a preset stand in front of these.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType

from pedaltrainer.pedals.events import Control, GestureKind, SwitchEdge
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile

KEYBOARD = "keyboard"
FOOT, KEY = "foot", "key"
UNTAUGHT = "not taught yet: each of its switches does the same, as one foot switch would"

ONE_SWITCH: Mapping[GestureKind, Control] = MappingProxyType(
    {
        GestureKind.TAP: Control.PASS_,
        GestureKind.DOUBLE: Control.FAIL,
        GestureKind.HOLD: Control.PAUSE,
    }
)

DIRECT_KEYS: Mapping[str, Control] = MappingProxyType(
    {
        "key right": Control.PASS_,
        "key page down": Control.PASS_,
        "key down": Control.PASS_,
        "key enter": Control.PASS_,
        "key left": Control.FAIL,
        "key page up": Control.FAIL,
        "key up": Control.FAIL,
        "key backspace": Control.FAIL,
        "key n": Control.NEXT,
        "key a": Control.REPEAT,
        "key p": Control.PAUSE,
        "key u": Control.UNDO,
        "key q": Control.QUIT,
        "key escape": Control.QUIT,
    }
)

ORDINARY = SwitchProfile()
USUAL_PACE = GestureSettings()
KEY_PROFILE = SwitchProfile(debounce_s=0.0)
"""The keyboard has cleaned its keys already; two presses read in one late frame are two."""

PEDAL_CONTROLLERS = range(64, 70)
"""Damper, portamento, sostenuto, soft, legato, hold 2: the on/off controllers (MIDI 1.0, table III)."""

SCROLLERS = (4, 11, 16, 17, 18, 19)
"""Foot controller, expression, general purpose 1 to 4 (MIDI 1.0, table III): what pedals and knobs that
travel send. Until they are taught as switches they move the marker in a list."""

PRESS_ONLY_MESSAGES = ("program *", "song *", "transport *", "machine control *")
"""Messages that are sent on the way down and have no way up."""

UNTAUGHT_SILENT = (
    "controller *",
    "pitch wheel *",
    "pressure *",
    "axis *",
    "song *",
    "transport *",
    "machine control *",
)
"""What wheels, knobs and other machines send by themselves: no foot, until a rule says so."""


@dataclass(frozen=True, slots=True)
class Binding:
    """What the gestures of one switch mean.

    judge is who answers by it, "foot" or "key" ("rehearsal" for a made-up
    player). profile says what kind of switch it is, windows how long this
    foot's gestures take. Rules with the same foot share one switch; source
    says in words where the rule comes from. scrolls: where it stands moves
    the marker in a list.
    """

    device: str
    switch: str
    controls: Mapping[GestureKind, Control]
    judge: str = FOOT
    profile: SwitchProfile = ORDINARY
    windows: GestureSettings = USUAL_PACE
    foot: str = ""
    source: str = ""
    scrolls: bool = False

    @property
    def answers(self) -> bool:
        """Whether this switch can answer a take: only then is a bare press of it a press."""
        return not {Control.PASS_, Control.FAIL}.isdisjoint(self.controls.values())

    @property
    def gestures(self) -> frozenset[GestureKind]:
        """The gestures that this switch can make: a hold only where it can be seen."""
        unseen = frozenset() if self.profile.offers_hold else frozenset({GestureKind.HOLD})
        return frozenset(self.controls) - unseen

    @property
    def known_within_s(self) -> float:
        """Seconds from a way down until its gesture is known at the latest; 0 at once."""
        waits = {GestureKind.DOUBLE: self.windows.double_tap_s, GestureKind.HOLD: self.windows.hold_s}
        return max((waits.get(gesture, 0.0) for gesture in self.gestures), default=0.0)

    @property
    def foot_key(self) -> tuple[str, str]:
        """Switches of one device whose rules share this act as one."""
        return ("", self.foot) if self.foot else (self.device, self.switch)

    def fits(self, device: str, switch: str) -> bool:
        return fits(self.device, device) and fits(self.switch, switch)


@dataclass(frozen=True, slots=True)
class BoundEdge(SwitchEdge):
    """A foot went down or came up, and the rule that says what it means: looked for once, carried along."""

    rule: Binding


@dataclass(frozen=True, slots=True)
class Bindings:
    """All rules, in the order in which they are tried."""

    rules: tuple[Binding, ...]
    _found: dict[tuple[str, str], Binding | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """What was looked up before: a flood of thousands of messages a second asks for the same few."""

    def find(self, device: str, switch: str) -> Binding | None:
        """The rule for a switch, None when it is not bound."""
        key = (device, switch)
        if key not in self._found:
            self._found[key] = next((rule for rule in self.rules if rule.fits(device, switch)), None)
        return self._found[key]

    def matched(self, device: str) -> str:
        """In words, where the rules for a device come from."""
        named = (rule for rule in self.rules if rule.device != "*" and fits(rule.device, device))
        return next((rule.source for rule in named if rule.source), UNTAUGHT)


def default_bindings(one_switch: Mapping[GestureKind, Control] = ONE_SWITCH) -> Bindings:
    """The rules for untaught input: any pedal or the space bar as the one switch, and the keys."""
    return Bindings((*_key_rules(one_switch), *_pedal_rules(one_switch)))


def _key_rules(one_switch: Mapping[GestureKind, Control]) -> tuple[Binding, ...]:
    keys = tuple(
        Binding(KEYBOARD, key, {GestureKind.TAP: control}, KEY, KEY_PROFILE)
        for key, control in DIRECT_KEYS.items()
    )
    space = Binding(KEYBOARD, "key space", one_switch, KEY, KEY_PROFILE)
    return (*keys, space, Binding(KEYBOARD, "*", {}, KEY, KEY_PROFILE))


def _pedal_rules(one_switch: Mapping[GestureKind, Control]) -> tuple[Binding, ...]:
    pedals = tuple(
        Binding("*", f"controller {number} on channel *", one_switch, foot="any")
        for number in PEDAL_CONTROLLERS
    )
    programs = Binding("*", "program *", one_switch, profile=SwitchProfile(SwitchKind.PRESS_ONLY), foot="any")
    silent = tuple(Binding("*", pattern, {}) for pattern in UNTAUGHT_SILENT)
    scrollers = tuple(
        Binding("*", f"controller {number} on channel *", {}, scrolls=True) for number in SCROLLERS
    )
    return (*pedals, programs, *scrollers, *silent, Binding("*", "*", one_switch, foot="any"))


def fits(pattern: str, name: str) -> bool:
    """Whether a name fits a pattern, in which only "*" is special: any run of letters, or none."""
    return pattern in ("*", name) or ("*" in pattern and _pattern(pattern).fullmatch(name) is not None)


@lru_cache(maxsize=1024)
def _pattern(pattern: str) -> re.Pattern[str]:
    return re.compile(".*".join(map(re.escape, pattern.split("*"))), re.DOTALL)
