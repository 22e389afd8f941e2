"""Presses in a flood: every one a control, how late, and what it costs in memory.

    python -m tests.benchmarks.pedal_flood [--seconds 60] [--rate 10000] [--presses 200] [--stage] [--json]

A virtual pedal in a process of its own sends `rate` messages a second, in
equal parts clock, active sensing, pitch wheel and a controller that trembles
round its middle; among them the presses of controller 64, 50 ms long, at
uneven distances. The hub listens, a decision thread makes controls of the
edges. Lateness is from the pedal's hand-over of the press to the control (both
processes read the same clock). Memory is the resident set, read once a second;
its growth is measured from a tenth of the time on.

--stage has the main thread draw the stage meanwhile, 1920x1080 at 60 a second
(it needs a display; Xvfb will do). --watch has a monitor look at every
message, which also lets clock and sensing through.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from itertools import cycle
from pathlib import Path
from typing import Any

from pedaltrainer.live.app import SWITCH_INTERVAL_S
from pedaltrainer.pedals.bindings import Binding, Bindings
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.midi.hub import InputHub
from tests.benchmarks.pedal_latency import Decider, quantiles_ms, rest
from tests.devices.jack import ROOT, JackServer, wait_until

CLIENT = "flooding pedal"
BATCH_S = 0.001
PRESS_LASTS_S = 0.05
BINDINGS = Bindings((Binding("*", "controller 64 on channel 1", {GestureKind.TAP: Control.PASS_}),))
DOWN, UP = (0xB0, 64, 127), (0xB0, 64, 0)


@dataclass(frozen=True, slots=True)
class Flooded:
    """What came of a flood. memory_mb: how much the resident set grew; None when it was too short."""

    messages: int
    messages_per_s: float
    presses: int
    controls: int
    late_ms: dict[str, float]
    memory_mb: float | None
    cpu_percent: float
    frames_per_s: float
    monitored: int | None


def noise() -> Iterator[tuple[int, ...]]:
    """Equal parts of clock, sensing, pitch wheel and a controller that moves no bound switch."""
    for value in cycle(range(40, 90)):
        yield (0xF8,)
        yield (0xFE,)
        yield (0xE0, value, 64)
        yield (0xB0, 11, value)


def pressing(presses: int, seconds: float) -> list[tuple[float, tuple[int, ...]]]:
    """(when, message) of every way down and up; distances change so that they fall on no one beat."""
    every_s = seconds / (presses + 1)
    downs = [every_s * (press + 0.75 + 0.05 * (press % 7)) for press in range(presses)]
    return sorted([(at, DOWN) for at in downs] + [(at + PRESS_LASTS_S, UP) for at in downs])


def be_a_flood(seconds: float, rate: float, presses: int) -> None:
    """The pedal's process: flood from a line on standard input on, then tell what was sent."""
    import rtmidi

    out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name=CLIENT)
    out.open_virtual_port("out")
    print("ready", flush=True)
    sys.stdin.readline()
    stream, agenda, sent, pressed_s = noise(), pressing(presses, seconds), 0, []
    start_s = time.perf_counter()
    while (gone_s := time.perf_counter() - start_s) < seconds or agenda:
        due = min(int(gone_s * rate), int(seconds * rate)) - sent
        for _ in range(due):
            out.send_message(next(stream))
        sent += due
        while agenda and agenda[0][0] <= gone_s:
            message = agenda.pop(0)[1]
            out.send_message(message)
            if message == DOWN:
                pressed_s.append(time.perf_counter())
        time.sleep(BATCH_S)
    lasted_s = time.perf_counter() - start_s
    print(json.dumps({"sent": sent, "lasted_s": lasted_s, "pressed_s": pressed_s}), flush=True)
    sys.stdin.readline()
    out.delete()


def stage(finished: threading.Event) -> float:
    """Draw a session on the real stage until finished; frames a second."""
    from pedaltrainer.screen.window import Stage
    from tests.benchmarks.stage_frames import FRAMES_PER_SECOND, view_at
    from tests.screen import sample_views

    drawn = Stage((1920, 1080), windowed=True)
    drawn.warm(sample_views.TAKE)
    frames, start_s = 0, time.perf_counter()
    while not finished.is_set():
        drawn.draw(view_at(time.perf_counter() - start_s))
        frames += 1
        time.sleep(max(0.0, start_s + frames / FRAMES_PER_SECOND - time.perf_counter()))
    frames_per_s = frames / (time.perf_counter() - start_s)
    drawn.close()
    return frames_per_s


def resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


class Scale(threading.Thread):
    """Reads the resident set once a second until told to stop."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.read_mb: list[float] = []
        self.finished = threading.Event()

    def run(self) -> None:
        while not self.finished.wait(1.0):
            self.read_mb.append(resident_mb())

    def growth_mb(self) -> float | None:
        settled = self.read_mb[len(self.read_mb) // 10 :]
        return round(max(settled) - settled[0], 2) if len(settled) > 2 else None


def flood(
    environment: dict[str, str],
    seconds: float,
    rate: float,
    presses: int,
    meanwhile: Callable[[threading.Event], float] = rest,
    watch: bool = False,
) -> Flooded:
    """Flood a hub on the JACK server of this environment and of this process."""
    command = [
        sys.executable,
        "-m",
        __spec__.name if __name__ != "__main__" else "tests.benchmarks.pedal_flood",
    ]
    process = subprocess.Popen(
        [*command, "--be-a-flood", "--seconds", str(seconds), "--rate", str(rate), "--presses", str(presses)],
        cwd=ROOT,
        env=os.environ | environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    told: dict[str, Any] = {}
    finished = threading.Event()
    decider, scale = Decider(), Scale()
    monitored = 0

    def count(message: Any, t_s: float, device: str) -> None:
        nonlocal monitored
        monitored += 1

    def follow(lines: Iterable[str]) -> None:
        told.update(json.loads(next(iter(lines))))
        wait_until(lambda: len(decider.decided) >= presses, within_s=2)
        wait_until(lambda: not watch or monitored >= told["sent"] + 2 * presses, within_s=5)
        finished.set()

    try:
        if process.stdout.readline() != "ready\n":
            raise RuntimeError("the flooding pedal could not open its port")
        decider.start()
        with InputHub(
            decider.inbox.put,
            lambda status: None,
            count if watch else None,
            CLIENT,
            rule_of=BINDINGS.find,
        ):
            scale.start()
            cpu_s, start_s = time.process_time(), time.perf_counter()
            print("go", file=process.stdin, flush=True)
            follower = threading.Thread(target=follow, args=(process.stdout,), daemon=True)
            follower.start()
            frames_per_s = meanwhile(finished)
            follower.join()
            cpu = (time.process_time() - cpu_s) / (time.perf_counter() - start_s)
        scale.finished.set()
        scale.join()
        decider.inbox.put(None)
        decider.join()
    finally:
        # At its end it takes leave of the server, which would wait for one that was killed.
        process.stdin.close()
        if told:
            process.wait()
        process.kill()
        process.wait()
        process.stdout.close()
    sent_s = told["pressed_s"]
    late = [now_s - sent for (now_s, _), sent in zip(decider.decided, sent_s, strict=False)]
    return Flooded(
        messages=told["sent"],
        messages_per_s=round(told["sent"] / told["lasted_s"]),
        presses=len(sent_s),
        controls=len(decider.decided),
        late_ms=quantiles_ms(late),
        memory_mb=scale.growth_mb(),
        cpu_percent=round(100 * cpu, 1),
        frames_per_s=round(frames_per_s, 1),
        monitored=monitored if watch else None,
    )


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    arguments.add_argument("--seconds", type=float, default=60)
    arguments.add_argument("--rate", type=float, default=10000)
    arguments.add_argument("--presses", type=int, default=200)
    arguments.add_argument("--stage", action="store_true")
    arguments.add_argument("--watch", action="store_true")
    arguments.add_argument("--json", action="store_true")
    arguments.add_argument("--be-a-flood", action="store_true", help=argparse.SUPPRESS)
    asked = arguments.parse_args()
    if asked.be_a_flood:
        be_a_flood(asked.seconds, asked.rate, asked.presses)
        return 0
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    server = JackServer(synchronous=True)
    os.environ.update(server.environment)
    try:
        meanwhile = stage if asked.stage else rest
        flooded = flood(server.environment, asked.seconds, asked.rate, asked.presses, meanwhile, asked.watch)
    finally:
        server.stop()
    figures = asdict(flooded)
    print(json.dumps(figures) if asked.json else "\n".join(f"{name}: {it}" for name, it in figures.items()))
    return 0 if flooded.controls == flooded.presses else 1


if __name__ == "__main__":
    sys.exit(main())
