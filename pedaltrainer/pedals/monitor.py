"""Pedals on the terminal: what is there, what each message says, and a lesson without a window."""

from __future__ import annotations

import contextlib
import queue
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pygame

from pedaltrainer.pedals.bindings import KEYBOARD, Bindings
from pedaltrainer.pedals.events import InputStatus
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.messages import Observation, describe, observe
from pedaltrainer.pedals.taught import lesson
from pedaltrainer.pedals.taught.files import load_bindings, own_path, save_binding
from pedaltrainer.pedals.taught.teach_state import Station, TeachState

WITHOUT_END = frozenset({"clock", "active_sensing"})
"""Messages that some devices send for ever: a monitor that shows them shows nothing else."""
TICK_S = 0.05

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Found:
    """One device that can be pressed. matched: where the meaning of its switches comes from."""

    device: str
    way: str
    matched: str


def found_inputs(hub: InputHub, bindings: Bindings) -> list[Found]:
    """Everything here that a foot can press: MIDI inputs, the keyboard, game controllers."""
    midi = [Found(name, "MIDI", bindings.matched(name)) for name in hub.devices]
    keys = [Found(KEYBOARD, "keys and page-turners", bindings.matched(KEYBOARD))]
    games = [Found(name, "game controller", bindings.matched(name)) for name in _game_controllers()]
    return [*midi, *keys, *games]


def _game_controllers() -> list[str]:
    with contextlib.suppress(pygame.error):
        pygame.joystick.init()
        try:
            return [
                pygame.joystick.Joystick(index).get_name() for index in range(pygame.joystick.get_count())
            ]
        finally:
            pygame.joystick.quit()
    return []


def look(
    data_folder: Path, configs_folder: Path, wanted: str | None, seconds: float, say: Say
) -> tuple[list[Found], str]:
    """What is here, and then every message in words for so many seconds (0 for none, infinity for ever).

    Returns what was found and the MIDI system's own words. Raises InputError for a binding file amiss.
    """
    heard: queue.SimpleQueue[str] = queue.SimpleQueue()

    def hear(message: Any, t_s: float, device: str) -> None:
        if message.type not in WITHOUT_END:
            heard.put(f"{device}: {describe(message)}")

    def status(change: InputStatus) -> None:
        heard.put(change.words)

    with InputHub(lambda edge: None, status, hear, wanted) as hub:
        bindings = load_bindings(data_folder, configs_folder, hub.devices)
        found = found_inputs(hub, bindings)
        for one in found if seconds else ():
            say(f"{one.device}: {one.way}; {one.matched}")
        for words in _until(heard, seconds):
            say(words)
        return found, hub.backend.reason


def _until(heard: queue.SimpleQueue[str], seconds: float) -> Iterator[str]:
    end_s = time.perf_counter() + seconds
    while (left_s := end_s - time.perf_counter()) > 0:
        with contextlib.suppress(queue.Empty):
            yield heard.get(timeout=min(left_s, 1.0))


def teach(data_folder: Path, wanted: str | None, say: Say) -> Path | None:
    """Teach a MIDI pedal on the terminal; returns the file that was written, None when nothing was learnt.

    Raises InputError for an input that is not there or a file that cannot be written.
    """
    seen: queue.SimpleQueue[Observation] = queue.SimpleQueue()

    def look_at(message: Any, t_s: float, device: str) -> None:
        observation = observe(message, t_s, device)
        if observation is not None:
            seen.put(observation)

    state, said = TeachState(), ""
    with InputHub(lambda edge: None, lambda status: say(status.words), look_at, wanted):
        while state.station is not Station.DONE:
            page = "\n".join((state.title, *(f"  {line}" for line in state.lines), state.hint)).rstrip()
            if page != said:
                say(page)
                said = page
            try:
                state, learnt = lesson.step(state, seen.get(timeout=TICK_S))
            except queue.Empty:
                state, learnt = lesson.step(state, time.perf_counter())
            if learnt is not None:
                save_binding(data_folder, learnt)
                say("\n".join((state.title, *(f"  {line}" for line in state.lines))))
                return own_path(data_folder, learnt.device)
    return None
