"""Takes by the dozen: a guitar, a room, two clean takes as reference, and takes with faults that are
known."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pedaltrainer.ear.expected import Expected
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import Setup, usual_shape
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.heard import expected_take
from pedaltrainer.songs.shipped import shape_book
from tests.ear.instruments import Instrument, Wave
from tests.ear.strummed import Fault, Hand, Room, faulty, strummed

DRILLS = ("C F", "Am E", "G D", "Em C", "D A", "Am F", "G C", "Dm F", "A E", "Em D")
OTHERS = ("C", "F", "Am", "E", "G", "D", "Em", "A", "Dm")
KINDS = ("late", "absent", "wrong", "finger", "dead", "muffled")
_BOOK = shape_book()


def shape_of(chord: str) -> Shape:
    return usual_shape(parse_chosen(chord), Setup(), _BOOK)


def expected_of(drill: str, tempo_bpm: float, landings: int = 8, count_in: int = 4) -> Expected:
    return expected_take(parse_drill(drill), tempo_bpm, landings, count_in, shape_of)


@dataclass(frozen=True)
class Sitting:
    """A player in a room: references, then takes. truth: the fault of each landing, and where it begins."""

    expected: Expected
    room: Room
    references: tuple[Wave, ...]
    takes: tuple[tuple[Wave, dict[int, Fault], dict[int, str], list[float]], ...]


def sitting(
    instrument: Instrument, seed: int, takes: int = 4, kinds: Sequence[str] = KINDS, rough: bool = False,
    click_db: float | None = None, share: float = 0.5, per_take: int | None = None,
) -> Sitting:  # fmt: skip
    """share: of the takes that have faults, one to three each, of these kinds; the others are clean."""
    rng = np.random.default_rng(seed)
    expected = expected_of(str(rng.choice(DRILLS)), float(rng.integers(60, 121)))
    room = Room(click_db, float(rng.uniform(20 if rough else 28, 40)), float(rng.uniform(0, 250)), rough)
    hand = Hand(instrument, rng)
    references = tuple(strummed(expected, hand, replace(room, rough=False))[0] for _ in range(2))
    others = [shape_of(chord).frets for chord in OTHERS]
    made = []
    for _ in range(takes):
        faults, named = {}, {}
        if kinds and rng.random() < share:
            for at in rng.choice(len(expected.landings), per_take or int(rng.integers(1, 4)), replace=False):
                kind = str(rng.choice(list(kinds)))
                shape = expected.landings[int(at)].shape.frets
                faults[int(at)], named[int(at)] = faulty(rng, kind, shape, others), kind
        wave, truth = strummed(expected, hand, room, faults)
        made.append((wave, faults, named, truth))
    return Sitting(expected, room, references, tuple(made))


def sittings(instrument: Instrument, seeds: Sequence[int], **asked: object) -> Iterator[Sitting]:
    for seed in seeds:
        yield sitting(instrument, seed, **asked)  # type: ignore[arg-type]
