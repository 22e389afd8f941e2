"""What a chart's header lines say: tempo, strum, key, capo, pattern, form. Pure.

Each function reads a value as players write it, and raises UnreadableError, with the mend, for any other.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from pedaltrainer.songs.bar_lines import UnreadableError
from pedaltrainer.songs.degrees import parse_key

LEAST_BPM, MOST_BPM = 10, 600
HIGHEST_CAPO = 12
STRUMS = {
    "4ths": Fraction(1, 4),
    "8ths": Fraction(1, 8),
    "triplets": Fraction(1, 12),
    "swing": Fraction(1, 12),
    "16ths": Fraction(1, 16),
}
"""The finest stroke of the strumming hand, as part of a whole note."""
ALIASES = {
    "time": "metre",
    "meter": "metre",
    "time signature": "metre",
    "bpm": "tempo",
    "speed": "tempo",
    "name": "title",
    "song": "title",
    "strumming": "pattern",
    "strumming pattern": "pattern",
    "key of": "key",
    "order": "form",
    "structure": "form",
    "feel": "strum",
}
"""Other names that headers go by."""
UNSAID = frozenset(
    {"artist", "by artist", "author", "album", "composer", "copyright", "tuning", "year", "style", "genre",
     "words", "music", "words and music", "written by", "arranger", "date", "note", "notes"}
)  # fmt: skip
"""Headers of which nothing is kept but a note."""
AS_THE_SONG = "song"
"""A gap within a section: again that of the song."""

_NOTES = {
    "1/1": Fraction(1), "1/2": Fraction(1, 2), "1/4": Fraction(1, 4), "1/8": Fraction(1, 8),
    "1/16": Fraction(1, 16),
    "3/8": Fraction(3, 8), "3/4": Fraction(3, 4), "half": Fraction(1, 2), "h": Fraction(1, 2),
    "quarter": Fraction(1, 4), "q": Fraction(1, 4), "♩": Fraction(1, 4), "eighth": Fraction(1, 8),
    "e": Fraction(1, 8), "♪": Fraction(1, 8), "dotted quarter": Fraction(3, 8), "q.": Fraction(3, 8),
    "♩.": Fraction(3, 8), "1/4.": Fraction(3, 8),
}  # fmt: skip
_TEMPO = re.compile(
    r"(?:(?P<note>[^\d=]*?|\d/\d{1,2}\.?)\s*=\s*)?(?:ca\.?\s*|~\s*)?"
    r"(?P<bpm>[0-9]{1,3}(?:\.[0-9]{1,20})?)(?:\s*bpm)?",
    re.IGNORECASE,
)
_CAPO = re.compile(
    r"(?:(?:on|at)\s+)?(?:the\s+)?(?:fret\s*)?(?:(?P<fret>\d{1,2})|(?P<roman>[IVX]{1,4}))(?:st|nd|rd|th)?(?:\s*fret)?|"
    r"(?P<none>none|no|-|off)",
    re.IGNORECASE,
)
_ROMAN = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
_STROKES = {"d": "D", "u": "U", "↓": "D", "↑": "U", "x": "x", "-": "-", "–": "-", ".": "-", "_": "-"}
MOST_STROKES = 64
BARS_A_CHORD = ("1", "2", "4", "8", "1/4", "1/2")
"""How long a chord can last where there are no bar lines."""
BARS_BY_FOOT = ("1", "2", "1/2")
"""Those that are gone round by foot."""
_UNMARKED = {
    "metre": r"(?P<value>\d{1,2} ?/ ?\d{1,2}(?: in \d{1,2})?)(?: time| feel)?",
    "tempo": r"(?P<value>[^|=:]+=\s*\d+\s*(?:bpm)?|(?:ca\.?\s*|~\s*)?[\d.]+\s*bpm)",
    "strum": r"(?P<value>swing)(?: feel)?",
    "key": r"(?P<value>[A-G][b#♭♯]? ?(?:major|minor|maj|min))",
    "": r"(?P<name>capo|key of|key|tempo|bpm|time|metre|meter)(?:\s*=\s*|\s)(?P<value>.+)",
}
"""Headers without their colon: the header, "" where its name is written, and the line."""


def unmarked(line: str) -> tuple[str, str, bool] | None:
    """The header and the value of a line that is one without a colon, "Capo 2", "6/8", "1/8 = 180", and
    whether it can be nothing else; None for any other line."""
    for header, pattern in _UNMARKED.items():
        if found := re.fullmatch(pattern, line, re.IGNORECASE):
            name = header or found["name"].lower()
            return ALIASES.get(name, name), found["value"], bool(header)
    return None


def parted(line: str, names: Iterable[str]) -> list[str]:
    """The headers of a line that has several of them: "Key: G  Capo: 2", "G major, 4/4, 120 bpm"; [] for any
    other line. names: of the headers."""
    if len(line) > _LONGEST_HEADERS:
        return []
    known = "|".join((*names, *ALIASES))
    pieces = re.split(rf"\s*[,;·•|]\s*|\s{{2,}}|\s+(?=(?:{known})\s*:)", line, flags=re.IGNORECASE)
    header = re.compile(rf"(?:{known})\s*:.*", re.IGNORECASE)
    are_headers = all(header.fullmatch(piece) or unmarked(piece) for piece in pieces)
    return pieces if len(pieces) > 1 and are_headers else []


_LONGEST_HEADERS = 200
"""Characters of a line with several."""


class Tempo(NamedTuple):
    """bpm: so many of `note` a minute; None: of the metre's beats."""

    bpm: float
    note: Fraction | None = None

    def in_beats(self, beat_unit: Fraction) -> float:
        """Beats a minute."""
        return self.bpm if self.note is None else float(Fraction(str(self.bpm)) * self.note / beat_unit)


def tempo_of(value: str) -> Tempo:
    """ "96", "96.5 bpm", "1/8 = 180", "♩ = 96"."""
    found = _TEMPO.fullmatch(value)
    word = " ".join((found["note"] or "").split()).lower() if found else ""
    word = "" if ALIASES.get(word, word) == "tempo" else word
    note = _NOTES.get(word.removesuffix(" note"))
    bpm = float(found["bpm"]) if found and (note is not None or not word) else 0.0
    if not LEAST_BPM <= bpm <= MOST_BPM:
        raise UnreadableError(
            f"the tempo “{short(value)}” is not {LEAST_BPM} to {MOST_BPM} beats a minute; "
            "write it as in tempo: 96"
        )
    return Tempo(bpm, note)


def key_of(value: str) -> str:
    """ "D", "Bm", "Bb major"."""
    key = parse_key(value)
    if key is None:
        raise UnreadableError(f"“{short(value)}” is no key; write one such as D or Bm")
    return key


def capo_of(value: str) -> int:
    """ "2", "2nd fret", "on 2", "II", "none"."""
    found = _CAPO.fullmatch(value)
    roman = (found["roman"] or "").upper() if found else "?"
    fret = int(found["fret"] or _ROMAN.index(roman)) if found and roman in _ROMAN else HIGHEST_CAPO + 1
    if fret > HIGHEST_CAPO:
        raise UnreadableError(
            f"“{short(value)}” is no fret for a capo; write 0 to {HIGHEST_CAPO}, as in capo: 2"
        )
    return fret


def pattern_of(value: str) -> str:
    """ "D - D U - U D U" as letters, one for each place of the bar; "" for "none"."""
    if value.lower() in {"", "none"}:
        return ""
    letters = value.replace(" ", "").replace("|", "")
    strokes = "".join(_STROKES.get(letter.lower(), "?") for letter in letters)
    if "?" in strokes or len(strokes) > MOST_STROKES or not set("DUx") & set(strokes):
        raise UnreadableError(
            f"“{short(value)}” is no pattern of strokes; write D, U, x or - for each place of a bar, "
            "as in pattern: D - D U - U D U"
        )
    return strokes


def pattern_words(pattern: str) -> str:
    """A pattern as a chart has it."""
    return " ".join(pattern) or "none"


def bars_a_chord(value: str) -> Fraction:
    """How many bars a chord lasts where there are no bar lines: "1", "2", "1/2"."""
    if value not in BARS_A_CHORD:
        raise UnreadableError(
            f"“{short(value)}” bars a chord cannot be read; write one of {', '.join(BARS_A_CHORD)}"
        )
    return Fraction(value)


USUAL_BPM = 100.0
USUAL_TEMPO = Tempo(USUAL_BPM)


def short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:39]}…"
