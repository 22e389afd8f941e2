"""What the ear makes of made-up takes of a MIDI guitar: python -m tests.benchmarks.ear_notes

Thresholds were chosen with `--first-seed 1 --sittings 100`; docs/evidence/ear.md has seeds from 5000000.
"""

from __future__ import annotations

import argparse
from collections import Counter
from typing import Any

from pedaltrainer.ear.from_notes import listen_to_notes
from pedaltrainer.ear.verdicts import UnheardError
from tests.benchmarks.ear import print_table
from tests.ear.tracked import HEXAPHONIC, ONE_CHANNEL, ROUGH, STANDARD, tracked_sitting

CONDITIONS: dict[str, dict[str, Any]] = {
    "a channel a string, standard": {"rates": STANDARD, "channels": HEXAPHONIC},
    "a channel a string, rough": {"rates": ROUGH, "channels": HEXAPHONIC},
    "one channel, standard": {"rates": STANDARD, "channels": ONE_CHANNEL},
    "one channel, rough": {"rates": ROUGH, "channels": ONE_CHANNEL},
    "a channel a string, standard, files begin anywhere": {"rates": STANDARD, "same_start": False},
    "a channel a string, standard, a converter half as fast": {"rates": STANDARD, "slowest_ms": (40, 80)},
}
LATE_S = 0.070


def table(seeds: range, references: bool, **asked: Any) -> tuple[Counter, Counter, list[float]]:
    """As tests.benchmarks.ear; late by less than 70 ms, when all is told, is a kind of its own."""
    landings: Counter = Counter()
    takes: Counter = Counter()
    errors: list[float] = []
    for seed in seeds:
        one = tracked_sitting(seed, **asked)
        for notes, named, truth in one.takes:
            missed = "missed" if named else "clean"
            try:
                heard = listen_to_notes(one.expected, notes, one.references if references else ())
            except UnheardError as trouble:
                takes[missed, trouble.why.value] += 1
                continue
            takes[missed, heard.take.value] += 1
            for number, (landing, late_s) in enumerate(zip(heard.landings, truth, strict=True)):
                kind = named.get(number, "ok")
                if kind == "late" and late_s < LATE_S:
                    continue
                landings[kind, landing.verdict] += 1
                if landing.late_ms is not None and late_s == late_s:
                    errors.append(landing.late_ms - 1000 * late_s)
    return landings, takes, errors


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--sittings", type=int, default=300)
    read.add_argument("--first-seed", type=int, default=5_000_000)
    read.add_argument("--without-reference", action="store_true")
    asked = read.parse_args()
    for number, (name, condition) in enumerate(CONDITIONS.items()):
        first = asked.first_seed + 10_000 * number
        seeds = range(first, first + asked.sittings)
        print_table(name, *table(seeds, not asked.without_reference, **condition))


if __name__ == "__main__":
    main()
