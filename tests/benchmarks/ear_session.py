"""Takes that the ear answers by itself in a session: python -m tests.benchmarks.ear_session --sittings 20

On the kept guitars of `tests.benchmarks.ear`. A session holds the takes of a drill to its first two clean
ones, and asks of the ear to be sure: no click, reference, 30 dB, and a landing that surely was late, not
struck or another chord.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np

from pedaltrainer.ear.hearing import HeardTogether, hear
from pedaltrainer.ear.verdicts import HeardAs, UnheardError
from pedaltrainer.live.by_microphone import told
from tests.benchmarks.ear import guitars
from tests.ear.made_up import Sitting, sitting

CONDITIONS = {
    "headphones, standard": {"click_db": None, "rough": False},
    "headphones, rough": {"click_db": None, "rough": True},
    "click at -20 dB, standard": {"click_db": -20, "rough": False},
    "click at -10 dB, rough": {"click_db": -10, "rough": True},
    "click at +5 dB, standard": {"click_db": 5, "rough": False},
}
TRUTHS = {"late": "late or not struck", "absent": "late or not struck", "wrong": "another chord"}
ORDER = ("late or not struck", "another chord", "other miss")
TIMED, CHORD = "answered: late or not struck", "answered: another chord alone"


def said_of(one: Sitting) -> Counter:
    """(what the take was, what the ear said), of the takes of a sitting."""
    said: Counter = Counter()
    clean: list[HeardTogether] = []
    for wave in one.references:
        try:
            clean.append(hear(one.expected, wave.astype(np.float64), clean))
        except UnheardError:
            said["reference", "refused"] += 1
    for wave, _, named, _ in one.takes:
        # Late before another chord before any other miss.
        truth = min(
            (TRUTHS.get(kind, "other miss") for kind in named.values()), key=ORDER.index, default="clean"
        )
        try:
            heard = told(1, hear(one.expected, wave.astype(np.float64), clean))
        except UnheardError:
            said[truth, "refused"] += 1
            continue
        if not heard.guard:
            said[truth, "guard"] += 1
        elif heard.is_sure:
            verdicts = {told.verdict for told in heard.landings if told.sure}
            said[truth, CHORD if verdicts == {HeardAs.WRONG} else TIMED] += 1
        else:
            said[truth, heard.take] += 1
    return said


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--sittings", type=int, default=10)
    read.add_argument("--first-seed", type=int, default=700_000)
    read.add_argument("--mp3", type=Path)
    read.add_argument("--conditions", type=int, default=len(CONDITIONS), help="the first so many")
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        played = list(guitars("kept", Path(folder), asked.mp3))
        print("guitars:", ", ".join(one.name for one in played))
        for number, (name, room) in enumerate(list(CONDITIONS.items())[: asked.conditions]):
            started, said = time.perf_counter(), Counter()
            for guitar in played:
                for seed in range(asked.first_seed, asked.first_seed + asked.sittings):
                    said += said_of(sitting(guitar, seed + 1000 * number, takes=4, **room))
            print(f"\n{name}")
            for answered in (TIMED, CHORD):
                right = sum(said[truth, answered] for truth in ORDER)
                print(f"   {answered}: {right + said['clean', answered]}, of them right: {right}")
            print(f"   ({time.perf_counter() - started:.0f} s)")
            for what, count in sorted(said.items()):
                print("  ", *what, count)


if __name__ == "__main__":
    main()
