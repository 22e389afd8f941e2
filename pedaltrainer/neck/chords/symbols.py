"""Chord symbols as players write them: what is one, and what only looks like one.

A symbol is a root (`A`-`G` with any `#` or `b`), a quality made of known
marks, and perhaps a slash and a bass note. The grammar accepts the marks in
common use on lead sheets (common practice, no published source); `spelling`
says which notes they stand for. A chord may be followed by frets chosen for it,
and by fingers: `G[320033]`, `G[x.10.12.12.11.10]`, `G[320033/210034]`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import NOTE, with_plain_signs
from pedaltrainer.neck.chords.tuning import FEWEST_STRINGS, HIGHEST_FRET, MOST_STRINGS

_MARKS = "|".join(
    (
        "major", "maj", "Maj", "ma", "Ma", "minor", "min", "mi", "dim", "aug", "sus", "add", "alt",
        "omit", "no", "M", "m", "Δ", "△", "ø", "°", "o", r"\+", "-",
        "13", "11", "69", "6/9", "9", "7", "6", "5", "4", "3", "2", "#(?=[0-9])", "b(?=[0-9])",
    )
)  # fmt: skip
_QUALITY = rf"(?:{_MARKS}|\((?:{_MARKS}|,)+\))*?"
LONGEST_SYMBOL = 32
_SYMBOL = re.compile(rf"(?P<root>{NOTE})(?P<quality>{_QUALITY})(?:/(?P<bass>{NOTE}))?")
_CHOSEN = re.compile(r"(?P<symbol>[^\[\]]+)\[(?P<frets>[^\[\]/]*)(?:/(?P<fingers>[^\[\]/]*))?\]")


@dataclass(frozen=True, slots=True)
class ChordSymbol:
    """A chord symbol in its parts: `F#m7/E` is root F#, quality m7, bass E."""

    root: str
    quality: str
    bass: str | None = None

    def __str__(self) -> str:
        return self.root + self.quality + (f"/{self.bass}" if self.bass else "")


def parse_chord(text: str) -> ChordSymbol:
    """Read one chord symbol; unicode accidentals are taken for `#` and `b`.

    Raises InputError when `text` is no chord symbol.
    """
    plain = with_plain_signs(text.strip())
    found = _SYMBOL.fullmatch(plain) if len(plain) <= LONGEST_SYMBOL else None
    if found is None:
        raise InputError(
            f"“{text}” is not a chord symbol; write a root from A to G and a quality, "
            "such as Am, F#m7 or C/G."
        )
    return ChordSymbol(found["root"], found["quality"], found["bass"])


@dataclass(frozen=True, slots=True)
class ChosenChord:
    """A chord symbol, and perhaps the frets and fingers that the player wants for it.

    frets: lowest string first, None = not played, 0 = open; None when none are chosen.
    fingers: 0 none, 1-4, 5 thumb; None when none are chosen. `parse_chosen` reads what str() writes.
    """

    symbol: ChordSymbol
    frets: tuple[int | None, ...] | None = None
    fingers: tuple[int, ...] | None = None

    def __str__(self) -> str:
        if self.frets is None:
            return str(self.symbol)
        words = ["x" if fret is None else str(fret) for fret in self.frets]
        frets = ("." if max(map(len, words)) > 1 else "").join(words)
        fingers = "" if self.fingers is None else "/" + "".join(map(str, self.fingers))
        return f"{self.symbol}[{frets}{fingers}]"


@lru_cache(maxsize=4096)
def parse_chosen(text: str) -> ChosenChord:
    """Read a chord symbol with or without chosen frets and fingers in brackets.

    Whether the frets sound the chord, and on which strings, is not asked here.
    Raises InputError when a part cannot be read, when there are not 4 to 8 frets, when no string sounds,
    or when the fingers do not fit the frets.
    """
    if "[" not in text and "]" not in text:
        return ChosenChord(parse_chord(text))
    found = _CHOSEN.fullmatch(text.strip())
    if found is None:
        raise InputError(
            f"“{text}” has brackets that cannot be read; write the frets, lowest string first, and perhaps "
            "the fingers, such as G[320033] or G[320033/210034]."
        )
    symbol = parse_chord(found["symbol"])
    frets = _read_frets(text, found["frets"])
    return ChosenChord(symbol, frets, _read_fingers(text, found["fingers"], frets))


def _read_frets(text: str, written: str) -> tuple[int | None, ...]:
    words = written.split(".") if "." in written else list(written)
    for word in words:
        if not re.fullmatch("[xX]|[0-9]{1,2}", word) or (word.isdecimal() and int(word) > HIGHEST_FRET):
            raise InputError(
                f"“{text}” has the fret “{word}”; write x or 0 to {HIGHEST_FRET}, with dots between them "
                "where one has two digits."
            )
    if not FEWEST_STRINGS <= len(words) <= MOST_STRINGS:
        raise InputError(
            f"“{text}” has {len(words)} frets; give {FEWEST_STRINGS} to {MOST_STRINGS}, one a string, "
            "with dots between them where one has two digits."
        )
    frets = tuple(int(word) if word.isdecimal() else None for word in words)
    if all(fret is None for fret in frets):
        raise InputError(f"“{text}” sounds no string; give at least one a fret, or 0 for open.")
    return frets


def _read_fingers(text: str, written: str | None, frets: tuple[int | None, ...]) -> tuple[int, ...] | None:
    if written is None:
        return None
    if not re.fullmatch("[0-5]*", written):
        raise InputError(f"“{text}” has the fingers “{written}”; write 1 to 4, 5 for the thumb, 0 for none.")
    fingers = tuple(map(int, written))
    if len(fingers) != len(frets):
        raise InputError(
            f"“{text}” has {len(frets)} frets but {len(fingers)} fingers; give one for each string."
        )
    if any(bool(fret) != bool(finger) for fret, finger in zip(frets, fingers, strict=True)):
        raise InputError(f"“{text}” must name a finger for each fretted string and 0 for the others.")
    return fingers
