"""A chart's lines of bars: their words, and what one bar holds. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from enum import Enum
from fractions import Fraction
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.songs.metre import Metre
from pedaltrainer.songs.song import NO_CHORD, Mark, Slot

MOST_SLOTS_A_BEAT = 24
AS_BEFORE = "%"
"""A bar that is as the one before."""
_NO_CHORDS = frozenset({NO_CHORD, "NC", "N.C"})


class UnreadableError(Exception):
    """What is wrong and the mend, without the place: the reader of the chart adds it."""


class Line(Enum):
    """The bar lines."""

    PLAIN = "|"
    DOUBLE = "||"
    OPEN = "|:"
    CLOSE = ":|"
    CLOSE_AND_OPEN = ":|:"
    FIRST_ENDING = "|1"
    SECOND_ENDING = ":|2"


class BarLine(NamedTuple):
    """A bar line; times: how often the repeat that it closes is played."""

    line: Line
    times: int = 2


_WORD = re.compile(
    r"(?P<close_open>:\|+:)|(?P<second>:\|2(?=\s|$))|(?P<close>:\|+(?:\s*[x×]\s*(?P<times>\d+)(?=[\s|]|$))?)"
    r"|(?P<open>\|+:)|(?P<first>\|1(?=\s))|(?P<double>\|\|+)|(?P<plain>\|)|(?P<slot>[^\s|:]+)|(?P<stray>:)"
)
_LINES = {
    "close_open": Line.CLOSE_AND_OPEN,
    "second": Line.SECOND_ENDING,
    "close": Line.CLOSE,
    "open": Line.OPEN,
    "first": Line.FIRST_ENDING,
    "double": Line.DOUBLE,
    "plain": Line.PLAIN,
}


def words_of(text: str) -> Iterator[BarLine | str]:
    """The bar lines and slots of a line, in order. Raises UnreadableError at a colon that stands alone."""
    for found in _WORD.finditer(text):
        kind = str(found.lastgroup)
        if kind == "stray":
            raise UnreadableError("a colon stands alone; a repeat begins with |: and ends with :|")
        if kind == "slot":
            yield found[0]
        else:
            yield BarLine(_LINES[kind], int((found["times"] or "2")[:9]))


def read_bar(words: Sequence[str], metre: Metre) -> tuple[Slot, ...]:
    """The slots of one bar. Raises UnreadableError when they do not divide it, or one cannot be read."""
    count = len(words)
    if not divides(count, metre):
        raise UnreadableError(
            f"{count} slots do not divide {_beats(metre)} evenly; write {_some_counts(metre)} of them, "
            "with / . - or x where no chord begins"
        )
    return tuple(_slot(word, Fraction(index * metre.beats, count)) for index, word in enumerate(words))


def divides(count: int, metre: Metre) -> bool:
    """Whether so many slots make an even division: whole beats each, a part of a beat, or, where a beat has
    three parts, so many of those."""
    beats, parts = metre.beats, metre.beats * metre.beat_unit.numerator
    return parts % count == 0 or (count % beats == 0 and count // beats <= MOST_SLOTS_A_BEAT)


def slot_word(slot: Slot) -> str:
    """A slot as a chart has it."""
    return slot.chord or str(slot.mark)


def _slot(word: str, beat: Fraction) -> Slot:
    if word in set(Mark):
        return Slot(beat, mark=Mark(word))
    if word.upper() in _NO_CHORDS:
        return Slot(beat, chord=NO_CHORD)
    if word == AS_BEFORE:
        raise UnreadableError("% stands for a whole bar; write it alone between two bar lines")
    try:
        return Slot(beat, chord=str(parse_chosen(word)))
    except InputError as error:
        raise UnreadableError(str(error).rstrip(".")) from error


def _beats(metre: Metre) -> str:
    return f"the {metre.beats} beats of {metre}" if metre.beats > 1 else f"the one beat of {metre}"


def _some_counts(metre: Metre) -> str:
    most = max(8, 2 * metre.beats * metre.beat_unit.numerator)
    counts = [str(count) for count in range(1, most + 1) if divides(count, metre)]
    return f"{', '.join(counts[:-1])} or {counts[-1]}"
