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
from pedaltrainer.songs.metre import Metre

_LASTS = {"1": "a bar", "1/2": "half a bar", "1/4": "a quarter of a bar"}
_TOLD = "Where there are no bar lines each chord lasts {lasts} (bars: says otherwise)."
_IN_BEATS = "Without bar lines {count} chords and strokes are a bar."
_BRACKETS = re.compile(r"\[\s*([^\[\]]*?)\s*\]")
_OTHER_BRACKETS = re.compile(r"[({<]([^\s\[\](){}<>]+)[)}>](?=\w)")
_AS_WORDS = re.compile(
    r"\(?\b(?:repeat|go back|back to|from the top|same as|once more|\d+ more times?)\b", re.IGNORECASE
)
_BETWEEN = re.compile(r"[\s,]+|(?<=\s)[-–—](?=\s)|[→>](?=\s)")
_TAIL = re.compile(rf"(?<!\s)\s*(?:{TIMES})\s*$")
_TAIL_AMONG = re.compile(r"(?<!\s)\s*\(?(?:[xX×]\s?\d{1,9}|\d{1,9}\s?[xX×])\)?\s*$")
"""Among words, where "4 times" is words."""
_STROKES = re.compile(r"(?<=\w)(?=//+(?:\s|$))")


def begins_with_chord(line: str) -> bool:
    """Does it begin with a chord in brackets that is no section's name: with words behind it, not chords?"""
    first, rest = _BRACKETS.match(line), _BRACKETS.sub("", line)
    chords = _BRACKETS.findall(line)
    if first is None or (len(chords) == 1 and kind_of(rest) is not LineKind.WORDS):
        return False
    # Words right behind it, and another chord behind them: it cannot be a name.
    is_no_name = len(chords) > 1 and not line[first.end() :].lstrip().startswith("[")
    return (is_no_name or is_chord(_capital(first[1]))) and kind_of(line) is LineKind.AMONG_WORDS


def has_words(line: str) -> bool:
    """Is there more than the chords in brackets?"""
    return bool(_TAIL_AMONG.sub("", _BRACKETS.sub("", line)).strip())


def looks_like_times(line: str) -> bool:
    """Words by which something may have to be played again."""
    return _TAIL.search(line) is not None or _AS_WORDS.search(line) is not None


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
    word = word.removesuffix("*")
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
    chords and has something else in it, which would be lost for words, and for one of small letters alone.
    """
    inside = _BRACKETS.findall(line)
    others = [word for word in inside if not is_chord(_capital(word))]
    if inside and not others:
        return LineKind.AMONG_WORDS
    if len(others) < len(inside):
        raise UnreadableError(f"“[{others[0]}]” stands among chords in brackets and is none; mend it")
    words = [word for word in _chord_words(line) if set(word) - {"/"}]
    are_chords = {word: is_chord(word, with_degrees) for word in set(words)}
    chords = [word for word in words if are_chords[word]]
    others = [word for word in words if not are_chords[word]]
    may_be_chords = all(is_chord(_capital(word)) for word in others)
    if not chords and may_be_chords and len(words) > 1:
        raise UnreadableError(f"“{line}” may be chords or words; begin chords with capitals")
    if chords and may_be_chords and len(chords) >= len(others):
        return LineKind.CHORDS
    if len(chords) >= 2 and len(chords) >= len(others):
        raise UnreadableError(
            f"“{others[0]}” stands among chords and is none; mend it, or write its words apart"
        )
    return LineKind.WORDS


def _capital(word: str) -> str:
    return word[:1].upper() + word[1:]


def _chord_words(line: str) -> list[str]:
    plain = _STROKES.sub(" ", _TAIL.sub("", line)).strip()
    plain = plain[1:-1] if plain.startswith("(") and plain.endswith(")") else plain
    words = [word.strip("[]") for word in _BETWEEN.split(plain) if word and word not in {"-", "–", "—"}]
    return [one for word in words for one in _joined(word)]


def _joined(word: str) -> list[str]:
    """The chords of "G-D-Em"; any other word as it is."""
    parts = re.split("[-–—>→]", word)
    return parts if len(parts) > 1 and not is_chord(word) and all(map(is_chord, parts)) else [word]


def with_square_brackets(line: str) -> str:
    """Chords in other brackets among words, as in "(G)La la (C)la", in square ones."""
    return _OTHER_BRACKETS.sub(lambda found: f"[{found[1]}]" if is_chord(found[1]) else found[0], line)


def as_bars(line: str, bars_a_chord: Fraction, metre: Metre) -> tuple[str, str]:
    """A line of bars with the same chords, and how long they are taken to last, in words.

    bars_a_chord: 1, 2, 4 ..., or 1/2, 1/4: so many chords a bar. Strokes between the chords ("G / / / D / /
    /") count beats instead. Raises UnreadableError where those do not fill their bars.
    """
    inside = _BRACKETS.findall(line) if kind_of(line) is LineKind.AMONG_WORDS else []
    words = inside or _chord_words(line)
    tail = (_TAIL_AMONG if inside else _TAIL).search(line)
    again = f" {tail[0].strip()}" if tail else ""
    a_bar = _strokes_a_bar(words, metre)
    bars: Sequence[str]
    if a_bar:
        slots = [slot for word in words for slot in (word if set(word) == {"/"} else [word])]
        bars = [" ".join(slots[at : at + a_bar]) for at in range(0, len(slots), a_bar)]
        return f"| {' | '.join(bars)} |{again}", _IN_BEATS.format(count=a_bar)
    chords = [word for word in words if set(word) != {"/"}]
    if bars_a_chord >= 1:
        more = ["%"] * (int(bars_a_chord) - 1)
        bars = [bar for chord in chords for bar in (chord, *more)]
    else:
        a_bar = bars_a_chord.denominator
        bars = [_filled(chords[at : at + a_bar], a_bar) for at in range(0, len(chords), a_bar)]
    return f"| {' | '.join(bars)} |{again}", bars_words(str(bars_a_chord))


def _strokes_a_bar(words: Sequence[str], metre: Metre) -> int:
    """How many chords and strokes make a bar; 0 where no strokes count, for one between any two chords and
    none behind the last parts them."""
    slots = "".join(word if set(word) == {"/"} else "c" for word in words)
    if "/" not in slots:
        return 0
    counts = [
        count for count in (metre.beats, metre.beats * metre.beat_unit.numerator) if not len(slots) % count
    ]
    for count in counts:
        if set(slots[::count]) == {"c"}:
            return count
    if re.fullmatch("(c/)+c", slots):
        return 0
    if not counts:
        raise UnreadableError(
            f"{len(slots)} chords and strokes do not fill bars of {metre.beats}; write bar lines between them"
        )
    return counts[0]


def _filled(chords: Sequence[str], a_bar: int) -> str:
    """The last bar of a line may have fewer chords: its last one lasts."""
    return " ".join((*chords, *("/" * (a_bar - len(chords)))))
