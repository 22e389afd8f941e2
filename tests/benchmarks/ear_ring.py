"""Which strings the ear hears ring in takes played string by string:
python -m tests.benchmarks.ear_ring --guitars kept --sittings 30 --mp3 FOLDER

Guitars as in `tests.benchmarks.ear`; of the strings a fifth are dead, half muted, or not picked at all.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np

from pedaltrainer.ear.deciding import take_of
from pedaltrainer.ear.hearing import GUARD_DB
from pedaltrainer.ear.picking import RINGS_ON_S, by_hold, strings_heard
from pedaltrainer.ear.verdicts import HeardAs, UnheardError
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.heard import expected_take
from pedaltrainer.practice.kinds import KINDS, Kind
from pedaltrainer.timing.grid import RATE
from tests.benchmarks.ear import guitars
from tests.ear.instruments import Instrument
from tests.ear.made_up import shape_of
from tests.ear.picked import FAULTS, picked
from tests.ear.strummed import Hand, Room

CHORDS = {
    "development": ("F", "C", "G", "D", "Am", "E", "Em", "A", "Dm", "Bm", "B7", "Cm", "G7", "Fm"),
    "kept": ("F", "C", "G", "D", "Am", "E", "Bb", "F#m", "Dm7", "Bm", "A7", "Gm", "Cmaj7", "E7", "Ab"),
}
VERDICTS = (HeardAs.OK, HeardAs.DEAD, HeardAs.WRONG, HeardAs.UNSURE)
CONDITIONS = {
    "headphones, standard": (None, False),
    "headphones, rough": (None, True),
    "click at -20 dB, standard": (-20.0, False),
    "click at -10 dB, rough": (-10.0, True),
    "click at +5 dB, standard": (5.0, False),
}


def said_of(
    guitar: Instrument, seed: int, chords: tuple[str, ...], click_db: float | None, rough: bool
) -> Counter:
    """(what a string was, what the ear said of it), and of the take as a whole."""
    rng, said = np.random.default_rng(seed), Counter()
    expected = expected_take(
        parse_drill(f"ring {rng.choice(list(chords))}"), KINDS[Kind.RING].slow_bpm or 60, 2, 4, shape_of
    )
    room = Room(click_db, float(rng.uniform(20 if rough else 28, 40)), float(rng.uniform(0, 250)), rough)
    alone = [number for number, one in enumerate(expected.landings) if len(one.shape.midi) == 1]
    share = rng.choice([0, 0.2, 0.4])
    faults = {number: str(rng.choice(FAULTS)) for number in alone if rng.random() < share}
    wave, _ = picked(expected, Hand(guitar, rng), room, faults)
    end_s = expected.landings[alone[-1]].at_s + RINGS_ON_S + 0.3 + room.delay_ms / 1000
    silent = {"dead", "half"} & set(faults.values())
    truth = "silent strings" if silent else "others" if faults else "all ring"
    try:
        found, strings = strings_heard(expected, wave[: round(end_s * RATE)].astype(np.float64))
    except UnheardError as trouble:
        said["take", truth, trouble.why.value] += 1
        return said
    guard = found.guard_db >= GUARD_DB
    said["take", truth, take_of(by_hold(expected, strings)).value if guard else "guard"] += 1
    for number, one in zip(alone, strings if guard else (), strict=guard):
        said["string", faults.get(number, "rings"), one.verdict.value] += 1
    return said


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--guitars", choices=("development", "kept"), default="kept")
    read.add_argument("--sittings", type=int, default=20)
    read.add_argument("--first-seed", type=int, default=1_100_000)
    read.add_argument("--mp3", type=Path)
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        played = list(guitars(asked.guitars, Path(folder), asked.mp3))
        print("guitars:", ", ".join(one.name for one in played))
        for number, (name, (click_db, rough)) in enumerate(CONDITIONS.items()):
            said: Counter = Counter()
            for place, guitar in enumerate(played):
                first = asked.first_seed + 10_000 * number + 1000 * place
                for seed in range(first, first + asked.sittings):
                    said += said_of(guitar, seed, CHORDS[asked.guitars], click_db, rough)
            print(f"\n{name}")
            for what in ("rings", *FAULTS):
                of = {verdict.value: said["string", what, verdict.value] for verdict in VERDICTS}
                if total := sum(of.values()):
                    shares = (f"{verdict} {count} ({count / total:.1%})" for verdict, count in of.items())
                    print(f"  {what:8} {total:5} ", "  ".join(shares))
            takes = sorted((" / ".join(key[1:]), count) for key, count in said.items() if key[0] == "take")
            print("  takes", dict(takes), flush=True)


if __name__ == "__main__":
    main()
