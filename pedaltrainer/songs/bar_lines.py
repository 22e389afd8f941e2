"""A chart's lines of bars: their words, and what one bar holds. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from enum import Enum
from fractions import Fraction
from math import gcd, lcm
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs.jumps import Sign
from pedaltrainer.songs.metre import Metre
from pedaltrainer.songs.song import NO_CHORD, Mark, Slot

MOST_SLOTS_A_BEAT = 24
AS_BEFORE = "%"
"""A bar that is as the one before."""
_LIKE_AS_BEFORE = frozenset({"./.", "⁒", "𝄎"})
AS_TWO_BEFORE = "%%"
"""Two bars that are as the two before."""
_NO_CHORDS = frozenset({"N.C.", "NC", "N.C", "NC.", "(N.C.)", "(NC)", "(N.C)"})
TIMES = (
    r"\(?(?:(?i:play)\s+)?"
    r"(?:[xX×]\s?(?P<x_times>\d{1,9})|(?P<times_x>\d{1,9})\s?(?:[xX×]|(?i:times)(?!\w)))\)?"
)
"""How often something is played: x2, (x2), 2x, (play 2 times)."""
BAR_SIGNS = str.maketrans(dict.fromkeys("┃│｜¦∣𝄀", "|") | dict.fromkeys("║‖𝄁", "||") | {"𝄆": "|:", "𝄇": ":|"})
"""Other signs for a bar line."""


class UnreadableError(Exception):
    """What is wrong and the mend, without the place: the reader of the chart adds it."""


class Line(Enum):
    """The bar lines, and what stands with them."""

    PLAIN = "|"
    DOUBLE = "||"
    OPEN = "|:"
    CLOSE = ":|"
    CLOSE_AND_OPEN = ":|:"
    ENDING = "|1"
    NEXT_ENDING = ":|2"
    AGAIN = "x2"
    """After a line: all of it so often."""


class BarLine(NamedTuple):
    """A bar line. times: how often what it closes is played, where that is said. rounds: of an ending that
    begins."""

    line: Line
    times: int | None = None
    rounds: frozenset[int] = frozenset()


class SignWord(NamedTuple):
    """A sign among the bars: D.C., Fine, Coda."""

    sign: Sign


_NUMBERS = r"\d(?:st|nd|rd|th)?(?:\s?(?:[-,&+]|\.[,/]?)\s?\d(?:st|nd|rd|th)?)*(?:\s+(?:time|ending))?"
_ENDING = (
    rf"\s*\[{_NUMBERS}[.):]?\]?(?=[\s|]|$)|\s*\(?{_NUMBERS}(?:\.\)?|\)|:)(?=\s|$)|{_NUMBERS}(?=\s|$)"
    r"|\s*\d(?:st|nd|rd|th)\s+(?:time|ending)(?=\s|$)"
)
_SIGNS: Mapping[str, str] = {
    Sign.AL_CODA: r"al\s+(?:coda\b|[⊕𝄌])",
    Sign.AL_FINE: r"(?:al|to)\s+fine",
    Sign.TO_CODA: r"to\s+(?:coda(?:\s*[⊕𝄌])?|[⊕𝄌])",
    Sign.DA_CAPO: r"(?:d\.\s?c\.?|dc\.?)(?=\s|$|\||\))|da\s+capo",
    Sign.DAL_SEGNO: r"(?:d\.\s?s\.?|ds\.?)(?=\s|$|\||\))|dal\s+segno",
    Sign.FINE: "fine",
    Sign.SEGNO: r"segno|𝄋",
    Sign.CODA: r"coda(?:\s*[⊕𝄌])?|[⊕𝄌]\s*coda",
    Sign.CODA_SIGN: r"[⊕𝄌]",
}
_BEFORE_AL = re.compile(r"\b(d)\.? ?([cs])(?:\.\s*|\s+)(?=al\s+(?:(?:fine|coda)\b|[⊕𝄌]))", re.IGNORECASE)
"""Only before these words is `D C` no two chords."""
_NO_SIGN = re.compile(r"\bal\s+segno\b", re.IGNORECASE)
_SIGN = re.compile(
    "|".join(rf"(?P<{name.replace(' ', '_')}>(?<![\w#]){words}(?!\w))" for name, words in _SIGNS.items()),
    re.IGNORECASE,
)
_IN_BRACKETS = re.compile("[(\\[]\\s*((?:\ue000\\d\\s*)+)[)\\]]")
_WORD = re.compile(
    r"(?P<sign>\ue000\d)"
    r"|(?P<close_open>:\|+:)"
    rf"|(?P<close>:\s*\|+)(?:\s*(?:{TIMES})(?=[\s|]|$)|(?P<next>{_ENDING}))?"
    rf"|(?P<open>\|+\s*:(?!\|))|(?P<ending>\|(?:{_ENDING}))|(?P<double>\|\|+)|(?P<plain>\|)"
    rf"|(?P<again>(?:{TIMES.replace('x_times', 'x_again').replace('times_x', 'again_x')})(?=\s|$|\|))"
    r"|(?P<slot>\{[^\s|:{}]+\}|[^\s|:]+(?::\d+(?:/\d+)?(?=[\s|]|$))?)|(?P<stray>:)"
)
_LINES = {
    "close_open": Line.CLOSE_AND_OPEN,
    "open": Line.OPEN,
    "double": Line.DOUBLE,
    "plain": Line.PLAIN,
}
_ORDER = tuple(Sign)


def signs_in(text: str) -> list[Sign]:
    """The signs of a line that has nothing else; empty when it has."""
    marked = _marked(text)
    return (
        [_ORDER[int(one)] for one in re.findall("\ue000(\\d)", marked)]
        if not re.sub("\ue000\\d|[\\s().*_=~<>-]", "", marked)
        else []
    )


def _marked(text: str) -> str:
    """The text with every sign as one word."""
    text = _NO_SIGN.sub(" ", _BEFORE_AL.sub(r"\1.\2. ", text))

    def one(found: re.Match[str]) -> str:
        return f" \ue000{_ORDER.index(Sign(str(found.lastgroup).replace('_', ' ')))} "

    return _IN_BRACKETS.sub(r" \1 ", _SIGN.sub(one, text))


def words_of(text: str) -> Iterator[BarLine | SignWord | str]:
    """The bar lines, signs and slots of a line. Raises UnreadableError at a colon that stands alone."""
    for found in _WORD.finditer(_marked(text)):
        kind = next(name for name in _KINDS if found[name] is not None)
        if kind == "stray":
            raise UnreadableError("a colon stands alone; a repeat begins with |: and ends with :|")
        if kind == "slot":
            yield AS_BEFORE if found[0] in _LIKE_AS_BEFORE else found[0]
        elif kind == "sign":
            yield SignWord(_ORDER[int(found[0][1:])])
        elif kind == "close" and found["next"] is not None:
            yield BarLine(Line.NEXT_ENDING, rounds=_rounds(found["next"]))
        elif kind == "close":
            times = found["x_times"] or found["times_x"]
            yield BarLine(Line.CLOSE, None if times is None else int(times))
        elif kind == "ending":
            yield BarLine(Line.ENDING, rounds=_rounds(found[0]))
        elif kind == "again":
            yield BarLine(Line.AGAIN, int(found["x_again"] or found["again_x"]))
        else:
            yield BarLine(_LINES[kind])


_KINDS = ("sign", "close_open", "close", "open", "ending", "double", "plain", "again", "slot", "stray")


def _rounds(text: str) -> frozenset[int]:
    numbers = [int(one) for one in re.findall(r"\d", text)]
    is_span = re.search(r"\d(?:st|nd|rd|th)?\s?-\s?\d", text) is not None
    return frozenset(range(numbers[0], numbers[-1] + 1) if is_span else numbers)


def times_of(text: str) -> int | None:
    """How often "x2", "(x2)" or "2x" says that something is played; None for anything else."""
    found = re.fullmatch(TIMES, text.strip())
    return int(found["x_times"] or found["times_x"]) if found else None


def is_no_chord(word: str) -> bool:
    return word.upper() in _NO_CHORDS


def read_bar(words: Sequence[str], metre: Metre) -> tuple[Slot, ...]:
    """The slots of one bar. Raises UnreadableError when they do not divide it, or one cannot be read."""
    words = _even(words, metre)
    count = len(words)
    if not divides(count, metre):
        raise UnreadableError(
            f"{count} slots do not divide {_beats(metre)} evenly; write {_some_counts(metre)} of them, "
            "with / . - or x where no chord begins"
        )
    return tuple(_slot(word, Fraction(index * metre.beats, count)) for index, word in enumerate(words))


def _even(words: Sequence[str], metre: Metre) -> Sequence[str]:
    """Slots with lengths of their own ("G:2 D") as even ones: what has no length shares what is left."""
    given = [_LENGTH.fullmatch(word) for word in words]
    if not any(given):
        return words
    lengths = [Fraction(found["beats"]) if found else None for found in given]
    left = metre.beats - sum((length for length in lengths if length is not None), Fraction(0))
    open_ended = lengths.count(None)
    if left < 0 or (left == 0) != (open_ended == 0) or any(length == 0 for length in lengths):
        raise UnreadableError(
            f"the lengths in “{' '.join(words)}” do not make {_beats(metre)}; let them add up, as in G:2 D:2"
        )
    each = [left / open_ended if length is None else length for length in lengths]
    step = Fraction(1, lcm(*(length.denominator for length in each)))
    step = gcd(*(int(length / step) for length in each)) * step
    even: list[str] = []
    for word, found, length in zip(words, given, each, strict=True):
        even += [found["chord"] if found else word, *(["/"] * (int(length / step) - 1))]
    return even


_LENGTH = re.compile(r"(?P<chord>.+):(?P<beats>\d{1,2}(?:/[1-9]\d?)?)")


def divides(count: int, metre: Metre) -> bool:
    """Whether so many slots make an even division: whole beats each, a part of a beat, or, where a beat has
    three parts, so many of those."""
    beats, parts = metre.beats, metre.beats * metre.beat_unit.numerator
    return parts % count == 0 or (count % beats == 0 and count // beats <= MOST_SLOTS_A_BEAT)


def slot_word(slot: Slot) -> str:
    """A slot as a chart has it."""
    gap = f"({slot.gap})" if slot.gap is not None else ""
    return f"{slot.chord}{gap}" if slot.chord else str(slot.mark)


GAPPED = re.compile(rf"(?P<chord>.+)\((?P<gap>{'|'.join(Gap)})\)")
"""A chord, and how the hand goes through the gap before it."""


def _slot(word: str, beat: Fraction) -> Slot:
    if gapped := GAPPED.fullmatch(word):
        return replace(_slot(gapped["chord"], beat), gap=Gap(gapped["gap"]))
    if word in set(Mark):
        return Slot(beat, mark=Mark(word))
    if is_no_chord(word):
        return Slot(beat, chord=NO_CHORD)
    if word in {AS_BEFORE, AS_TWO_BEFORE}:
        raise UnreadableError(f"{word} stands for whole bars; write it alone between two bar lines")
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
