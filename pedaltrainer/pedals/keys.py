"""Keys of the keyboard, and of page-turners, which are keyboards to the computer.

A key's edge carries the time at which the window's event queue was read: the
window system gives no better one. Read the queue often.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pygame

from pedaltrainer.pedals.bindings import KEYBOARD
from pedaltrainer.pedals.events import SwitchEdge

KEY_SWITCHES: Mapping[int, str] = {
    pygame.K_SPACE: "key space",
    pygame.K_RIGHT: "key right",
    pygame.K_LEFT: "key left",
    pygame.K_UP: "key up",
    pygame.K_DOWN: "key down",
    pygame.K_PAGEUP: "key page up",
    pygame.K_PAGEDOWN: "key page down",
    pygame.K_RETURN: "key enter",
    pygame.K_KP_ENTER: "key enter",
    pygame.K_BACKSPACE: "key backspace",
    pygame.K_ESCAPE: "key escape",
    pygame.K_n: "key n",
    pygame.K_a: "key a",
    pygame.K_p: "key p",
    pygame.K_u: "key u",
    pygame.K_q: "key q",
}


@dataclass(frozen=True, slots=True)
class KeysHeld:
    """Which keys are down. A key that repeats itself while held is pressed once."""

    held: frozenset[int] = frozenset()

    def step(self, event: pygame.event.Event, t_s: float) -> tuple[KeysHeld, tuple[SwitchEdge, ...]]:
        """Take one pygame event read at t_s seconds; return the new state and its edges.

        When the window loses the focus, every held key is let go: its way up
        would go to another window.
        """
        if event.type == pygame.KEYDOWN and event.key in KEY_SWITCHES and event.key not in self.held:
            return KeysHeld(self.held | {event.key}), (_edge(event.key, True, t_s),)
        if event.type == pygame.KEYUP and event.key in self.held:
            return KeysHeld(self.held - {event.key}), (_edge(event.key, False, t_s),)
        if event.type == pygame.WINDOWFOCUSLOST and self.held:
            return KeysHeld(), tuple(_edge(key, False, t_s) for key in sorted(self.held))
        return self, ()


def _edge(key: int, down: bool, t_s: float) -> SwitchEdge:
    return SwitchEdge(t_s, KEYBOARD, KEY_SWITCHES[key], down)
