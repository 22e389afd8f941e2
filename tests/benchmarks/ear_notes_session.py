"""Takes of a MIDI guitar that the ear answers by itself: python -m tests.benchmarks.ear_notes_session

As a session has them: one clock, a delay that is not told, tempi that move, and the first two clean takes
that were not heard as missed to hold the others to. docs/evidence/ear.md has seeds from 3000000.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np

from pedaltrainer.ear.from_notes import NotesHeard, hear_notes
from pedaltrainer.ear.verdicts import HeardTake, UnheardError
from pedaltrainer.live.by_notes import told
from pedaltrainer.live.ear import REFERENCES
from tests.benchmarks.ear_notes import LATE_S
from tests.ear.made_up import DRILLS, KINDS, OTHERS, expected_of, shape_of
from tests.ear.strummed import faulty
from tests.ear.tracked import HEXAPHONIC, ONE_CHANNEL, ROUGH, STANDARD, Played, Rates, tracked

CONDITIONS: dict[str, tuple[Rates, tuple[int, ...]]] = {
    "a channel a string, standard": (STANDARD, HEXAPHONIC),
    "one channel, standard": (STANDARD, ONE_CHANNEL),
    "a channel a string, rough": (ROUGH, HEXAPHONIC),
    "one channel, rough": (ROUGH, ONE_CHANNEL),
}
ANSWERS_FOR = {"late", "absent"}
MOST_CLEAN = 6


def said_of(seed: int, rates: Rates, channels: tuple[int, ...], takes: int = 4) -> Counter:
    """(what the take was, what the ear said) of the takes of a sitting, half of them with faults."""
    rng = np.random.default_rng(seed)
    drill, tempo_bpm = str(rng.choice(DRILLS)), float(rng.integers(60, 121))
    played, delay_s = Played(rng, rates, channels), float(rng.uniform(0, 0.25))
    others = [shape_of(chord).frets for chord in OTHERS]
    clean: list[NotesHeard] = []
    said: Counter = Counter()
    for number in range(MOST_CLEAN + takes):
        warming = len(clean) < REFERENCES
        if not warming and number < MOST_CLEAN:
            continue
        tempo_bpm = float(np.clip(tempo_bpm + rng.integers(-8, 9), 50, 140))
        expected = expected_of(drill, tempo_bpm)
        faults, named = {}, {}
        if not warming and rng.random() < 0.5:
            for at in rng.choice(len(expected.landings), int(rng.integers(1, 4)), replace=False):
                kind = str(rng.choice(list(KINDS)))
                faults[int(at)] = faulty(rng, kind, expected.landings[int(at)].shape.frets, others)
                named[int(at)] = kind
        notes, truth = tracked(expected, played, delay_s, faults)
        # Late by less, when all is told, is no fault that must be heard.
        named = {at: kind for at, kind in named.items() if kind != "late" or truth[at] >= LATE_S}
        gently = len(named) < len(faults)
        what = "warming up" if warming else _what(named, gently)
        try:
            one = hear_notes(expected, notes, clean)
        except UnheardError as trouble:
            said[what, trouble.why.value] += 1
            continue
        if warming and one.heard.take is not HeardTake.MISSED:
            clean.append(one)
        heard = told(1, one)
        said[what, "answered" if heard.is_sure else heard.take] += 1
        if heard.is_sure and heard.first_sure is not None:
            right = named.get(heard.first_sure - 1, "late by less" if gently else "ok")
            said["first answered for", right] += 1
    return said


def _what(named: dict[int, str], gently: bool) -> str:
    if ANSWERS_FOR & set(named.values()):
        return "late or not struck"
    return "other miss" if named else "late by less than 70 ms" if gently else "clean"


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--sittings", type=int, default=300)
    read.add_argument("--first-seed", type=int, default=3_000_000)
    asked = read.parse_args()
    for number, (name, (rates, channels)) in enumerate(CONDITIONS.items()):
        first = asked.first_seed + 10_000 * number
        said: Counter = Counter()
        for seed in range(first, first + asked.sittings):
            said += said_of(seed, rates, channels)
        answered = {what: n for (what, verdict), n in said.items() if verdict == "answered"}
        print(
            f"\n{name}: answers {sum(answered.values())} by itself; of clean takes {answered.get('clean', 0)}"
        )
        for what, count in sorted(said.items()):
            print("  ", *what, count)


if __name__ == "__main__":
    main()
