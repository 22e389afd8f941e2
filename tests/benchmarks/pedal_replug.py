"""Pulling a pedal out and plugging it in again, many times in one session.

    python -m tests.benchmarks.pedal_replug [--cycles 100] [--json]

A virtual pedal on a real JACK MIDI port is killed and started anew. Measured:
how long after the port is gone the loss is told, how long after the port
exists the pedal is live again, and whether threads, open files and JACK
clients are as many as before. Each time the pedal is pressed when it is back.
(This JACK server does not wait for late clients, so that it need not wait for
a killed one; a press it drops is pressed again, and counted. On a busy machine
it also leaves out, for good, about one client in five hundred that joins.)
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import InputChange, InputStatus
from pedaltrainer.pedals.midi.hub import InputHub
from tests.benchmarks.pedal_latency import quantiles_ms
from tests.devices.jack import JackServer, VirtualPedal, wait_until


@dataclass(frozen=True, slots=True)
class Belongings:
    """What a leak would show in."""

    python_threads: int
    threads: int
    files: int
    clients: int

    @staticmethod
    def now(server: JackServer) -> Belongings:
        listed = subprocess.run(["jack_lsp", "-s", server.name], capture_output=True, text=True, check=True)
        return Belongings(
            threading.active_count(),
            len(list(Path("/proc/self/task").iterdir())),
            len(list(Path("/proc/self/fd").iterdir())),
            len({line.partition(":")[0] for line in listed.stdout.splitlines()}),
        )


@dataclass(frozen=True, slots=True)
class Replugged:
    """What came of it: recovered_s and noticed_s for each cycle that did recover."""

    cycles: int
    noticed_s: list[float]
    recovered_s: list[float]
    heard_again: int
    presses_repeated: int
    before: Belongings
    after: Belongings


def replug(
    server: JackServer, pedal: VirtualPedal, pull: Callable[[], None], cycles: int, patience_s: float = 2.0
) -> Replugged:
    """Pull out and plug in `cycles` times; MIDI of this process must be on that server."""
    edges: list[BoundEdge] = []
    statuses: list[InputStatus] = []
    noticed, recovered, heard, repeated = [], [], 0, 0

    def told(change: InputChange) -> list[InputStatus]:
        return [status for status in statuses if status.change is change]

    with InputHub(edges.append, statuses.append, wanted=pedal.client):
        before = Belongings.now(server)
        for cycle in range(1, cycles + 1):
            pulled_s = time.perf_counter()
            pull()
            if not wait_until(lambda n=cycle: len(told(InputChange.LOST)) == n):
                break
            noticed.append(told(InputChange.LOST)[-1].t_s - pulled_s)
            pedal.start()
            plugged_s = time.perf_counter()
            if not wait_until(lambda n=cycle: len(told(InputChange.BACK)) == n, within_s=patience_s):
                break
            recovered.append(max(0.0, told(InputChange.BACK)[-1].t_s - plugged_s))
            count = len(edges)
            for attempt in range(3):
                pedal.press()
                if wait_until(lambda n=count: len(edges) > n, within_s=0.5):
                    heard, repeated = heard + 1, repeated + attempt
                    break
                pedal.release()
        after = Belongings.now(server)
    return Replugged(cycles, noticed, recovered, heard, repeated, before, after)


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    arguments.add_argument("--cycles", type=int, default=100)
    arguments.add_argument("--json", action="store_true")
    asked = arguments.parse_args()
    server = JackServer()
    os.environ.update(server.environment)
    try:
        with VirtualPedal(server.environment) as pedal:
            came = replug(server, pedal, pedal.kill, asked.cycles)
    finally:
        server.stop()
    figures: dict[str, object] = {
        "cycles": came.cycles,
        "recovered": len(came.recovered_s),
        "heard_again": came.heard_again,
        "presses_repeated": came.presses_repeated,
        "loss_noticed": quantiles_ms(came.noticed_s),
        "live_again": quantiles_ms(came.recovered_s),
        "before": asdict(came.before),
        "after": asdict(came.after),
    }
    print(json.dumps(figures) if asked.json else "\n".join(f"{name}: {it}" for name, it in figures.items()))
    return 0 if came.heard_again == came.cycles and came.before == came.after else 1


if __name__ == "__main__":
    sys.exit(main())
