"""How fast, and how heavily, the stage draws: 60 frames a second with a moving plank at 120 BPM.

    python -m tests.benchmarks.stage_frames [--seconds 20] [--size 1920x1080]

Run it under a display (Xvfb will do); it starts none of its own. It prints
the frames a second reached, the share of one core this process used, the
longest frame, and how late a second thread that wants to run every
millisecond was woken: an upper bound on how long a pedal's thread can be kept
waiting by the drawing.
"""

from __future__ import annotations

import argparse
import math
import sys
import threading
import time
from dataclasses import replace

import pygame

from pedaltrainer.screen.view import PlankView, PlayView, Scene
from pedaltrainer.screen.window import Stage
from tests.screen import sample_views

TEMPO_BPM = 120.0
FRAMES_PER_SECOND = 60
COUNT_IN_BEATS = 4
QUANTILES = {"median": 0.5, "p99": 0.99, "p99.9": 0.999}


def view_at(t_s: float) -> PlayView:
    """What a session shows t_s into a run of takes of eight landings, each counted in."""
    beats = t_s * TEMPO_BPM / 60
    beat, within = int(beats) % 12, beats % 1.0
    height = 0.5 - 0.5 * math.cos(2 * math.pi * within)
    counting = beat < COUNT_IN_BEATS
    plank = PlankView(height, 1 + beat % 4, 4, counting, changing=within >= 0.5 and not counting)
    view = replace(sample_views.WITH_BOXES, plank=plank, landing=max(0, beat - COUNT_IN_BEATS + 1))
    if counting:
        return replace(view, scene=Scene.COUNT_IN, count=beat + 1, headline="Count-in")
    if beat % 2:
        return replace(
            view,
            now_chord=view.next_chord,
            next_chord=view.now_chord,
            now_box=view.next_box,
            next_box=view.now_box,
        )
    return view


class Sentry(threading.Thread):
    """Sleeps a millisecond at a time and notes by how much it overslept, as a pedal's thread would."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.late_ms: list[float] = []
        self.on_duty = True

    def run(self) -> None:
        while self.on_duty:
            start_s = time.perf_counter()
            time.sleep(0.001)
            self.late_ms.append((time.perf_counter() - start_s) * 1000 - 1.0)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--size", default="1920x1080")
    options = parser.parse_args()
    width, height = (int(part) for part in options.size.split("x"))
    sys.setswitchinterval(0.0005)
    stage = Stage((width, height), windowed=True)
    stage.warm(sample_views.WITH_BOXES)
    stage.draw(view_at(0.0))
    sentry = Sentry()
    sentry.start()
    frames, longest_ms, drawn_ms = 0, 0.0, 0.0
    start_s, start_cpu_s = time.perf_counter(), time.process_time()
    while (now_s := time.perf_counter() - start_s) < options.seconds:
        for event in pygame.event.get():
            stage.note_event(event)
        before_s = time.perf_counter()
        stage.draw(view_at(now_s))
        frame_ms = (time.perf_counter() - before_s) * 1000
        longest_ms, drawn_ms, frames = max(longest_ms, frame_ms), drawn_ms + frame_ms, frames + 1
        wait_s = start_s + frames / FRAMES_PER_SECOND - time.perf_counter()
        if wait_s > 0:
            time.sleep(wait_s)
    elapsed_s, cpu_s = time.perf_counter() - start_s, time.process_time() - start_cpu_s
    sentry.on_duty = False
    sentry.join()
    late = sorted(sentry.late_ms)
    print(f"{width}x{height}, {elapsed_s:.1f} s, video driver {pygame.display.get_driver()}")
    print(f"frames a second:      {frames / elapsed_s:.1f}")
    print(f"share of one core:    {100 * cpu_s / elapsed_s:.1f} %")
    print(f"frame, mean:          {drawn_ms / frames:.2f} ms")
    print(f"frame, longest:       {longest_ms:.2f} ms")
    shares = [f"{name} {late[int(len(late) * share)]:.2f}" for name, share in QUANTILES.items()]
    print(f"thread woken late by: {', '.join(shares)}, at most {late[-1]:.2f} ms")
    stage.close()


if __name__ == "__main__":
    main()
