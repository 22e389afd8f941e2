"""The real application run in this process, with a watch on what goes into and comes out of its parts.

The conductor and the stage are replaced by subclasses that do the same work
and note when it was done; nothing else of the program is changed.
"""

from __future__ import annotations

import os
import tempfile
import threading
import time
from array import array
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import numpy.typing as npt

from pedaltrainer.live import app, programme
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.screen.view import StageView
from pedaltrainer.screen.window import Stage, layout_of
from pedaltrainer.session.state import CLICKING, Ack, Phase, State
from pedaltrainer.showing import view_of as present
from tests.devices.window import Screen

FULL_HD = (1920, 1080)
Seconds = npt.NDArray[np.float64]


@dataclass(slots=True)
class Decision:
    """A way down of the pedal: when it was stamped, decided and shown (0.0: not yet), on perf_counter."""

    stamped_s: float
    decided_s: float
    phase: Phase
    ack: Ack | None
    shown_s: float = 0.0


class Frames:
    """Turns of the drawing: when each began, how long it took, and whether a take was on.

    Kept in 17 bytes each, so that a long watch does not grow the process it watches.
    """

    def __init__(self) -> None:
        self._at_s, self._took_s, self._clicking = array("d"), array("d"), array("b")

    def __len__(self) -> int:
        return len(self._at_s)

    def add(self, at_s: float, took_s: float, clicking: bool) -> None:
        self._at_s.append(at_s)
        self._took_s.append(took_s)
        self._clicking.append(clicking)

    def gaps_in_takes_s(self) -> Seconds:
        """From one drawing to the next, while clicks sound."""
        clicking = np.array(self._clicking, bool)
        return np.diff(np.array(self._at_s))[clicking[1:] & clicking[:-1]]

    def drawing_in_takes_s(self) -> Seconds:
        return np.array(self._took_s)[np.array(self._clicking, bool)]


@dataclass(slots=True)
class Watch:
    """What was seen of one session. opened is set once the conductor takes presses."""

    opened: threading.Event = field(default_factory=threading.Event)
    conductor: Conductor | None = None
    decisions: list[Decision] = field(default_factory=list)
    frames: Frames = field(default_factory=Frames)
    presented: State | None = None
    """The state of which the stage last drew a view."""


def _watched_conductor(watch: Watch) -> type[Conductor]:
    class WatchedConductor(Conductor):
        def open(self, t_s: float) -> None:
            Conductor.open(self, t_s)
            watch.conductor = self
            watch.opened.set()

        def edge(self, edge: BoundEdge) -> None:
            Conductor.edge(self, edge)
            decided_s = time.perf_counter()
            if edge.down:
                watch.decisions.append(Decision(edge.t_s, decided_s, self.state.phase, self.state.ack))

    return WatchedConductor


def _watched_stage(watch: Watch) -> type[Stage]:
    class WatchedStage(Stage):
        _seen = 0

        def draw(self, view: StageView) -> list[Any]:
            start_s = time.perf_counter()
            changed = Stage.draw(self, view)
            end_s = time.perf_counter()
            state = watch.presented
            clicking = state is not None and state.phase in CLICKING
            watch.frames.add(start_s, end_s - start_s, clicking)
            if self._seen < len(watch.decisions) and state is not None and state.ack is not None:
                self._note_shown(state.ack, view, changed, end_s)
            return changed

        def _note_shown(self, ack: Ack, view: StageView, changed: list[Any], end_s: float) -> None:
            """Presses up to this acknowledgement are shown if its line was among what was presented."""
            line = layout_of(view, self.size, self.sight).zones["headline"]
            if not any(rectangle.contains(line) for rectangle in changed):
                return
            for decision in watch.decisions[self._seen :]:
                if decision.ack is None or decision.ack.at_s > ack.at_s:
                    return
                decision.shown_s = end_s
                self._seen += 1

    return WatchedStage


@contextmanager
def watching() -> Iterator[Watch]:
    """Within it, app.run makes watched parts."""
    watch = Watch()

    def watched_present(state: State, heard_s: float, around: present.Surroundings) -> StageView:
        view = present.present(state, heard_s, around)
        watch.presented = state
        return view

    with (
        mock.patch.object(programme, "Conductor", _watched_conductor(watch)),
        mock.patch.object(app, "Stage", _watched_stage(watch)),
        mock.patch.object(app, "present", watched_present),
    ):
        yield watch


@contextmanager
def on_a_screen(size: tuple[int, int] = FULL_HD, sound: str = "dummy") -> Iterator[Path]:
    """A virtual screen and a sound driver for this process; yields a folder for the log."""
    with tempfile.TemporaryDirectory(prefix="pedaltrainer-benchmark-") as folder:
        screen = Screen(Path(folder), size)
        try:
            os.environ |= {"DISPLAY": screen.display, "SDL_AUDIODRIVER": sound}
            os.environ.pop("SDL_VIDEODRIVER", None)
            data = Path(folder) / "data"
            data.mkdir()
            yield data
        finally:
            screen.close()


def meanwhile(work: Callable[[], None]) -> threading.Thread:
    """Work on a thread of its own while the main thread draws; then close the window."""
    import pygame

    def work_and_close() -> None:
        try:
            work()
        finally:
            pygame.event.post(pygame.event.Event(pygame.QUIT))

    thread = threading.Thread(target=work_and_close, name="benchmark", daemon=True)
    thread.start()
    return thread


def quantiles_ms(delays_s: Any) -> dict[str, float]:
    p50, p99, top = np.percentile(np.asarray(delays_s) * 1000, [50, 99, 100])
    return {"p50_ms": round(float(p50), 3), "p99_ms": round(float(p99), 3), "max_ms": round(float(top), 3)}
