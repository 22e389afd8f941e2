"""Is the click asked for in time while the stage draws?

    python -m tests.benchmarks.stream_steadiness [MINUTES]

A real callback on SDL's dummy driver (or the one in SDL_AUDIODRIVER), 60
frames a second at 1920x1080. Any drawing function may be passed to `main`.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable

os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

import pygame

from pedaltrainer.timing.click import ClickPlan
from pedaltrainer.timing.sound_device import FRAMES
from pedaltrainer.timing.stream import AudioStream

FRAME_S = 1 / 60


def fill_and_blit(screen: pygame.Surface, frame: int) -> None:
    """A whole frame's worth of pixels, twice."""
    screen.fill((frame % 40, 20, 30))
    screen.blit(screen, (1, 1))


def main(minutes: float, draw: Callable[[pygame.Surface, int], None] = fill_and_blit) -> int:
    """Print lateness; 0 when no callback was later than one buffer."""
    pygame.display.init()
    screen = pygame.display.set_mode((1920, 1080))
    stream = AudioStream(0.4)
    stream.play(ClickPlan(48_000, 120, 4, round(minutes * 120)))
    began_s, frame, worst_frame_s, last_heard_s, backwards = time.perf_counter(), 0, 0.0, 0.0, 0
    while (now_s := time.perf_counter()) < began_s + minutes * 60:
        heard_s = stream.heard_s(now_s)
        backwards += heard_s < last_heard_s
        last_heard_s = heard_s
        draw(screen, frame)
        pygame.display.flip()
        frame += 1
        worst_frame_s = max(worst_frame_s, time.perf_counter() - now_s)
        time.sleep(max(0.0, began_s + frame * FRAME_S - time.perf_counter()))
    health = stream.health()
    stream.close()
    pygame.display.quit()
    print(
        f"{minutes:g} minutes, {frame / minutes / 60:.1f} frames/s, longest {worst_frame_s * 1000:.1f} ms; "
        f"{health.callbacks} callbacks, worst {health.worst_late_ms:.2f} ms late, "
        f"{health.late_callbacks} later than one buffer ({FRAMES / 48:.2f} ms), {health.underruns} resets, "
        f"heard time backwards {backwards} times"
    )
    return 1 if health.late_callbacks or backwards or health.trouble else 0


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0))
