"""The main thread's part of the stage: frames at the screen's pace, and what the window is told."""

from __future__ import annotations

import time
from collections.abc import Callable

import pygame

from pedaltrainer.live.act import Act
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.home.drops import Dropped
from pedaltrainer.live.messages import Message, Touched
from pedaltrainer.pedals.pedalboard import Pedalboard
from pedaltrainer.pedals.ways import Said
from pedaltrainer.screen.view import Sight
from pedaltrainer.screen.window import Stage
from pedaltrainer.showing.view_of import ONE_FOOT, Surroundings

FRAMES_PER_SECOND = 60
POINTER_SEEN_S = 3.0
"""How long a pointer that does not move stays in sight."""


class Front:
    """Draws an act with what is around it, and passes on what a pointer, a key or a file says.

    put: to the decider. windowed: a pointer stays in sight.
    """

    def __init__(
        self,
        stage: Stage,
        foot: Foot,
        pedals: Pedalboard,
        put: Callable[[Message], None],
        windowed: bool,
    ) -> None:
        self._stage, self._foot, self._pedals, self._put = stage, foot, pedals, put
        self._windowed = windowed
        self._pointed_s: float | None = None
        self._pointer_at: tuple[int, int] | None = None
        self._said_of: tuple[object, ...] | None = None
        self._says = ONE_FOOT

    def draw(self, act: Act, around: Surroundings, sight: Sight) -> None:
        if self._stage.sight != sight:
            self._stage.sight = sight
            self._stage.expose()
        self._stage.draw(act.view(act.stream.heard_s(time.perf_counter()), around))

    def said(self) -> Said:
        """What the foot can say; worked out anew when another switch was pressed or the rules changed."""
        foot = self._foot
        knows = (foot.bindings, foot.pressed_last, foot.input_name)
        if self._said_of is None or any(a is not b for a, b in zip(knows, self._said_of, strict=True)):
            self._said_of, self._says = knows, foot.said or ONE_FOOT
        return self._says

    def draw_until(self, over: Callable[[], bool], draw: Callable[[], None]) -> None:
        """Frame after frame until it is over or the window is closed."""
        frame_s = 1 / FRAMES_PER_SECOND
        next_frame_s = time.perf_counter()
        while not over():
            draw()
            next_frame_s = max(next_frame_s + frame_s, time.perf_counter())
            if not self._take_events(next_frame_s):
                return

    def _point(self, event: pygame.event.Event, t_s: float) -> None:
        """A pointer is seen while it moves; where it clicks, or a finger taps, is what it means."""
        if event.type == pygame.MOUSEMOTION:
            # A window that opens under a pointer is told where it lies: that is no movement.
            moved = self._pointer_at not in (None, event.pos)
            self._pointer_at = event.pos
            if moved:
                self._pointed_s = t_s
                pygame.mouse.set_visible(True)
        elif event.type == pygame.MOUSEBUTTONDOWN and event.button == pygame.BUTTON_LEFT:
            touch = self._stage.touched(event.pos)
            if touch is not None:
                self._put(Touched(touch, t_s))
        elif self._pointed_s is not None and t_s - self._pointed_s > POINTER_SEEN_S:
            self._pointed_s = None
            pygame.mouse.set_visible(self._windowed)

    def _take_events(self, until_s: float) -> bool:
        """Take window events as they come until the next frame is due; False when the window was closed."""
        while True:
            left_s = until_s - time.perf_counter()
            event = pygame.event.wait(max(1, round(left_s * 1000))) if left_s > 0 else pygame.event.poll()
            t_s = time.perf_counter()
            if event.type == pygame.NOEVENT:
                if left_s <= 0.001:
                    return True
                continue
            if event.type == pygame.QUIT:
                return False
            if event.type == pygame.DROPFILE:
                self._put(Dropped(event.file))
            self._stage.note_event(event)
            self._point(event, t_s)
            self._pedals.window_event(event, t_s)
