"""The stage: a window that shows views, repainting only the panels that changed.

Nothing here holds the interpreter for long during a take: panels are kept as
ready-made pictures and copied in bands, so a thread that waits for a pedal
gets its turn between two copies. `render` paints a view on a plain surface,
without any window, by the same code.
"""

from __future__ import annotations

import os
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any

import pygame

from pedaltrainer.errors import InputError
from pedaltrainer.screen.fit import Zone
from pedaltrainer.screen.layout import Layout, arrange
from pedaltrainer.screen.palette import GROUND
from pedaltrainer.screen.panels import Panel, compose
from pedaltrainer.screen.touch import Touch, touched
from pedaltrainer.screen.view import PlankView, PlayView, RollView, Scene, Sight, StageView
from pedaltrainer.system.quiet import quiet_stderr

TITLE = "pedaltrainer"
UNSEEN_DRIVERS = frozenset({"offscreen", "dummy"})
_BAND_PX = 160_000
"""Pixels copied in one call: about 0.1 ms on a small computer."""
_KEPT_PX = 24_000_000
"""Pixels of kept pictures: about twelve screens of 1920x1080, 96 MB."""


@lru_cache(maxsize=64)
def _arranged(view: StageView, width: int, height: int, sight: Sight) -> Layout:
    return arrange(view, width, height, sight)


def layout_of(view: StageView, size: tuple[int, int], sight: Sight) -> Layout:
    """The layout of a view; what moves or fades within a take does not change it."""
    if isinstance(view, PlayView):
        view = _still(view)
    elif view.ack is not None:
        view = replace(view, ack=replace(view.ack, age_s=0.0))
    return _arranged(view, *size, sight)


def _still(view: PlayView) -> PlayView:
    """The view without what moves or fades while a scene stands."""
    return replace(
        view, plank=None, count=None, landing=0, ack=None, time_left="", roll=view.roll and _NO_BARS
    )


_NO_BARS = RollView(())


def _paint(panel: Panel) -> pygame.Surface:
    picture = pygame.Surface((panel.zone.w, panel.zone.h))
    picture.fill(GROUND)
    panel.painter(picture, *panel.arguments)
    return picture


def render(view: StageView, size: tuple[int, int], sight: Sight | None = None) -> pygame.Surface:
    """A view as a picture of `size` px; needs no display."""
    pygame.font.init()
    surface = pygame.Surface(size, 0, 32)
    surface.fill(GROUND)
    for panel in compose(view, layout_of(view, size, sight or Sight()), size[1] > size[0]):
        surface.blit(_paint(panel), panel.zone[:2])
    return surface


def save_png(view: StageView, path: Path, size: tuple[int, int], sight: Sight | None = None) -> None:
    """Render a view into a PNG file."""
    pygame.image.save(render(view, size, sight), str(path))


_LOOKED_AT = 12
"""Panels looked at in an idle frame for one whose picture is not there yet."""


def open_display() -> None:
    """Connect to the screen. Raises pygame.error when there is none that a person could see."""
    with quiet_stderr():
        pygame.display.init()
    # Without a screen SDL falls back on drawing into memory, which nobody would ever see.
    if pygame.display.get_driver() in UNSEEN_DRIVERS and "SDL_VIDEODRIVER" not in os.environ:
        pygame.display.quit()
        raise pygame.error("no display was found")


class Stage:
    """The player's window.

    size is (width, height) in px for a window, or None for the whole desktop.
    Raises InputError when there is no screen to open it on.
    """

    def __init__(
        self, size: tuple[int, int] | None = None, windowed: bool = False, sight: Sight | None = None
    ) -> None:
        self.sight = sight or Sight()
        # A plain shared-memory window: presenting a strip must not cost a whole texture.
        os.environ.setdefault("SDL_FRAMEBUFFER_ACCELERATION", "0")
        os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
        try:
            open_display()
            pygame.font.init()
            if windowed:
                wanted = size or _most_of_the_desktop()
                self._window = pygame.display.set_mode(wanted, pygame.RESIZABLE)
            else:
                wanted = size or pygame.display.get_desktop_sizes()[0]
                self._window = pygame.display.set_mode(wanted, pygame.NOFRAME)
        except pygame.error as error:
            raise InputError(
                f"There is no screen to open the stage on ({error}): start pedaltrainer in a desktop session."
            ) from error
        pygame.display.set_caption(TITLE)
        pygame.mouse.set_visible(windowed)
        self._shown: dict[str, tuple[Any, ...]] = {}
        self._zones: dict[str, Zone] = {}
        self._kept: OrderedDict[tuple[Any, ...], pygame.Surface] = OrderedDict()
        self._kept_px = 0
        self._everything = True
        self._to_warm: Iterator[Panel] = iter(())
        self._warmed_for: StageView | None = None
        self._view: StageView | None = None

    @property
    def size(self) -> tuple[int, int]:
        return self._window.get_size()

    def note_event(self, event: pygame.event.Event) -> None:
        """Tell the stage about a pygame event: after a resize or an uncovering it paints everything anew."""
        if event.type in (
            pygame.VIDEOEXPOSE,
            pygame.VIDEORESIZE,
            pygame.WINDOWEXPOSED,
            pygame.WINDOWSIZECHANGED,
            pygame.WINDOWRESTORED,
        ):
            self.expose()

    def expose(self) -> None:
        """Paint everything at the next draw."""
        self._everything = True

    def shortfalls(self, view: StageView) -> tuple[str, ...]:
        """What is shown smaller than the player's distance asks for, in words."""
        return layout_of(view, self.size, self.sight).shortfalls

    def draw(self, view: StageView) -> list[pygame.Rect]:
        """Show a view; returns the rectangles that changed (none: nothing was presented)."""
        window = pygame.display.get_surface()
        if window is not self._window or window.get_size() != self._window.get_size():
            self._window, self._everything = window, True
        self._view = view
        layout = layout_of(view, self.size, self.sight)
        if layout.zones != self._zones:
            self._everything = True
        panels = compose(view, layout, self.size[1] > self.size[0])
        dirty: list[pygame.Rect] = []
        if self._everything:
            self._clear(Zone(0, 0, *self.size))
            self._shown, self._zones, self._everything = {}, layout.zones, False
            dirty.append(self._window.get_rect())
            for panel in panels:
                self._show(panel)
        else:
            names = {panel.name for panel in panels}
            for name in [name for name in self._shown if name not in names]:
                del self._shown[name]
                self._clear(self._zones[name])
                dirty.append(pygame.Rect(self._zones[name]))
            for panel in panels:
                if self._shown.get(panel.name) != panel.key:
                    self._show(panel)
                    dirty.append(pygame.Rect(panel.zone))
        if dirty:
            pygame.display.update(dirty)
        else:
            self._warm_one(view)
        return dirty

    def warm(self, view: StageView) -> None:
        """Make ready the pictures a drill will need: no letter is drawn for the first time mid-take."""
        for panel in _panels_to_come(view, self.size, self.sight):
            self._picture(panel)

    def touched(self, at: tuple[int, int]) -> Touch | None:
        """What a pointer or a finger at a place of the window is on."""
        if self._view is None:
            return None
        layout = layout_of(self._view, self.size, self.sight)
        return touched(self._view, layout, self.size[1] > self.size[0], at)

    def close(self) -> None:
        """Close the window."""
        pygame.display.quit()

    def _warm_one(self, view: StageView) -> None:
        """In an idle frame while the player studies or answers, make one picture ahead of need."""
        if not isinstance(view, PlayView) or view.scene in (Scene.TAKE, Scene.COUNT_IN):
            return
        # Two views alike in this need the same pictures.
        steady = replace(_still(view), scene=Scene.READY, target="")
        if steady != self._warmed_for:
            self._to_warm, self._warmed_for = _panels_to_come(steady, self.size, self.sight), steady
        for panel in islice(self._to_warm, _LOOKED_AT):
            if _picture_key(panel) not in self._kept:
                self._picture(panel)
                return

    def _picture(self, panel: Panel) -> pygame.Surface:
        key = _picture_key(panel)
        picture = self._kept.get(key)
        if picture is not None:
            self._kept.move_to_end(key)
            return picture
        picture = _paint(panel).convert()
        if panel.passing:
            return picture
        self._kept[key] = picture
        self._kept_px += panel.zone.w * panel.zone.h
        while self._kept_px > _KEPT_PX and len(self._kept) > 1:
            _, old = self._kept.popitem(last=False)
            self._kept_px -= old.get_width() * old.get_height()
        return picture

    def _show(self, panel: Panel) -> None:
        self._shown[panel.name] = panel.key
        zone = panel.zone
        if panel.moving:
            self._clear(zone)
            panel.painter(self._window.subsurface(zone), *panel.arguments)
            return
        picture = self._picture(panel)
        band = max(1, _BAND_PX // zone.w)
        for top in range(0, zone.h, band):
            self._window.blit(picture, (zone.x, zone.y + top), (0, top, zone.w, min(band, zone.h - top)))

    def _clear(self, zone: Zone) -> None:
        band = max(1, _BAND_PX // max(1, zone.w))
        for top in range(0, zone.h, band):
            self._window.fill(GROUND, (zone.x, zone.y + top, zone.w, min(band, zone.h - top)))


def _picture_key(panel: Panel) -> tuple[Any, ...]:
    return (panel.painter, panel.zone.w, panel.zone.h, panel.arguments)


def _panels_to_come(view: StageView, size: tuple[int, int], sight: Sight) -> Iterator[Panel]:
    """The panels a drill will need: both chords in both places, the counts, the beats, the landings."""
    if not isinstance(view, PlayView):
        return
    beats = view.plank.beats_per_bar if view.plank else 4
    upright = size[1] > size[0]
    as_shown = (view.now_chord, view.next_chord, view.now_box, view.next_box)
    turned = (view.next_chord, view.now_chord, view.next_box, view.now_box)
    for now, following, now_box, next_box in (as_shown, turned):
        if not now:
            continue
        take = replace(
            _still(view),
            scene=Scene.TAKE,
            now_chord=now,
            next_chord=following,
            now_box=now_box,
            next_box=next_box,
        )
        for steps in range(max(view.landings, 2 * beats, 8) + 1):
            plank = PlankView(float(steps % 2), 1 + steps // 2 % beats, beats, changing=bool(steps % 2))
            counting = replace(take, scene=Scene.COUNT_IN, count=1 + steps % beats, plank=plank)
            landing = replace(take, landing=min(steps, view.landings), plank=plank)
            for shown in (counting, landing):
                layout = layout_of(shown, size, sight)
                panels = compose(shown, layout, upright)
                yield from (panel for panel in panels if not (panel.moving or panel.passing))


def _most_of_the_desktop() -> tuple[int, int]:
    width, height = pygame.display.get_desktop_sizes()[0]
    return round(width * 0.8), round(height * 0.8)
