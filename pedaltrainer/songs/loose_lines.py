"""Lines as players write them without bar lines: chords above words, chords among words, chords alone. Pure.

Such a line says which chords come, and not how long they last: `as_bars` makes a line of bars of it, in which
each chord has so many of them as the player says.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import Enum
from fractions import Fraction

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.songs.bar_lines import TIMES, UnreadableError, is_no_chord
from pedaltrainer.songs.degrees import looks_like_degree
from pedaltrainer.songs.heads import BARS_A_CHORD

_LASTS = {"1": "a bar", "1/2": "half a bar", "1/4": "a quarter of a bar"}
_TOLD = "Where there are no bar lines each chord lasts {lasts} (bars: says otherwise)."
_BRACKETS = re.compile(r"\[([^\[\]\s]+)\]")
_BETWEEN = re.compile(r"[\s,]+|(?<=\s)[-–—](?=\s)|[→>](?=\s)")
_TAIL = re.compile(rf"\s*(?:{TIMES})\s*$")


def bars_words(bars_a_chord: str) -> str:
    """The sentence that tells how long a chord is taken to last."""
    return _TOLD.format(lasts=_LASTS.get(bars_a_chord, f"{bars_a_chord} bars"))


def bars_told(sentence: str) -> str | None:
    """How many bars that sentence says; None for any other sentence."""
    return next((bars for bars in BARS_A_CHORD if bars_words(bars) == sentence), None)


class LineKind(Enum):
    """What a line without bar lines is."""

    CHORDS = "chords"
    AMONG_WORDS = "chords among words"
    WORDS = "words"


def is_chord(word: str, with_degrees: bool = False) -> bool:
    """Is it a chord symbol as one writes it: with a capital?"""
    if is_no_chord(word) or word == "%":
        return True
    if not word[:1].isupper():
        return with_degrees and looks_like_degree(word)
    try:
        parse_chosen(word)
    except InputError:
        return with_degrees and looks_like_degree(word)
    return True


def kind_of(line: str, with_degrees: bool = False) -> LineKind:
    """A line without bar lines: chords alone, chords in brackets among words, or words.

    A small letter is a chord's among as many with capitals. Raises UnreadableError for a line that is mostly
    chords and has something else in it: it would be lost for words.
    """
    inside = _BRACKETS.findall(line)
    if inside and all(is_chord(word) for word in inside):
        return LineKind.AMONG_WORDS
    words = [word for word in _chord_words(line) if set(word) - {"/"}]
    chords = [word for word in words if is_chord(word, with_degrees)]
    if not chords:
        return LineKind.WORDS
    others = [word for word in words if word not in chords]
    if all(is_chord(word[:1].upper() + word[1:]) for word in others) and len(chords) >= len(others):
        return LineKind.CHORDS
    if len(chords) >= 2 and len(chords) >= len(others):
        raise UnreadableError(
            f"“{others[0]}” stands among chords and is none; mend it, or write its words apart"
        )
    return LineKind.WORDS


def _chord_words(line: str) -> list[str]:
    plain = _TAIL.sub("", line).strip()
    plain = plain[1:-1] if plain.startswith("(") and plain.endswith(")") else plain
    return [word.strip("[]") for word in _BETWEEN.split(plain) if word and word not in {"-", "–", "—"}]


def chords_in(line: str) -> list[str]:
    """The chords of a line of chords, or of one with chords among words."""
    inside = _BRACKETS.findall(line)
    words = inside if inside else _chord_words(line)
    return [word for word in words if set(word) != {"/"}]


def as_bars(line: str, bars_a_chord: Fraction) -> str:
    """A line of bars with the same chords. bars_a_chord: 1, 2, 4 ..., or 1/2, 1/4: so many chords a bar."""
    chords = chords_in(line)
    tail = _TAIL.search(line)
    bars: Sequence[str]
    if bars_a_chord >= 1:
        more = ["%"] * (int(bars_a_chord) - 1)
        bars = [bar for chord in chords for bar in (chord, *more)]
    else:
        a_bar = bars_a_chord.denominator
        bars = [_filled(chords[at : at + a_bar], a_bar) for at in range(0, len(chords), a_bar)]
    return f"| {' | '.join(bars)} |{' ' + tail[0].strip() if tail else ''}"


def _filled(chords: Sequence[str], a_bar: int) -> str:
    """The last bar of a line may have fewer chords: its last one lasts."""
    return " ".join((*chords, *("/" * (a_bar - len(chords)))))
