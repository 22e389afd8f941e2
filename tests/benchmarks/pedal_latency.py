"""Pedal to decision over a real JACK MIDI port, in milliseconds.

    python -m tests.benchmarks.pedal_latency [--presses 1000] [--draw] [--json]

A virtual pedal in a process of its own presses; the MIDI callback stamps the
press and puts it into a queue; a decision thread takes it out and feeds the
recogniser (tap-only binding, so that a press is a control at once). Printed:

- decided: callback's time-stamp to control;
- whole way: pedal's hand-over to control (both processes read the same clock);
- tap with a double tap bound: press to control, the price of the longer gesture;
- double tap adds: what that is more than with the tap alone, in the median.

--draw has the main thread draw 1920x1080 frames under SDL's dummy driver at
60 a second meanwhile.
"""

from __future__ import annotations

import argparse
import json
import os
import queue
import sys
import threading
import time
from collections.abc import Callable

import numpy as np

from pedaltrainer.live.app import SWITCH_INTERVAL_S
from pedaltrainer.pedals.bindings import Binding, Bindings, BoundEdge
from pedaltrainer.pedals.events import Control, ControlGiven, GestureKind
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.recogniser import Recogniser
from tests.devices.jack import JackServer, VirtualPedal, wait_until

TAP_ONLY = Bindings((Binding("*", "*", {GestureKind.TAP: Control.PASS_}),))
Decided = tuple[float, ControlGiven]


class Decider(threading.Thread):
    """Takes edges from the queue, tells the recogniser the time when something is due."""

    def __init__(self) -> None:
        super().__init__(name="decider", daemon=True)
        self.inbox: queue.SimpleQueue[BoundEdge | None] = queue.SimpleQueue()
        self.decided: list[Decided] = []
        self._recogniser = Recogniser()

    def run(self) -> None:
        while True:
            due_s = self._recogniser.due_s
            wait_s = None if due_s is None else max(0.0, due_s - time.perf_counter())
            try:
                edge = self.inbox.get(timeout=wait_s)
            except queue.Empty:
                self._recogniser, outputs = self._recogniser.tick(time.perf_counter())
            else:
                if edge is None:
                    return
                self._recogniser, outputs = self._recogniser.feed(edge)
            now_s = time.perf_counter()
            self.decided += [(now_s, output) for output in outputs if isinstance(output, ControlGiven)]


def measure(
    pedal: VirtualPedal, bindings: Bindings, presses: int, meanwhile: Callable[[threading.Event], float]
) -> tuple[list[float], list[Decided], float]:
    """Press and collect: (times the pedal handed over, controls, frames a second drawn meanwhile)."""
    decider, sent_s, finished = Decider(), [], threading.Event()
    decider.start()

    def play() -> None:
        for press in range(presses):
            sent_s.append(pedal.press())
            pedal.send("@0.015", "b0 40 00", f"@{0.016 + 0.005 * (press % 3)}")
        wait_until(lambda: len(decider.decided) == presses, within_s=2)
        finished.set()

    with InputHub(decider.inbox.put, lambda status: None, wanted=pedal.client, rule_of=bindings.find):
        player = threading.Thread(target=play, name="player")
        player.start()
        frames_per_s = meanwhile(finished)
        player.join()
    decider.inbox.put(None)
    decider.join()
    return sent_s, decider.decided, frames_per_s


def rest(finished: threading.Event) -> float:
    finished.wait()
    return 0.0


def draw(finished: threading.Event) -> float:
    os.environ["SDL_VIDEODRIVER"] = "dummy"
    os.environ["PYGAME_HIDE_SUPPORT_PROMPT"] = "1"
    import pygame

    pygame.display.init()
    pygame.font.init()
    window, font, clock = (
        pygame.display.set_mode((1920, 1080)),
        pygame.font.Font(None, 400),
        pygame.time.Clock(),
    )
    frames, start_s = 0, time.perf_counter()
    while not finished.is_set():
        window.fill((10, 12, 14))
        for row in range(3):
            window.blit(font.render(f"{frames % 100} Am E", True, (230, 230, 220)), (100, 60 + 320 * row))
        pygame.display.flip()
        clock.tick(60)
        frames += 1
    pygame.quit()
    return frames / (time.perf_counter() - start_s)


def quantiles_ms(delays_s: list[float]) -> dict[str, float]:
    p50, p99, top = np.percentile(np.array(delays_s) * 1000, [50, 99, 100])
    return {"p50_ms": round(float(p50), 3), "p99_ms": round(float(p99), 3), "max_ms": round(float(top), 3)}


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    arguments.add_argument("--presses", type=int, default=1000)
    arguments.add_argument("--draw", action="store_true")
    arguments.add_argument("--json", action="store_true")
    asked = arguments.parse_args()
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    server = JackServer(synchronous=True)
    os.environ.update(server.environment)
    try:
        with VirtualPedal(server.environment) as pedal:
            meanwhile = draw if asked.draw else rest
            sent_s, decided, frames_per_s = measure(pedal, TAP_ONLY, asked.presses, meanwhile)
            taps = min(asked.presses, 50)
            waited = measure_waits(pedal, taps)
    finally:
        server.stop()
    if len(decided) != asked.presses:
        print(f"{asked.presses} presses gave {len(decided)} controls", file=sys.stderr)
        return 1
    alone = [now_s - control.pressed_s for now_s, control in decided]
    figures: dict[str, object] = {
        "presses": asked.presses,
        "controls": len(decided),
        "frames_per_s": round(frames_per_s, 1),
        "decided": quantiles_ms(alone),
        "whole_way": quantiles_ms([now_s - sent for (now_s, _), sent in zip(decided, sent_s, strict=True)]),
        "tap_with_double_tap_bound": quantiles_ms(waited),
        "double_tap_adds_ms": round(1000 * float(np.median(waited) - np.median(alone)), 3),
    }
    print(
        json.dumps(figures)
        if asked.json
        else "\n".join(f"{name}: {value}" for name, value in figures.items())
    )
    return 0


def measure_waits(pedal: VirtualPedal, taps: int) -> list[float]:
    """Press-to-control delays of single taps under the default one-switch binding, seconds."""
    decider = Decider()
    decider.start()
    with InputHub(decider.inbox.put, lambda status: None, wanted=pedal.client):
        for _ in range(taps):
            pedal.tap()
            pedal.send("@0.3")
        wait_until(lambda: len(decider.decided) == taps)
    decider.inbox.put(None)
    decider.join()
    return [now_s - control.pressed_s for now_s, control in decider.decided]


if __name__ == "__main__":
    sys.exit(main())
