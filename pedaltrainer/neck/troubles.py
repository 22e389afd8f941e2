"""What a hand finds hard in one hold of some frets, counted by the names of the table of costs.

A hold is the fingers pressed, in the order of the fingers. Where a rule below says "off" or "skips", the
hand's rest is one finger a fret: index, middle, ring and little finger at four frets in a row (common
practice, no published source).
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import groupby, pairwise
from typing import NamedTuple

from pedaltrainer.neck.geometry import NeckSize

INDEX, MIDDLE, RING, LITTLE, THUMB = 1, 2, 3, 4, 5
FINGERS = (INDEX, MIDDLE, RING, LITTLE)
HANG_MM = 25.0
"""From one fingertip to the next along the strings without spreading them (from memory)."""
EASY_GRIP_MM = 75.0
"""A grip no wider than this asks for no stretch of the whole hand: a finger a fret from the fifth fret on
(from memory)."""

Trouble = tuple[str, float]
"""A name from the table of costs, and how many units of it."""


class Press(NamedTuple):
    """One finger at a fret on one string or, lying flat, on several; it then covers those between."""

    finger: int
    fret: int
    strings: tuple[int, ...]

    @property
    def flat(self) -> bool:
        return len(self.strings) > 1


class Hold(NamedTuple):
    """Frets with the fingers on them. presses: by finger, without the thumb; thumb: over the top or None."""

    frets: tuple[int | None, ...]
    presses: tuple[Press, ...]
    thumb: Press | None
    capo: int
    neck: NeckSize

    @property
    def top(self) -> int:
        return len(self.frets) - 1

    @property
    def pressed(self) -> int:
        """How many strings are pressed."""
        return sum(1 for fret in self.frets if fret)

    @property
    def has_open(self) -> bool:
        return 0 in self.frets

    def span_mm(self, low_fret: int, high_fret: int) -> float:
        """Along the strings, between fingertips at two frets counted from the capo."""
        return _span_mm(low_fret + self.capo, high_fret + self.capo, self.neck)


@lru_cache(maxsize=1 << 12)
def _span_mm(low_fret: int, high_fret: int, neck: NeckSize) -> float:
    return neck.span_mm(low_fret, high_fret)


def troubles(hold: Hold) -> Iterator[Trouble]:
    """Everything in a hold that costs."""
    yield from _whatever_the_fingers(hold)
    if hold.thumb is not None:
        yield "thumb", 1
    if hold.presses:
        yield from _of_the_hand(hold)
        yield from _of_neighbours(hold)
        yield from _of_crowded_frets(hold)
        for press in hold.presses:
            if press.flat:
                yield from _of_a_barre(press, hold)
        if hold.presses[0].finger == INDEX and hold.presses[0].flat:
            yield from _above_an_index_barre(hold)


def _whatever_the_fingers(hold: Hold) -> Iterator[Trouble]:
    """The same for every hold of the same frets: no help in choosing fingers, but in choosing frets."""
    pressed = [fret for fret in hold.frets if fret]
    sounding = [string for string, fret in enumerate(hold.frets) if fret is not None]
    if sounding:
        yield "muted between", hold.frets[sounding[0] : sounding[-1]].count(None)
    if pressed:
        lowest, highest = min(pressed), max(pressed)
        yield "pressed string", len(pressed)
        yield "more strings than fingers", len(pressed) > len(FINGERS)
        yield "wide grip", max(0.0, hold.span_mm(lowest, highest) - EASY_GRIP_MM) / 10
        yield "up the neck", max(0, lowest + hold.capo - 3)
        if hold.has_open:
            yield "open string far from the hand", max(0, lowest - 3)


def _of_the_hand(hold: Hold) -> Iterator[Trouble]:
    first, last = hold.presses[0], hold.presses[-1]
    if any(press.fret - first.fret != press.finger - first.finger for press in hold.presses):
        yield "off one finger a fret", 1
    if first.finger != INDEX:
        yield "idle index", 1
        if first.finger != MIDDLE:
            yield "idle index and middle", 1
    elif not first.flat and first.fret == 2 and first.strings[0] <= 1 and hold.frets[0] == 0:
        yield "index below its fret", 1
    if last.finger == LITTLE and hold.pressed < len(FINGERS):
        yield "little finger spared", 1


def _of_neighbours(hold: Hold) -> Iterator[Trouble]:
    for low, high in pairwise(hold.presses):
        fingers, frets = high.finger - low.finger, high.fret - low.fret
        across = high.strings[0] - low.strings[0]
        yield "stretch", max(0.0, hold.span_mm(low.fret, high.fret) - HANG_MM * fingers) / 10
        if abs(across) >= 4:
            yield "far across", 1
        if frets == 0:
            yield from _in_one_fret(low, high)
        elif frets > fingers and low.finger != RING:
            yield ("middle and ring spread" if high.finger == RING and fingers == 1 else "fingers spread"), 1
        elif frets == 1 and fingers > 1 and not (low.finger == MIDDLE and across > 1):
            yield "skipped in neighbouring frets", 1


def _in_one_fret(low: Press, high: Press) -> Iterator[Trouble]:
    yield "skipped in one fret", high.finger - low.finger - 1
    gap = high.strings[0] - low.strings[-1]
    if gap < 0:
        yield "index and middle swapped", 1
    elif low.finger == INDEX and gap > 1:
        yield "index and another apart in one fret", 1
    elif (low.finger, high.finger) == (INDEX, MIDDLE):
        yield "index and middle side by side", 1


def _of_crowded_frets(hold: Hold) -> Iterator[Trouble]:
    for _, fret in groupby(hold.presses, key=lambda press: press.fret):
        tips = sorted(press.strings[0] for press in fret if not press.flat)
        if len(tips) >= 3 and tips == list(range(tips[0], hold.top + 1)):
            yield "three tips at the rim", 1


def _of_a_barre(barre: Press, hold: Hold) -> Iterator[Trouble]:
    strings = barre.strings
    above, below = hold.frets[strings[-1] + 1 :], hold.frets[: strings[0]]
    yield "muted under a barre", hold.frets[strings[0] : strings[-1]].count(None)
    if above[:1] == (0,):
        yield "open beside a barre", 1
    if barre.finger == INDEX:
        yield "index barre", 1
        yield "index barre string", max(0, strings[-1] - strings[0] - 2)
        if hold.pressed < len(FINGERS):
            yield "barre for three strings", 1
        return
    first = hold.presses[0]
    frets, fingers = barre.fret - first.fret, barre.finger - first.finger
    yield {MIDDLE: "middle barre", RING: "ring barre", LITTLE: "little barre"}[barre.finger], 1
    if (
        barre.finger == RING
        and frets >= 2
        and any(press.finger == MIDDLE and press.fret == barre.fret for press in hold.presses)
    ):
        yield "middle beside a ring barre", 1
    if barre.finger == LITTLE and not (frets >= 3 and strings[-1] == hold.top):
        yield "little barre off the rim", 1
    if frets == 0:
        yield "barre in the first finger's fret", 1
    if barre.finger == LITTLE and frets < 2:
        yield "little barre bent", 1
    if len(strings) > 2 and frets != fingers:
        yield "long barre off its fret", 1
    if any(fret is not None for fret in above):
        yield "barre stops short", 1
    if any(fret is not None and fret > barre.fret for fret in below):
        yield "higher fret behind a barre", 1


def _above_an_index_barre(hold: Hold) -> Iterator[Trouble]:
    barre = hold.presses[0]
    for press in hold.presses[1:]:
        frets = press.fret - barre.fret
        if press.finger == RING and frets == 1:
            yield "ring close to the barre", 1
        if press.finger == RING and frets == 2 and press.strings == (hold.top,):
            yield "ring at the rim over a barre", 1
        if press.finger == LITTLE and frets == 1:
            yield "little close to the barre", 1
        if press.finger == LITTLE and frets >= 3 and press.strings[0] < barre.strings[0]:
            yield "little far behind the barre", 1
