"""Game controllers, and foot pedals that pose as one: pygame events -> switch edges.

Buttons, hats and axes are numbered from 1 ("button 3", "hat up", "axis 2"; a
second hat is "hat 2 up"). An axis is a switch with two thresholds, measured
from where it rests: in the middle, or, as with a trigger or a pedal, at one
end. SDL tells first where an axis was when the controller was opened: that is
its rest, so leave a pedal alone while you plug it in. Both ways out of the
middle are the same switch.

pygame's queue is read by the window's loop, so a press is as late as that
loop. Controllers work though the window is not in front: SDL is told so
before it looks for them. Two alike ones are told apart as `roster` says.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import pygame

from pedaltrainer.pedals.events import InputChange, InputStatus, SwitchEdge
from pedaltrainer.pedals.midi.input import WORDS
from pedaltrainer.pedals.midi.roster import Roster

DOWN_AT, UP_AT = 0.5, 0.3
"""How far out of its rest an axis goes down and comes up again, as a part of its whole way."""
AT_AN_END = 0.75
"""An axis that rests this far out rests at its end."""

_HAT_WAYS = (("left", 0, -1), ("right", 0, 1), ("down", 1, -1), ("up", 1, 1))

Happening = SwitchEdge | InputStatus


@dataclass(frozen=True, slots=True)
class ControllerState:
    """What the controllers' switches do: pure.

    devices: SDL's instance number -> the name edges carry. held: (instance,
    switch) that are down. rests: (instance, axis) -> -1, 0 or 1.
    """

    roster: Roster = field(default_factory=Roster)
    devices: Mapping[int, str] = field(default_factory=lambda: MappingProxyType({}))
    held: frozenset[tuple[int, str]] = frozenset()
    rests: Mapping[tuple[int, int], int] = field(default_factory=lambda: MappingProxyType({}))

    def came(self, instance: int, name: str, t_s: float) -> tuple[ControllerState, tuple[Happening, ...]]:
        """A controller was opened, with every switch up."""
        if instance in self.devices:
            return self, ()
        known = {place.device for place in self.roster.places}
        here = [(place.port, place.plain) for place in self.roster.places if place.here]
        roster, _, (place,) = self.roster.step([*here, (str(instance), name)])
        change = InputChange.BACK if place.device in known else InputChange.FOUND
        state = replace(self, roster=roster, devices={**self.devices, instance: place.device})
        return state, (_status(t_s, change, place.device),)

    def went(self, instance: int, t_s: float) -> tuple[ControllerState, tuple[Happening, ...]]:
        """A controller was pulled out: what was held on it is forgotten, not let go."""
        device = self.devices.get(instance)
        if device is None:
            return self, ()
        left = [(p.port, p.plain) for p in self.roster.places if p.here and p.device != device]
        state = ControllerState(
            roster=self.roster.step(left)[0],
            devices={key: name for key, name in self.devices.items() if key != instance},
            held=frozenset(item for item in self.held if item[0] != instance),
            rests={key: rest for key, rest in self.rests.items() if key[0] != instance},
        )
        return state, (_status(t_s, InputChange.LOST, device),)

    def step(self, event: pygame.event.Event, t_s: float) -> tuple[ControllerState, tuple[SwitchEdge, ...]]:
        """Take one pygame event read at t_s; events of controllers that were not opened say nothing."""
        if getattr(event, "instance_id", None) not in self.devices:
            return self, ()
        if event.type in (pygame.JOYBUTTONDOWN, pygame.JOYBUTTONUP):
            down = event.type == pygame.JOYBUTTONDOWN
            return self._set(event.instance_id, {f"button {event.button + 1}": down}, t_s)
        if event.type == pygame.JOYHATMOTION:
            hat = f"hat {event.hat + 1}" if event.hat else "hat"
            ways = {f"{hat} {word}": event.value[axis] == sign for word, axis, sign in _HAT_WAYS}
            return self._set(event.instance_id, ways, t_s)
        if event.type == pygame.JOYAXISMOTION:
            return self._axis(event.instance_id, event.axis, event.value, t_s)
        return self, ()

    def _axis(
        self, instance: int, axis: int, value: float, t_s: float
    ) -> tuple[ControllerState, tuple[SwitchEdge, ...]]:
        rest = self.rests.get((instance, axis))
        if rest is None:
            rest = round(value) if abs(value) >= AT_AN_END else 0
            return replace(self, rests={**self.rests, (instance, axis): rest}), ()
        switch = f"axis {axis + 1}"
        out = abs(value - rest) / (1 + abs(rest))
        down = out > UP_AT if (instance, switch) in self.held else out >= DOWN_AT
        return self._set(instance, {switch: down}, t_s)

    def _set(
        self, instance: int, levels: Mapping[str, bool], t_s: float
    ) -> tuple[ControllerState, tuple[SwitchEdge, ...]]:
        """Make these levels true; what comes up does so before anything goes down."""
        device = self.devices[instance]
        changed = [
            (switch, down) for switch, down in levels.items() if down != ((instance, switch) in self.held)
        ]
        if not changed:
            return self, ()
        downs = frozenset((instance, switch) for switch, down in changed if down)
        ups = frozenset((instance, switch) for switch, down in changed if not down)
        edges = tuple(
            SwitchEdge(t_s, device, switch, down)
            for switch, down in sorted(changed, key=lambda item: item[1])
        )
        return replace(self, held=(self.held - ups) | downs), edges


class GameControllers:
    """Opens every game controller there is and every one that comes.

    Use it from the thread that reads pygame's events, after the display was
    opened. Where SDL has no game controllers, it stays silent.
    """

    def __init__(self) -> None:
        os.environ["SDL_JOYSTICK_ALLOW_BACKGROUND_EVENTS"] = "1"
        self.state = ControllerState()
        self._open: dict[int, pygame.joystick.JoystickType] = {}
        try:
            # Announces the ones that are there already as if they came now.
            pygame.joystick.init()
        except pygame.error:
            return

    def step(self, event: pygame.event.Event, t_s: float) -> tuple[Happening, ...]:
        """Take one pygame event read at t_s seconds; return edges, comings and goings."""
        happened: tuple[Happening, ...]
        if event.type == pygame.JOYDEVICEADDED:
            happened = self._add(event.device_index, t_s)
        elif event.type == pygame.JOYDEVICEREMOVED:
            controller = self._open.pop(event.instance_id, None)
            if controller is not None:
                controller.quit()
            self.state, happened = self.state.went(event.instance_id, t_s)
        else:
            self.state, happened = self.state.step(event, t_s)
        return happened

    def close(self) -> None:
        """Let go of every controller. Safe to call twice."""
        self._open.clear()
        pygame.joystick.quit()

    def _add(self, index: int, t_s: float) -> tuple[Happening, ...]:
        try:
            controller = pygame.joystick.Joystick(index)
        except pygame.error:
            # Gone again before we came to it.
            return ()
        instance = controller.get_instance_id()
        self._open[instance] = controller
        self.state, happened = self.state.came(instance, controller.get_name(), t_s)
        return happened


def _status(t_s: float, change: InputChange, device: str) -> InputStatus:
    return InputStatus(t_s, change, device, WORDS[change].format(device))
