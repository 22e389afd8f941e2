"""The kinds of drill, a row each: what a landing is, what the stage shows in each beat, what is measured.

A new kind is a row here, with its words, and nothing elsewhere: tests/live/test_kinds_of_drill.py plays it.
The names stand in the log: none may be changed, none left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple


class Kind(StrEnum):
    CHANGE = "change"
    RE_LAND = "re-land"
    PRESSURE = "pressure"
    LEVEL = "level"
    SHARED = "shared"
    PASSAGE = "passage"
    LOOP = "loop"
    SHUFFLED = "shuffled"
    AIR = "air"
    BASS = "bass"
    PUSH = "push"
    SLIDE = "slide"
    TRAVEL = "travel"
    RING = "ring"
    LEAD = "lead"
    EASE = "ease"
    PICKED = "picked"
    OWN = "own"
    """One of the player's own: its name and its row stand in the drill."""


SLOW_BPM = 50
"""Where slow work begins: time to feel each stage (common practice, no published source)."""
HIGHEST_BARRE = 8
"""Where a barre is eased in: the strings are lower there, and the frets nearer (common practice, no published
source)."""
MOST_IN_TURN = 8
ANY_NUMBER = 1000


class HandStage(NamedTuple):
    """What the hand does in a beat. word: as it stands large. says: in a line; {chord} and {next} are the
    chords, {height} the millimetres that the fingers come off the strings, {finger} the one whose string
    sounds first, {step} the step that the drill has come to."""

    word: str
    says: str


@dataclass(frozen=True, slots=True)
class KindRow:
    """What makes a kind of drill.

    chords: the fewest and the most. example: such chords. title: what follows the chords in a drill's name.
    what: what is played. miss: what an answer says went wrong. in_order: it matters which chord comes first.
    stages: what the hand does in each beat from a landing to the next; the cycle is as long. beats: from one
    landing to the next, where a drill says nothing else and has no stages. early: how much before its beat
    each landing but the first falls. rounds: a take plays the chords through to their end. gaps: the hand's
    way through the gap can be chosen. slow_bpm: the tempo at which it stays, since nothing is measured; None
    where the clean tempo is. drawn_anew: the order of its chords is, in every round. steps: what it gets
    harder by, in words; two clean takes in a row lead to the next, two missed ones back (`steps`). landings:
    of a take, where they are not the player's to choose. by_string: each string of the shape is picked,
    a beat each from the lowest, then all are strummed, and a press in a take says which did not ring. picks:
    the usual order of the strings that are picked a beat each, "b" the bass of the chord, 1 the highest.
    smaller: it is a piece of a change, or of a shape, rather than another way to play the whole.
    """

    chords: tuple[int, int]
    example: str
    title: str
    what: str
    miss: str = "late, wrong or not clean"
    in_order: bool = False
    stages: tuple[HandStage, ...] = ()
    beats: int = 1
    early: Fraction = Fraction(0)
    rounds: bool = False
    gaps: bool = True
    slow_bpm: int | None = None
    drawn_anew: bool = False
    steps: tuple[str, ...] = ()
    landings: int | None = None
    by_string: bool = False
    picks: str = ""
    smaller: bool = False

    @property
    def cycle(self) -> int:
        """Beats from one landing to the next, where the drill does not say."""
        return len(self.stages) or len(self.picks) or self.beats

    @property
    def is_parted(self) -> bool:
        """Has each beat something of its own to do? Then a landing lasts as long as that."""
        return bool(self.stages or self.picks or self.by_string)

    @property
    def measures_nothing(self) -> bool:
        """Has it no clean tempo? Then there is only how much was played."""
        return self.slow_bpm is not None

    @property
    def gives_way(self) -> bool:
        """Does slow work become slower after a miss? Not where something else gives way or is looked for."""
        return not (self.steps or self.by_string)


KINDS: Mapping[Kind, KindRow] = {
    Kind.CHANGE: KindRow((2, 2), "C F", "", "two chords in turn"),
    Kind.RE_LAND: KindRow((1, 1), "F", "landed again", "one shape lifted clear and put down again"),
    Kind.PRESSURE: KindRow(
        (1, 1),
        "F",
        "in four stages",
        "one shape in four slow stages: ring, unload, clear, meet",
        "fingers that leave or arrive apart",
        stages=(
            HandStage("ring", "Let it ring"),
            HandStage("unload", "Stop pressing, stay in touch"),
            HandStage("clear", "Off the strings: about {height} mm"),
            HandStage("meet", "Touch all strings at once, no pressure"),
        ),
        gaps=False,
        slow_bpm=SLOW_BPM,
        smaller=True,
    ),
    Kind.LEVEL: KindRow(
        (2, 2),
        "F Cm",
        "in one place",
        "the change with the second shape moved along the neck to where the first one is",
        in_order=True,
        smaller=True,
    ),
    Kind.SHARED: KindRow(
        (2, 2),
        "C Am",
        "shared fingers",
        "the change with only the fingers that both shapes share; +1 adds one",
        smaller=True,
    ),
    Kind.PASSAGE: KindRow(
        (2, ANY_NUMBER),
        "Am:2 G F:3",
        "in rhythm",
        "a run of chords from a song, in its rhythm",
        in_order=True,
        rounds=True,
    ),
    Kind.LOOP: KindRow(
        (3, MOST_IN_TURN),
        "C Am F G",
        "in turn",
        "three to eight chords in turn",
        "late, wrong or not clean: the change that was just made",
        in_order=True,
        rounds=True,
    ),
    Kind.SHUFFLED: KindRow(
        (3, MOST_IN_TURN),
        "C Am F G",
        "in any order",
        "three to eight chords in an order that is drawn anew each round, the next one shown a chord ahead",
        "late, wrong or not clean: the change that was just made",
        rounds=True,
        drawn_anew=True,
    ),
    Kind.AIR: KindRow(
        (1, 2),
        "F",
        "formed in the air",
        "formed above the strings for two beats, landed on the third, strummed on the fourth",
        "fingers that arrive apart",
        stages=(
            HandStage("land", "{chord}: all fingers at once"),
            HandStage("strum", "{chord}: strum"),
            HandStage("form", "Off: form {next} in the air"),
            HandStage("wait", "Hold it above the strings"),
        ),
        gaps=False,
    ),
    Kind.BASS: KindRow(
        (1, 2),
        "C G",
        "bass, then strum",
        "the bass on the landing, the other strings on the next beat",
        "a bass or a strum that is not clean",
        stages=(HandStage("pluck", "{chord}: the bass alone"), HandStage("strum", "{chord}: strum")),
        gaps=False,
    ),
    Kind.PUSH: KindRow(
        (2, 2),
        "C G",
        "pushed",
        "landed on the and of four and held over the bar line",
        "on the line in place of before it",
        beats=4,
        early=Fraction(1, 2),
    ),
    Kind.SLIDE: KindRow(
        (2, 2),
        "E5 G5",
        "sliding",
        "the fingers keep touching the strings all the way along the neck",
        "contact lost, or another string heard",
        gaps=False,
    ),
    Kind.TRAVEL: KindRow(
        (2, 2),
        "C G",
        "slow travel",
        "four beats of even travel from one shape to the other, at 40",
        "a hand that waits and then jumps",
        stages=(
            HandStage("leave", "{chord}, then leave"),
            HandStage("travel", "On the way to {next}, evenly"),
            HandStage("travel", "On the way to {next}, evenly"),
            HandStage("arrive", "Arrive at {next}, without pressure"),
        ),
        gaps=False,
        slow_bpm=40,
        smaller=True,
    ),
    Kind.RING: KindRow(
        (1, 1),
        "F",
        "string by string",
        "every string of one shape picked, a beat each from the lowest, then all strummed; a press says that "
        "the string which was just picked did not ring",
        "a string that does not ring",
        beats=8,
        gaps=False,
        slow_bpm=60,
        landings=2,
        by_string=True,
        smaller=True,
    ),
    Kind.LEAD: KindRow(
        (1, 2),
        "C G",
        "one finger leads",
        "the finger whose string sounds first lands on the beat, the others a beat, then half a beat, then a "
        "quarter of a beat later, at last with it: two clean takes make it shorter",
        "a finger that comes before its moment or after it",
        stages=(
            HandStage("lead", "{chord}: {finger}, the rest {step}"),
            HandStage("down", "{chord}: all fingers down"),
            HandStage("strum", "{chord}: strum"),
            HandStage("leave", "Off, and on to {next}"),
        ),
        gaps=False,
        slow_bpm=60,
        steps=("a beat later", "half a beat later", "a quarter beat later", "with it"),
        landings=4,
        smaller=True,
    ),
    Kind.EASE: KindRow(
        (1, 1),
        "F",
        "down the neck",
        "a barred shape landed where it is easiest, at the eighth fret, then a fret lower after every two "
        "clean takes, down to the first",
        "a string under the barre that does not ring",
        stages=(
            HandStage("land", "{chord} at {step}: the whole barre at once"),
            HandStage("strum", "Strum: does every string ring?"),
            HandStage("soften", "Stop pressing, let the thumb go soft"),
            HandStage("off", "Off the strings, the hand loose"),
        ),
        gaps=False,
        slow_bpm=60,
        steps=tuple(f"fret {fret}" for fret in range(HIGHEST_BARRE, 0, -1)),
        landings=4,
        smaller=True,
    ),
    Kind.PICKED: KindRow(
        (1, 2),
        "C G",
        "picked",
        "the strings picked one a beat, the bass of the chord first: the landing is the beat of the bass, "
        "every other finger has until its own string sounds",
        "a string that is not clean when its turn comes",
        gaps=False,
        picks="b321",
    ),
}
