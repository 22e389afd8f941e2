"""Takes that the ear answers by itself in a session: python -m tests.benchmarks.ear_session --sittings 20

On the kept guitars of `tests.benchmarks.ear`. A session holds the takes of a drill to its first two clean
ones, and asks of the ear to be sure: no click, reference, 30 dB, and a landing that was late or not
struck.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np

from pedaltrainer.ear.hearing import HeardTogether, hear
from pedaltrainer.ear.verdicts import UnheardError
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
ANSWERS_FOR = {"late", "absent"}


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
        truth = (
            "late or not struck" if ANSWERS_FOR & set(named.values()) else "other miss" if named else "clean"
        )
        try:
            heard = told(1, hear(one.expected, wave.astype(np.float64), clean))
        except UnheardError:
            said[truth, "refused"] += 1
            continue
        if not heard.guard:
            said[truth, "guard"] += 1
        else:
            said[truth, "answered" if heard.is_sure else heard.take] += 1
    return said


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--sittings", type=int, default=10)
    read.add_argument("--first-seed", type=int, default=700_000)
    read.add_argument("--mp3", type=Path)
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        played = list(guitars("kept", Path(folder), asked.mp3))
        print("guitars:", ", ".join(one.name for one in played))
        for number, (name, room) in enumerate(CONDITIONS.items()):
            started, said = time.perf_counter(), Counter()
            for guitar in played:
                for seed in range(asked.first_seed, asked.first_seed + asked.sittings):
                    said += said_of(sitting(guitar, seed + 1000 * number, takes=4, **room))
            right = said["late or not struck", "answered"] + said["other miss", "answered"]
            print(f"\n{name}: answers {right + said['clean', 'answered']} by itself, {right} of them right")
            print(f"   ({time.perf_counter() - started:.0f} s)")
            for what, count in sorted(said.items()):
                print("  ", *what, count)


if __name__ == "__main__":
    main()
