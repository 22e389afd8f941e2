"""Is a second guitar recognised, and is one by itself left alone? python -m tests.benchmarks.ear_alone

Takes as in `tests.benchmarks.ear`: alone, and with another guitar and hand beside them, as loud or up to 8 dB
softer or 3 dB louder, that plays the same drill, another one in the same beat, or another one in its own.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np

from pedaltrainer.ear.hearing import listen
from pedaltrainer.ear.verdicts import UnheardError
from tests.benchmarks.ear import CONDITIONS, guitars
from tests.ear.made_up import Sitting, sitting
from tests.ear.second_guitar import WAYS, with_second


def said_of(one: Sitting, take: np.ndarray, references: bool) -> str:
    known = [wave.astype(np.float64) for wave in one.references] if references else []
    try:
        return listen(one.expected, take.astype(np.float64), known).take.value
    except UnheardError as trouble:
        return f"refused: {trouble.why.value}"


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--guitars", choices=("development", "kept"), default="kept")
    read.add_argument("--sittings", type=int, default=6)
    read.add_argument("--first-seed", type=int, default=1_700_000)
    read.add_argument("--mp3", type=Path)
    read.add_argument("--takes", type=int, default=4)
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        played = list(guitars(asked.guitars, Path(folder), asked.mp3))
        for number, (name, room) in enumerate(list(CONDITIONS.items())[:5]):
            said: Counter = Counter()
            for place, guitar in enumerate(played):
                for seed in range(asked.first_seed, asked.first_seed + asked.sittings):
                    # Each guitar has takes of its own.
                    own = seed + 1000 * number + 100_000 * place
                    one = sitting(guitar, own, takes=asked.takes, **room)
                    rng = np.random.default_rng(own)
                    waves = {"alone": [wave for wave, *_ in one.takes]}
                    for way in WAYS:
                        other = played[int(rng.integers(len(played)))]
                        waves[way] = [with_second(rng, one, one.takes[0][0], other, way)]
                    for kind, takes in waves.items():
                        for take in takes:
                            for references in (True, False):
                                said[kind, references, said_of(one, take, references)] += 1
            print(f"\n{name}")
            for kind in ("alone", *WAYS):
                for references in (True, False):
                    of = {word: n for (one, two, word), n in said.items() if (one, two) == (kind, references)}
                    beside = "with clean takes" if references else "by itself"
                    print(
                        f"  {kind:12} {beside:16} {sum(of.values()):4}  {dict(sorted(of.items()))}",
                        flush=True,
                    )


if __name__ == "__main__":
    main()
