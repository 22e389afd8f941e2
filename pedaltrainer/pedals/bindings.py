"""Bindings: which switch, by which gesture, gives which control.

A rule names a device and a switch, either in full or up to a trailing "*";
the first rule that fits wins. All switches of one device that fall under the
same rule act as *one* switch: that is how any pedal works before it has been
taught. (Teaching will put rules of its own in front of these.)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.switch import WINDOW_S

KEYBOARD = "keyboard"
FOOT, KEY = "foot", "key"

ONE_SWITCH: Mapping[GestureKind, Control] = MappingProxyType(
    {
        GestureKind.TAP: Control.PASS_,
        GestureKind.DOUBLE: Control.FAIL,
        GestureKind.HOLD: Control.NEXT,
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
        "key a": Control.AGAIN,
        "key p": Control.PAUSE,
        "key u": Control.UNDO,
        "key q": Control.QUIT,
        "key escape": Control.QUIT,
    }
)


@dataclass(frozen=True, slots=True)
class Binding:
    """What the gestures of one switch mean.

    judge is who answers by it, "foot" or "key". debounce_s is how long the
    contact may chatter: 0 for keys, which the keyboard has cleaned already
    (two presses seen in one late frame carry the same time and are two).
    """

    device: str
    switch: str
    controls: Mapping[GestureKind, Control]
    judge: str = FOOT
    debounce_s: float = WINDOW_S

    @property
    def answers(self) -> bool:
        """Whether this switch can answer a take: only then is a bare press of it a press."""
        return not {Control.PASS_, Control.FAIL}.isdisjoint(self.controls.values())

    def fits(self, device: str, switch: str) -> bool:
        return _fits(self.device, device) and _fits(self.switch, switch)


@dataclass(frozen=True, slots=True)
class Bindings:
    """All rules, in the order in which they are tried."""

    rules: tuple[Binding, ...]

    def find(self, device: str, switch: str) -> Binding | None:
        """The rule for a switch, None when it is not bound."""
        return next((rule for rule in self.rules if rule.fits(device, switch)), None)


def default_bindings(one_switch: Mapping[GestureKind, Control] = ONE_SWITCH) -> Bindings:
    """The rules for untaught input: any pedal or the space bar as the one switch, and the keys."""
    keys = tuple(
        Binding(KEYBOARD, key, {GestureKind.TAP: control}, KEY, 0.0) for key, control in DIRECT_KEYS.items()
    )
    space = Binding(KEYBOARD, "key space", one_switch, KEY, 0.0)
    unbound_keys = Binding(KEYBOARD, "*", {}, KEY, 0.0)
    midi = Binding("*", "*", one_switch, FOOT)
    return Bindings((*keys, space, unbound_keys, midi))


def _fits(pattern: str, name: str) -> bool:
    return name.startswith(pattern[:-1]) if pattern.endswith("*") else name == pattern
