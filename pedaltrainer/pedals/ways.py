"""How the feet on one device say each control: by which gesture of which switch. Pure.

The rules that stand together say it: those of the player's own file, of a
preset, or of untaught input, whichever the switch pressed last falls under.
That switch leads: what it can say itself is said by it, and where its like
stand side by side, as the keys that page-turners send, the others named are
those beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pedaltrainer.pedals.bindings import Binding, Bindings, fits
from pedaltrainer.pedals.events import Control, GestureKind


@dataclass(frozen=True, slots=True)
class Way:
    """A gesture of a switch.

    switch: as its rule names it ("controller 80 on channel *", "key page up").
    foot: which of the device's switches it is, counted from 1 in the order of
    the rules, those that act as one counted once; of feet in all. With one, no
    switch need be named.
    """

    gesture: GestureKind
    switch: str
    foot: int
    feet: int


def ways(bindings: Bindings, device: str, pressed: str = "", *, in_list: bool = False) -> dict[Control, Way]:
    """Every control that a device can give, each by the simplest gesture that gives it.

    pressed: the device's switch that was pressed last, "" before any was. in_list: while a list is shown,
    where two quick taps are two taps.
    """
    lead = _lead(bindings, device, pressed)
    group = [rule for rule in _reachable(bindings, device) if rule.controls and _stand_together(rule, lead)]
    if lead is None or not group:
        return {}
    if lead not in group:
        # A rule for the rest of a device: it gives nothing itself, those beside it do.
        lead = group[0]
    feet = list(dict.fromkeys(rule.foot_key for rule in group))
    place = [rule for rule in group if rule.controls == lead.controls].index(lead)
    said: dict[Control, Way] = {}
    for rules in ([lead], [rule for rule in group if rule.foot_key != lead.foot_key]):
        for gesture in (kind for kind in GestureKind if not (in_list and kind is GestureKind.DOUBLE)):
            able: dict[Control, list[Binding]] = {}
            for rule in rules:
                if gesture in rule.gestures:
                    able.setdefault(rule.controls[gesture], []).append(rule)
            for control, alike in able.items():
                # In the lead's place among its like, as far as there is such a place.
                rule = alike[place if place < len(alike) else 0]
                way = Way(gesture, rule.switch, feet.index(rule.foot_key) + 1, len(feet))
                said.setdefault(control, way)
    return said


@dataclass(frozen=True, slots=True)
class Said:
    """What a device can say, and what of it while a list is shown."""

    usual: Mapping[Control, Way]
    in_list: Mapping[Control, Way]

    @property
    def chooses(self) -> bool:
        """Whether it can choose from a list; if not, a rest of the foot does."""
        return Control.PAUSE in self.in_list or Control.NEXT in self.in_list


def said(bindings: Bindings, device: str, pressed: str = "") -> Said:
    """What a device can say; `pressed` as for `ways`."""
    return Said(ways(bindings, device, pressed), ways(bindings, device, pressed, in_list=True))


def _lead(bindings: Bindings, device: str, pressed: str) -> Binding | None:
    """The rule of the switch pressed last; before any was, the first that names the device, else any."""
    if pressed:
        return bindings.find(device, pressed)
    named = (rule for rule in bindings.rules if rule.device != "*" and fits(rule.device, device))
    return next(named, None) or bindings.find(device, "")


def _reachable(bindings: Bindings, device: str) -> list[Binding]:
    """The rules of a device that no rule before them stands in front of.

    A pattern covers another when it fits it letter for letter, its stars being letters.
    """
    found: list[Binding] = []
    for rule in bindings.rules:
        if fits(rule.device, device) and not any(fits(before.switch, rule.switch) for before in found):
            found.append(rule)
    return found


def _stand_together(rule: Binding, lead: Binding | None) -> bool:
    return lead is not None and (rule.device, rule.source) == (lead.device, lead.source)
