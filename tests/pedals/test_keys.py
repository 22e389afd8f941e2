"""Keys, with real pygame events."""

from __future__ import annotations

import pygame

from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.keys import KeysHeld


def key_event(kind: int, key: int) -> pygame.event.Event:
    return pygame.event.Event(kind, key=key, mod=0, unicode="", scancode=0)


def fed(*events: pygame.event.Event) -> list[tuple[str, bool]]:
    keys = KeysHeld()
    edges: list[SwitchEdge] = []
    for position, event in enumerate(events):
        keys, more = keys.step(event, float(position))
        edges += more
    return [(edge.switch, edge.down) for edge in edges]


def test_a_key_goes_down_and_comes_up() -> None:
    _, edges = KeysHeld().step(key_event(pygame.KEYDOWN, pygame.K_SPACE), 2.5)
    assert edges == (SwitchEdge(2.5, "keyboard", "key space", True),)
    events = key_event(pygame.KEYDOWN, pygame.K_PAGEDOWN), key_event(pygame.KEYUP, pygame.K_PAGEDOWN)
    assert fed(*events) == [("key page down", True), ("key page down", False)]


def test_a_key_that_repeats_itself_is_pressed_once() -> None:
    repeated = [key_event(pygame.KEYDOWN, pygame.K_RIGHT)] * 30
    assert fed(*repeated, key_event(pygame.KEYUP, pygame.K_RIGHT)) == [
        ("key right", True),
        ("key right", False),
    ]


def test_losing_the_focus_lets_go_of_every_held_key() -> None:
    edges = fed(
        key_event(pygame.KEYDOWN, pygame.K_SPACE),
        key_event(pygame.KEYDOWN, pygame.K_a),
        pygame.event.Event(pygame.WINDOWFOCUSLOST),
        key_event(pygame.KEYUP, pygame.K_SPACE),
        key_event(pygame.KEYDOWN, pygame.K_SPACE),
    )
    assert sorted(edges[:2]) == [("key a", True), ("key space", True)]
    assert sorted(edges[2:4]) == [("key a", False), ("key space", False)]
    assert edges[4:] == [("key space", True)]


def test_other_keys_and_other_events_say_nothing() -> None:
    events = (
        key_event(pygame.KEYDOWN, pygame.K_F5),
        pygame.event.Event(pygame.MOUSEMOTION),
        pygame.event.Event(pygame.QUIT),
    )
    assert fed(*events) == []
