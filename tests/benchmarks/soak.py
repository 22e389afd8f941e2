"""The real application for a long while: does it stay in time, and does it stay the same size?

    python -m tests.benchmarks.soak [--minutes 10] [--json]

A made-up player practises drill after drill on a 1920x1080 virtual screen, with
SDL's dummy sound driver, which asks for sound in real time. Printed: the
callbacks of the sound, frames a second while takes sound, the share of one
core this process used, and how resident memory grew after the first minute.
"""

from __future__ import annotations

import argparse
import itertools
import json
import sys
import time
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.live import app, front
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.settings import Settings
from tests.benchmarks.watched import FULL_HD, Watch, meanwhile, on_a_screen, quantiles_ms, watching

CHORDS = ("Am", "E", "C", "G", "D", "F", "Em", "A")
LOOK_EVERY_S = 5.0
WARM_S = 60.0


def resident_mb() -> float:
    """Linux: the pages of this process that are in memory now."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    line = next(line for line in status.splitlines() if line.startswith("VmRSS:"))
    return int(line.split()[1]) / 1024


def drills(number: int) -> list[str]:
    """So many different changes, round and round."""
    changes = itertools.cycle(itertools.permutations(CHORDS, 2))
    return [" ".join(pair) for pair in itertools.islice(changes, number)]


def options(minutes: float, folder: Path) -> app.Options:
    return app.Options(
        settings=Settings(
            tuple(parse_drill(words, 1) for words in drills(3 + round(3 * minutes))),
            seed=1,
        ),
        desk=Desk(folder, "soak"),
        windowed=True,
        size=FULL_HD,
        made_up=MadeUpPlayer(90, 1),
    )


def soak(watch: Watch, seconds: float, memory_mb: list[tuple[float, float]]) -> dict[str, object]:
    """Look on for so long; the figures are of the whole while."""
    assert watch.opened.wait(60)
    assert watch.conductor is not None
    start_s, cpu_s, first_frame = time.perf_counter(), time.process_time(), len(watch.frames)
    while (gone_s := time.perf_counter() - start_s) < seconds and not watch.conductor.closed:
        memory_mb.append((gone_s, resident_mb()))
        time.sleep(min(LOOK_EVERY_S, max(0.0, seconds - gone_s)))
    gone_s = time.perf_counter() - start_s
    health = watch.conductor.stream.health()
    gaps_s = watch.frames.gaps_in_takes_s()
    warm_mb = [mb for at_s, mb in memory_mb if at_s >= min(WARM_S, seconds / 2)]
    return {
        "minutes": round(gone_s / 60, 2),
        "takes": watch.conductor.state.serial,
        "sound_callbacks": health.callbacks,
        "worst_callback_lateness_ms": health.worst_late_ms,
        "callbacks_later_than_one_buffer": health.late_callbacks,
        "clock_found_afresh": health.underruns,
        "missed_clicks": health.missed_clicks,
        "sound_trouble": health.trouble,
        "frames_per_s": round((len(watch.frames) - first_frame) / gone_s, 2),
        "frames_per_s_in_takes": round(len(gaps_s) / float(gaps_s.sum()), 2),
        "frame_gap_in_takes": quantiles_ms(gaps_s),
        "gaps_over_two_frames": int((gaps_s > 2 / front.FRAMES_PER_SECOND).sum()),
        "drawing": quantiles_ms(watch.frames.drawing_in_takes_s()),
        "share_of_one_core_percent": round(100 * (time.process_time() - cpu_s) / gone_s, 1),
        "resident_mb_first": round(memory_mb[0][1], 1),
        "resident_mb_when_warm": round(warm_mb[0], 1),
        "resident_mb_last": round(warm_mb[-1], 1),
        "growth_since_warm_mb": round(warm_mb[-1] - warm_mb[0], 1),
        "resident_mb_each_minute": [round(mb, 1) for _, mb in memory_mb[:: round(60 / LOOK_EVERY_S)]],
    }


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    figures: dict[str, object] = {}
    memory_mb: list[tuple[float, float]] = []
    with on_a_screen() as folder, watching() as watch:
        looking_on = meanwhile(lambda: figures.update(soak(watch, asked.minutes * 60, memory_mb)))
        app.run(options(asked.minutes, folder))
        looking_on.join(10)
    if not figures:
        print("the session ended before it was looked at", file=sys.stderr)
        return 1
    print(json.dumps(figures) if asked.json else "\n".join(f"{k}: {v}" for k, v in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
