"""Chord symbols as players write them: what is one, and what only looks like one.

A symbol is a root (`A`-`G` with any `#` or `b`), a quality made of known
marks, and perhaps a slash and a bass note. The grammar accepts the marks in
common use on lead sheets (common practice, no published source); it does not
yet say which notes they stand for.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from pedaltrainer.errors import InputError

_SPELLINGS = str.maketrans({"♯": "#", "♭": "b", "𝄪": "##", "𝄫": "bb", "−": "-", "–": "-", "Ø": "ø"})
_MARKS = "|".join(
    (
        "major", "maj", "Maj", "minor", "min", "mi", "dim", "aug", "sus", "add", "alt", "omit", "no",
        "M", "m", "Δ", "△", "ø", "°", "o", r"\+", "-",
        "13", "11", "69", "6/9", "9", "7", "6", "5", "4", "3", "2",
        "#", "b", r"\(", r"\)", ",",
    )
)  # fmt: skip
_SYMBOL = re.compile(
    rf"(?P<root>[A-G](?:#{{1,2}}|b{{1,2}})?)(?P<quality>(?:{_MARKS})*?)(?:/(?P<bass>[A-G](?:#{{1,2}}|b{{1,2}})?))?"
)

_LETTER_PITCH_CLASSES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


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
    plain = text.strip().translate(_SPELLINGS)
    found = _SYMBOL.fullmatch(plain)
    if found is None:
        raise InputError(
            f"“{text}” is not a chord symbol; write a root from A to G and a quality, "
            "such as Am, F#m7 or C/G."
        )
    return ChordSymbol(found["root"], found["quality"], found["bass"])


def pitch_class(note: str) -> int:
    """The pitch class, C = 0 to B = 11, of a note name such as `F#` or `Bbb`, as parse_chord leaves them."""
    return (_LETTER_PITCH_CLASSES[note[0]] + note.count("#") - note.count("b")) % 12
