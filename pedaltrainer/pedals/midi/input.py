"""One MIDI input: what its coming and going is called, and its messages as edges.

The device itself is kept alive by `hub.InputHub`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from mido.messages.specs import SPEC_BY_TYPE

from pedaltrainer.pedals.bindings import SCROLLERS, BoundEdge
from pedaltrainer.pedals.contacts import Contacts, RuleOf
from pedaltrainer.pedals.events import InputChange, InputStatus, Slid
from pedaltrainer.pedals.kinds import TOP_VALUE
from pedaltrainer.pedals.midi.backend import BackendChoice, choose_backend, open_ports
from pedaltrainer.pedals.midi.messages import ROWS, SwitchName, SwitchState

WORDS = {
    InputChange.FOUND: "Listening to {}.",
    InputChange.LOST: "{} has gone; plug it back in, the keys work meanwhile.",
    InputChange.BACK: "{} is back.",
    InputChange.TO_THE_EAR: "{} is heard as a guitar, and is no pedal.",
    InputChange.NONE: "No pedal is connected; it is taken as soon as it is plugged in.",
}


OnRaw = Callable[[Any, float, str], None]
"""Called with a mido message, its time of arrival and the device's name."""
OnSlide = Callable[[Slid], None]
"""Called when a pedal or a knob that scrolls was moved."""


def moving_statuses() -> frozenset[int]:
    """Status bytes of the messages that can move a switch; all others need not be looked at."""
    says_nothing = ROWS["clock"].read
    return frozenset(
        SPEC_BY_TYPE[kind]["status_byte"] for kind, row in ROWS.items() if row.read is not says_nothing
    )


class Listener:
    """Hears one opening of a port: its messages become edges, from the library's thread."""

    def __init__(
        self,
        device: str,
        rule_of: RuleOf,
        on_edge: Callable[[BoundEdge], None],
        on_raw: OnRaw | None,
        on_slide: OnSlide | None = None,
    ) -> None:
        self._device = device
        self._rule_of, self._on_slide = rule_of, on_slide
        self._stood: dict[str, int] = {}
        """Where each pedal or knob that travels stood last."""
        self._state = SwitchState(Contacts(rule_of))
        self._on_edge = on_edge
        self.on_raw = on_raw

    def __call__(self, message: Any, t_s: float) -> None:
        if (on_raw := self.on_raw) is not None:
            on_raw(message, t_s, self._device)
        self._state, edges = self._state.step(message, t_s, self._device)
        for edge in edges:
            self._on_edge(edge)
        if self._on_slide is not None and message.type == "control_change" and message.control in SCROLLERS:
            self._slide(message, t_s, self._on_slide)

    def _slide(self, message: Any, t_s: float, on_slide: OnSlide) -> None:
        switch = str(SwitchName("controller", message.control, message.channel + 1))
        rule = self._rule_of(self._device, switch)
        # It says nothing by repeating itself.
        if rule is not None and rule.scrolls and self._stood.get(switch) != message.value:
            self._stood[switch] = message.value
            on_slide(Slid(t_s, self._device, switch, message.value / TOP_VALUE))


def status(change: InputChange, device: str = "", words: str = "") -> InputStatus:
    """A change that happened now, in the usual words unless others are given."""
    return InputStatus(time.perf_counter(), change, device, words or WORDS[change].format(device))


def list_inputs(choice: BackendChoice | None = None) -> list[str]:
    """The names of the MIDI inputs connected now, in the system's order; empty without MIDI."""
    choice = choice or choose_backend()
    if choice.module is None:
        return []
    try:
        ports = open_ports(choice)
        try:
            return ports.names()
        finally:
            ports.close()
    except (OSError, RuntimeError):
        return []
