"""A made-up player whose hands learn: for the four weeks of `rehearse --today`. Pure.

What holds a change back in these hands is known: each shape has a tempo at which it is landed alone, each
way between two shapes one at which it is travelled. A change is as fast as the slowest of the three, the
shapes counting for five sixths (common practice, no published source). Each gets faster with its own
landings by the power law of practice (A. Newell and P. Rosenbloom, "Mechanisms of skill acquisition and the
law of practice", 1981): the time that a landing takes falls with a power of how often it was done, down to
a rest that practice does not touch. The figures are ours, chosen so that four weeks show something.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from types import MappingProxyType

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.fingering import costs_of
from pedaltrainer.neck.gap import HALF_BEAT
from pedaltrainer.neck.moves import move
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.hands import hand_for
from pedaltrainer.practice.take import Outcome, Take

RATIO = 5 / 6
EASIEST_SHAPE_BPM, EASIEST_WAY_BPM = 120.0, 130.0
SLOWER_A_COST = 0.09
"""Each unit of a shape's or a way's cost makes it so much slower at first, in log tempo."""
LUCK = 0.12
"""How far, in log tempo, these hands differ from what the costs say."""
LEARNT, AFTER, POWER = 0.5, 250.0, 0.5
"""Half of the time of a landing can be learnt away, by the power 1/2 of (1 + landings / 250)."""
EASED = 1.15
"""A change with only the shared fingers is so much faster than the whole."""


@dataclass(frozen=True, slots=True)
class Learner:
    """landings: how often each shape and each way between two was practised, by name."""

    book: ShapeBook
    seed: int = 0
    landings: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))

    def skill_bpm(self, drill: Drill) -> float:
        """The true clean tempo of a drill today."""
        at_half_a_beat = min(self._pairs_bpm(drill))
        # What these hands need is a time in the air; how much of a beat that is the drill says.
        return at_half_a_beat * float(drill.lift / HALF_BEAT)

    def after(self, takes: Iterable[Take]) -> Learner:
        """The player after these takes; a take that was missed early has taught as many landings less."""
        landings = dict(self.landings)
        for take in takes:
            done = take.first_miss or take.landings if take.outcome is not Outcome.VOID else 0
            for name, share in _taught(take.drill):
                landings[name] = landings.get(name, 0.0) + done * share
        return replace(self, landings=MappingProxyType(landings))

    def _pairs_bpm(self, drill: Drill) -> list[float]:
        if len(drill.chords) == 1:
            return [self._learnt_bpm(drill.chords[0])]
        eased = EASED if drill.kind is Kind.SHARED else 1.0
        travels = drill.kind is not Kind.LEVEL
        return [
            eased
            * min(RATIO * min(map(self._learnt_bpm, pair)), self._learnt_bpm(*pair) if travels else math.inf)
            for pair in _ways(drill)
        ]

    def _learnt_bpm(self, *chords: str) -> float:
        practised = self.landings.get(_name(*chords), 0.0)
        time_left = 1 - LEARNT + LEARNT * math.pow(1 + practised / AFTER, -POWER)
        return self._first_bpm(*chords) / time_left

    def _first_bpm(self, *chords: str) -> float:
        shapes = [self._shape(chord) for chord in chords]
        easiest_bpm = EASIEST_SHAPE_BPM if len(shapes) == 1 else EASIEST_WAY_BPM
        cost = _cost(shapes)
        return easiest_bpm * math.exp(LUCK * _chance(self.seed, _name(*chords)) - SLOWER_A_COST * cost)

    def _shape(self, chord: str) -> Shape:
        shape = hand_for(chord, self.book).shape
        if shape is None:
            raise InputError(f"No shape is known for {chord}; a made-up player cannot play it.")
        return shape


def _ways(drill: Drill) -> list[tuple[str, str]]:
    chords = [drill.chord_at(landing) for landing in range(len(drill.chords) + 1)]
    return [(here, there) for here, there in pairwise(chords) if here != there]


def _taught(drill: Drill) -> list[tuple[str, float]]:
    """The shapes and ways that a landing of a drill practises, and how much of a landing each gets."""
    share = 1 / len(drill.chords)
    shapes = [(_name(chord), share) for chord in drill.chords]
    if len(drill.chords) == 1 or drill.kind is Kind.LEVEL:
        return shapes
    ways = _ways(drill)
    return [*shapes, *((_name(*way), 1 / len(ways)) for way in ways)]


def _name(*chords: str) -> str:
    return " ".join(sorted(chords))


def _cost(shapes: list[Shape]) -> float:
    if len(shapes) == 2:
        return move(shapes[0], shapes[1]).cost
    costs = costs_of(shapes[0].frets, shapes[0].fingers)
    return sum(costs.values()) if costs is not None else 6.0


def _chance(seed: int, name: str) -> float:
    """A number from -1 to 1 that is always the same for a seed and a name."""
    digest = hashlib.blake2b(f"{seed} {name}".encode(), digest_size=8).digest()
    return int.from_bytes(digest, "big") / 2**63 - 1
