"""Pedal to decision, and decision to picture, in the real application in the middle of a take.

    python -m tests.benchmarks.session_latency [--presses 1000] [--json]

The application runs in this process on a 1920x1080 virtual screen, drawing a
take in the ask style, and a virtual pedal in a process of its own taps on a
real JACK MIDI port: in such a take a tap is acknowledged and changes nothing
else, so every press meets the stage at work. Printed:

- decided: the callback's time-stamp to the session's step done and its effects carried out;
- whole way: the pedal's hand-over to the same (both processes read the same clock);
- shown: from there to the end of the frame in which the acknowledgement was presented.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.live import app
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase
from tests.benchmarks.watched import FULL_HD, Watch, meanwhile, on_a_screen, quantiles_ms, watching
from tests.devices.jack import JackServer, VirtualPedal, wait_until

DOWN_S = 0.05
UP_S = (0.36, 0.40)
"""Longer than a double tap, whose second press would be a miss; uneven, to meet the frames everywhere."""


def options(pedal: VirtualPedal, folder: Path) -> app.Options:
    """One take of a quarter of an hour: 64 landings of 16 beats."""
    return app.Options(
        settings=Settings((parse_drill("Am E", 16),), landings=64, starts_bpm=(60,)),
        desk=Desk(folder, "benchmark"),
        windowed=True,
        size=FULL_HD,
        input_wanted=pedal.client,
    )


def tap_through_a_take(watch: Watch, pedal: VirtualPedal, presses: int, sent_s: list[float]) -> None:
    """Begin a take, wait for its first landing, and tap."""
    assert watch.opened.wait(60)
    conductor = watch.conductor
    assert conductor is not None
    # The input is opened after the session: a press before that would be nobody's.
    assert wait_until(lambda: conductor.foot.input_name != "", within_s=20)
    pedal.tap()
    assert wait_until(lambda: conductor.state.phase is Phase.TAKE, within_s=20)
    begun = len(watch.decisions)
    chance = random.Random(1)
    for number in range(presses):
        sent_s.append(pedal.press())
        pedal.send(f"@{DOWN_S}", "b0 40 00", f"@{chance.uniform(*UP_S):.4f}")
        if conductor.state.phase is not Phase.TAKE:
            raise RuntimeError(f"the take ended after {number + 1} presses")
    wait_until(lambda: len(watch.decisions) >= begun + presses, within_s=2)


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--presses", type=int, default=1000)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    sent_s: list[float] = []
    server = JackServer(synchronous=True)
    os.environ.update(server.environment)
    try:
        with VirtualPedal(server.environment) as pedal, on_a_screen() as folder, watching() as watch:
            tapping = meanwhile(lambda: tap_through_a_take(watch, pedal, asked.presses, sent_s))
            app.run(options(pedal, folder))
            tapping.join(10)
    finally:
        server.stop()
    decided = watch.decisions[1:]  # the first began the take
    if len(decided) != len(sent_s) or len(sent_s) != asked.presses:
        print(f"{len(sent_s)} presses of {asked.presses} were sent, {len(decided)} decided", file=sys.stderr)
        return 1
    shown = [one for one in decided if one.shown_s]
    figures: dict[str, object] = {
        "presses": len(decided),
        "in_a_take": sum(one.phase is Phase.TAKE for one in decided),
        "decided": quantiles_ms([one.decided_s - one.stamped_s for one in decided]),
        "whole_way": quantiles_ms([one.decided_s - sent for one, sent in zip(decided, sent_s, strict=True)]),
        "presses_shown": len(shown),
        "shown": quantiles_ms([one.shown_s - one.decided_s for one in shown]),
        "frame_gap_in_the_take": quantiles_ms(watch.frames.gaps_in_takes_s()),
        "drawing": quantiles_ms(watch.frames.drawing_in_takes_s()),
    }
    print(json.dumps(figures) if asked.json else "\n".join(f"{k}: {v}" for k, v in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
