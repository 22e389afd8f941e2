"""Three takes through the disk driver of SDL, a bit-exact microphone: see `test_ear_with_a_microphone.py`.

    python -m tests.devices.microphone_evening FOLDER

Prints what came of it as JSON. A sound device is chosen before SDL starts: it needs a process of its own.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import time
from pathlib import Path

import numpy as np

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.ear import Ear
from pedaltrainer.live.options import Options
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.session.events import EarHeard, Given
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.microphone import Microphone
from pedaltrainer.timing.stream import SilentStream
from tests.ear.instruments import steel_guitar
from tests.ear.made_up import expected_of
from tests.ear.strummed import Fault, Hand, Room, strummed

TEMPO_BPM, LANDINGS, FIRST_S, PAUSE_S = 120, 6, 2.0, 3.2
FRAMES = 2400
"""The disk driver waits whole milliseconds for each block, and a little more: for these 50."""
LATE = {3: Fault(late_ms=130)}
TAKES: tuple[tuple[int, dict[int, Fault]], ...] = ((4, {}), (2, {}), (2, LATE))
"""Beats of count-in, and what goes wrong. A count-in is shorter after a drill's first take."""


def main(folder: Path) -> None:
    starts_s, sound = _evening(folder)
    (folder / "microphone.raw").write_bytes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    os.environ |= {
        "SDL_AUDIODRIVER": "disk", "SDL_DISKAUDIOFILE": os.devnull,
        "SDL_DISKAUDIOFILEIN": str(folder / "microphone.raw"),
    }  # fmt: skip
    drill = parse_drill("C F")
    settings = Settings(
        (drill,), ladder="hold", starts_bpm=(TEMPO_BPM,), start_named=True, landings=LANDINGS, minutes=9,
        ear=True, ear_answers=True,
    )  # fmt: skip
    said: queue.SimpleQueue[EarHeard] = queue.SimpleQueue()
    with Log.open(folder) as log:
        stream = SilentStream()
        opened_s = time.perf_counter()
        ear = Ear(Microphone(frames=FRAMES), shape_book(), said.put)  # type: ignore[arg-type]
        at_s = stream.heard_s(opened_s)
        options = Options(settings, Desk(folder, "Robin"))
        conductor = Conductor(begin(settings), stream, open_book(log, options, at_s), ear=ear)  # type: ignore[arg-type]
        conductor.open(opened_s)
        conductor._happen(Given(at_s, at_s, opened_s, Control.NEXT, "foot"))
        told, verdict_s, cpu = [], [], (time.process_time(), time.perf_counter())
        for start_s in starts_s:
            wanted_s = at_s + start_s
            if conductor.state.phase is Phase.READY:
                _say(conductor, wanted_s - settings.lead_s)
            else:
                # Answered so that the next count-in begins where the microphone has it.
                if conductor.state.phase is Phase.ASKING:
                    _say(conductor, wanted_s - settings.lead_s - settings.breath_s)
                _reach(conductor, wanted_s - settings.lead_s)
            run = conductor.state.run
            assert run is not None, conductor.state.phase
            assert abs(run.start_s - wanted_s) < 0.002, (run.start_s, wanted_s)
            while conductor.state.phase in {Phase.COUNT_IN, Phase.TAKE}:
                conductor.advance(time.perf_counter())
                time.sleep(0.005)
            heard = said.get(timeout=10)
            verdict_s.append(stream.heard_s(time.perf_counter()) - run.last_landing_s)
            conductor.told_by_ear(heard, time.perf_counter())
            told.append(heard)
        used = (time.process_time() - cpu[0]) / (time.perf_counter() - cpu[1])
        conductor.finish()
        ear.close()
        rows = log.takes(player="Robin")
    print(
        json.dumps(
            {
                "takes": [one.take for one in told],
                "landings": [[landing.verdict for landing in one.landings] for one in told],
                "judges": [(row.judge, row.outcome) for row in rows],
                "verdict_s": [round(one, 3) for one in verdict_s],
                "share_of_a_core": round(used, 4),
                "trouble": ear.trouble,
            }
        )
    )


def _evening(folder: Path) -> tuple[list[float], np.ndarray]:
    """When each take is counted in, in seconds after the microphone was opened, and what it hears."""
    hand, room = Hand(steel_guitar(folder), np.random.default_rng(8)), Room(noise_db=40, delay_ms=0)
    starts_s, waves, at_s = [], [], FIRST_S
    for count_in, faults in TAKES:
        expected = expected_of("C F", TEMPO_BPM, LANDINGS, count_in)
        wave, _ = strummed(expected, hand, room, faults)
        starts_s.append(at_s)
        waves.append(wave)
        at_s += (count_in + LANDINGS) * 60 / TEMPO_BPM + PAUSE_S
    sound = np.random.default_rng(1).normal(0, 2e-4, round((at_s + 5) * RATE))
    for start_s, wave in zip(starts_s, waves, strict=True):
        first = round(start_s * RATE)
        sound[first : first + len(wave)] += wave
    return starts_s, sound


def _say(conductor: Conductor, heard_s: float) -> None:
    """Yes, at a heard second, once it has come."""
    _reach(conductor, heard_s)
    conductor._happen(Given(heard_s, heard_s, conductor.stream.t_s(heard_s), Control.PASS_, "foot"))


def _reach(conductor: Conductor, heard_s: float) -> None:
    """Let time come to a heard second, with what is due until then."""
    wait_s = conductor.stream.t_s(heard_s) - time.perf_counter()
    assert wait_s > -0.05, f"too late by {-wait_s:.3f} s"
    time.sleep(max(0.0, wait_s))
    conductor.advance(conductor.stream.t_s(heard_s) + 1e-4)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
