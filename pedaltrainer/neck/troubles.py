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

from pedaltrainer.neck.chords.tuning import HIGHEST_FRET
from pedaltrainer.neck.geometry import NeckSize

INDEX, MIDDLE, RING, LITTLE = 1, 2, 3, 4
FOUR_FINGERS = (INDEX, MIDDLE, RING, LITTLE)
HANG_MM = 25.0
"""From one fingertip to the next along the strings without spreading them (from memory)."""
EASY_GRIP_MM = 75.0
"""A grip no wider than this asks for no stretch of the whole hand: a finger a fret from the fifth fret on
(from memory)."""

Trouble = tuple[str, float]
"""A name from the table of costs, and how many units of it."""

_BARRE_OF = {MIDDLE: "middle barre", RING: "ring barre", LITTLE: "little barre"}


class Press(NamedTuple):
    """One finger at a fret on one string or, lying flat, on several; it then covers those between."""

    finger: int
    fret: int
    strings: tuple[int, ...]

    @property
    def flat(self) -> bool:
        return len(self.strings) > 1


class Grip(NamedTuple):
    """Frets to be held, and what of them is the same for every hold. along_mm: where a fingertip presses at
    each fret counted from the capo."""

    frets: tuple[int | None, ...]
    capo: int
    along_mm: tuple[float, ...]
    pressed: int
    has_open: bool

    @property
    def top(self) -> int:
        return len(self.frets) - 1

    def span_mm(self, low_fret: int, high_fret: int) -> float:
        return self.along_mm[high_fret] - self.along_mm[low_fret]


def grip_of(frets: tuple[int | None, ...], capo: int, neck: NeckSize) -> Grip:
    """The grip that frets counted from a capo make on a neck."""
    return Grip(frets, capo, _along_mm(capo, neck), sum(1 for fret in frets if fret), 0 in frets)


@lru_cache(maxsize=64)
def _along_mm(capo: int, neck: NeckSize) -> tuple[float, ...]:
    pressed = range(capo + 1, HIGHEST_FRET + 1)
    return (0.0, *(neck.finger_mm(0, fret)[0] for fret in pressed))


class Hold(NamedTuple):
    """A grip with the fingers on it. presses: by finger, without the thumb; thumb: over the top or None."""

    grip: Grip
    presses: tuple[Press, ...]
    thumb: Press | None


def grip_troubles(grip: Grip) -> Iterator[Trouble]:
    """The same for every hold of the same frets: no help in choosing fingers, but in choosing frets."""
    fretted = [fret for fret in grip.frets if fret]
    sounding = [string for string, fret in enumerate(grip.frets) if fret is not None]
    if sounding:
        yield "muted between", grip.frets[sounding[0] : sounding[-1]].count(None)
    if fretted:
        lowest, highest = min(fretted), max(fretted)
        yield "pressed string", len(fretted)
        yield "more strings than fingers", len(fretted) > len(FOUR_FINGERS)
        yield "wide grip", max(0.0, grip.span_mm(lowest, highest) - EASY_GRIP_MM) / 10
        yield "up the neck", max(0, lowest + grip.capo - 3)
        if grip.has_open:
            yield "open string far from the hand", max(0, lowest - 3)


def hold_troubles(hold: Hold) -> Iterator[Trouble]:
    """What one hold costs beyond its grip."""
    if hold.thumb is not None:
        yield "thumb", 1
    if hold.presses:
        yield from _of_the_hand(hold)
        yield from _of_neighbours(hold)
        if len(hold.presses) >= 3:
            yield from _of_crowded_frets(hold)
        for press in hold.presses:
            if press.flat:
                yield from _of_a_barre(press, hold)
        if hold.presses[0].finger == INDEX and hold.presses[0].flat:
            yield from _above_an_index_barre(hold)


def _of_the_hand(hold: Hold) -> Iterator[Trouble]:
    first, last = hold.presses[0], hold.presses[-1]
    if any(press.fret - first.fret != press.finger - first.finger for press in hold.presses):
        yield "off one finger a fret", 1
    if first.finger != INDEX:
        yield "idle index", 1
        if first.finger != MIDDLE:
            yield "idle index and middle", 1
    elif not first.flat and first.fret == 2 and first.strings[0] <= 1 and hold.grip.frets[0] == 0:
        yield "index below its fret", 1
    if last.finger == LITTLE and hold.grip.pressed < len(FOUR_FINGERS):
        yield "little finger spared", 1


def _of_neighbours(hold: Hold) -> Iterator[Trouble]:
    for low, high in pairwise(hold.presses):
        fingers, frets = high.finger - low.finger, high.fret - low.fret
        across = high.strings[0] - low.strings[0]
        yield "stretch", max(0.0, hold.grip.span_mm(low.fret, high.fret) - HANG_MM * fingers) / 10
        if abs(across) >= 4:
            yield "far across", 1
        if frets == 0:
            yield from _in_one_fret(low, high, alone=len(hold.presses) == 2)
        elif frets > fingers and low.finger != RING:
            yield ("middle and ring spread" if high.finger == RING and fingers == 1 else "fingers spread"), 1
        elif frets == 1 and fingers > 1 and not (low.finger == MIDDLE and across > 1):
            yield "skipped in neighbouring frets", 1


def _in_one_fret(low: Press, high: Press, alone: bool) -> Iterator[Trouble]:
    yield "skipped in one fret", high.finger - low.finger - 1
    gap = high.strings[0] - low.strings[-1]
    if gap < 0:
        yield "index and middle swapped", 1
    elif low.finger == INDEX and gap > 1:
        yield "index and another apart in one fret", 1
    elif (low.finger, high.finger) == (INDEX, MIDDLE) and not alone:
        yield "index and middle side by side", 1


def _of_crowded_frets(hold: Hold) -> Iterator[Trouble]:
    for _, fret in groupby(hold.presses, key=lambda press: press.fret):
        tips = sorted(press.strings[0] for press in fret if not press.flat)
        if len(tips) >= 3 and tips == list(range(tips[0], hold.grip.top + 1)):
            yield "three tips at the rim", 1


def _of_a_barre(barre: Press, hold: Hold) -> Iterator[Trouble]:
    first, last = barre.strings[0], barre.strings[-1]
    frets = hold.grip.frets
    yield "muted under a barre", frets[first:last].count(None)
    if frets[last + 1 : last + 2] == (0,):
        yield "open beside a barre", 1
    if barre.finger != INDEX:
        yield from _of_a_barre_not_by_the_index(barre, hold)
        return
    yield "index barre", 1
    yield "index barre string", max(0, last - first - 2)
    if hold.grip.pressed < len(FOUR_FINGERS) and len(hold.presses) > 1:
        yield "barre for three strings", 1


def _of_a_barre_not_by_the_index(barre: Press, hold: Hold) -> Iterator[Trouble]:
    first_finger = hold.presses[0]
    frets, fingers = barre.fret - first_finger.fret, barre.finger - first_finger.finger
    above, below = hold.grip.frets[barre.strings[-1] + 1 :], hold.grip.frets[: barre.strings[0]]
    yield _BARRE_OF[barre.finger], 1
    if frets == 0:
        yield "barre in the first finger's fret", 1
    if len(barre.strings) > 2 and frets != fingers:
        yield "long barre off its fret", 1
    if barre.finger == RING and frets >= 2 and (MIDDLE, barre.fret) in [press[:2] for press in hold.presses]:
        yield "middle beside a ring barre", 1
    if barre.finger == LITTLE and frets < 2:
        yield "little barre bent", 1
    if barre.finger == LITTLE and not (frets >= 3 and barre.strings[-1] == hold.grip.top):
        yield "little barre off the rim", 1
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
        if press.finger == RING and frets == 2 and press.strings == (hold.grip.top,):
            yield "ring at the rim over a barre", 1
        if press.finger == LITTLE and frets == 1:
            yield "little close to the barre", 1
        if press.finger == LITTLE and frets >= 3 and press.strings[0] < barre.strings[0]:
            yield "little far behind the barre", 1
