"""From a chord symbol to its notes.

The qualities are read by pychord; the spellings players use besides are first
rewritten into the ones it knows, and what it does not know at all is composed
from parts: the longest quality it can read, then one alteration after another.
Degrees are numbered on the major scale of the root (common practice).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from pychord import QualityManager

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import (
    LETTERS,
    MAJOR_SCALE,
    accidentals,
    pitch_class,
    semitones_between,
    spelt_on,
)
from pedaltrainer.neck.chords.symbols import ChordSymbol, parse_chord

# In this order; each line turns one way of writing a quality into pychord's.
_REWRITES = tuple(
    (re.compile(pattern), text)
    for pattern, text in (
        (r"omit", "no"),
        (r"6/9", "69"),
        (r"(?<=[0-9])[(,]+(?=[0-9])", "add"),  # 7(13): a seventh with an added thirteenth
        (r"\(-", "b"),
        (r"\(\+", "#"),
        (r"[(),]", ""),
        (r"major|Maj|Ma|ma(?=[0-9]|$)|M", "maj"),
        (r"minor|min|mi", "m"),
        (r"°|(?<!n)o", "dim"),
        (r"ø(9|11)", r"m\1b5"),
        (r"ø7?", "m7b5"),
        (r"[Δ△](?=[0-9])", "maj"),
        (r"[Δ△]", "maj7"),
        (r"7maj", "maj7"),
        (r"^-(?!5)", "m"),
        (r"-", "b"),
        (r"^\+(?!5)", "aug"),
        (r"\+(?=5|9|11|13)", "#"),
        (r"\+|(?<=.)aug", "#5"),
        (r"^aug(maj)?(7|9|11|13)", r"\1\2#5"),
        (r"^maj(?!7|9|11|13)", ""),
        (r"#4", "#11"),
        (r"^sus(7|9|11|13)", r"\1sus4"),
        (r"sus(24|42)", "sus2sus4"),
        (r"sus(?![24])", "sus4"),
    )
)
# What pychord cannot read and no alteration of a readable quality gives (common practice, no published
# source), and one that it reads with an eleventh nobody wrote (7b9b13).
_OTHERS = {
    "m2": "1 b3 5 9",
    "m4": "1 b3 5 11",
    "m13": "1 b3 5 b7 9 11 13",
    "maj11": "1 3 5 7 9 11",
    "mmaj9": "1 b3 5 7 9",
    "mmaj11": "1 b3 5 7 9 11",
    "mmaj13": "1 b3 5 7 9 11 13",
    "dimmaj7": "1 b3 b5 7",
    "dim9": "1 b3 b5 bb7 9",
    "7b9b13": "1 3 5 b7 b9 b13",
    "alt": "1 3 b5 #5 b7 b9 #9",
    "7alt": "1 3 b5 #5 b7 b9 #9",
}
# Of an altered chord's five free notes a hand plays some. Where the seventh is not written it may be
# missing too: the open data write `alt` for root, third and lowered fifth.
_NEEDED_OF = {"alt": "1 3 b5", "7alt": "1 3 b7 #5 #9"}
_LAST_CHANGE = re.compile(
    r"(?P<base>.*?)(?P<kind>add|no|sus|(?=[b#]))(?P<degree>[b#]?(?:13|11|9|6|5|4|3|2))$"
)


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone of a chord.

    semitones: above the root, 0 to 11. degree: on the root's major scale, such as `b3` or `#11`.
    needed: the chord is not this chord without it. All are, the root too, but the plain fifth where there
    are four tones or more, and the plain ninth and eleventh below a higher extension (common practice).
    """

    semitones: int
    degree: str
    needed: bool


@dataclass(frozen=True, slots=True)
class Spelling:
    """The notes of a chord symbol. Pitch classes: C = 0 to B = 11. The bass is the root without a slash."""

    symbol: ChordSymbol
    root_pitch_class: int
    tones: tuple[Tone, ...]
    bass_pitch_class: int

    @property
    def pitch_classes(self) -> frozenset[int]:
        """All that may sound: the tones, and the bass after a slash."""
        tones = ((self.root_pitch_class + tone.semitones) % 12 for tone in self.tones)
        return frozenset(tones) | {self.bass_pitch_class}

    @property
    def needed_pitch_classes(self) -> frozenset[int]:
        """All that must sound: the needed tones, and the bass."""
        tones = ((self.root_pitch_class + tone.semitones) % 12 for tone in self.tones if tone.needed)
        return frozenset(tones) | {self.bass_pitch_class}

    @property
    def note_names(self) -> tuple[str, ...]:
        """The tones' names in their order, spelt from the root: Ebm has Gb, C7#9 has D#."""
        return tuple(_note_name(self.symbol.root, tone.degree) for tone in self.tones)

    def degree_of(self, pitch_class: int) -> str:
        """The degree that a pitch class of the chord is; a bass from outside it is named by its interval.

        Raises ValueError for a pitch class that is not in the chord.
        """
        semitones = (pitch_class - self.root_pitch_class) % 12
        for tone in self.tones:
            if tone.semitones == semitones:
                return tone.degree
        if self.symbol.bass is not None and pitch_class % 12 == self.bass_pitch_class:
            return _degree_between(self.symbol.root, self.symbol.bass)
        raise ValueError(f"{self.symbol} has no pitch class {pitch_class}")

    def note_name_of(self, pitch_class: int) -> str:
        """The name that a pitch class has in this chord. Raises ValueError as `degree_of` does."""
        degree = self.degree_of(pitch_class)
        bass = self.symbol.bass
        if bass is not None and pitch_class % 12 == self.bass_pitch_class:
            return bass
        return _note_name(self.symbol.root, degree)


@lru_cache(maxsize=4096)
def spell(symbol: str) -> Spelling:
    """The notes of a chord symbol.

    Raises InputError when it is no chord symbol, or one whose quality stands for no notes we know.
    """
    parsed = parse_chord(symbol)
    quality = _as_pychord_writes(parsed.quality)
    degrees = _degrees(quality)
    if degrees is None:
        raise InputError(
            f"The quality “{parsed.quality}” of “{symbol}” stands for no notes known here; "
            "write it with the usual parts, such as m7b5, 7#9 or maj7."
        )
    root = pitch_class(parsed.root)
    bass = root if parsed.bass is None else pitch_class(parsed.bass)
    return Spelling(parsed, root, _tones(quality, degrees), bass)


def degree_semitones(degree: str) -> int:
    """Semitones above the root, 0 to 11, of a degree such as `b3` or `#11`."""
    number = int(degree.lstrip("b#"))
    return (MAJOR_SCALE[(number - 1) % 7] + degree.count("#") - degree.count("b")) % 12


def _as_pychord_writes(quality: str) -> str:
    for pattern, text in _REWRITES:
        quality = pattern.sub(text, quality)
    return quality


@lru_cache(maxsize=1024)
def _degrees(quality: str) -> tuple[str, ...] | None:
    """The degrees of a rewritten quality, root first; None when it cannot be read."""
    if quality in _OTHERS:
        return tuple(_OTHERS[quality].split())
    known = _library().get(quality)
    if known is not None:
        return known
    change = _LAST_CHANGE.fullmatch(quality)
    base = _degrees(change["base"]) if change else None
    if change is None or base is None:
        return None
    return _changed(base, change["kind"], change["degree"])


@lru_cache(maxsize=1)
def _library() -> dict[str, tuple[str, ...]]:
    return {name: tuple(quality.intervals) for name, quality in QualityManager().get_qualities().items()}


def _changed(degrees: tuple[str, ...], kind: str, degree: str) -> tuple[str, ...] | None:
    """Degrees after one change: a tone added, left out, put for the third, or altered."""
    number = degree.lstrip("b#")
    if kind == "no":
        left = tuple(old for old in degrees if old.lstrip("b#") != number)
        return left if 2 <= len(left) < len(degrees) and degree == number else None
    if kind == "sus":
        return (*(old for old in degrees if old not in ("3", "b3")), degree) if degree in ("2", "4") else None
    if degree in ("3", "5") or (degree != number and number in ("2", "3", "4")):
        return None
    gone = () if kind == "add" else (number,)
    return (*(old for old in degrees if old not in gone), degree)


def _tones(quality: str, degrees: tuple[str, ...]) -> tuple[Tone, ...]:
    """Tones of degrees, lowest number first; two names for one pitch (b5, #11) are one tone, the lower."""
    by_semitones: dict[int, str] = {}
    for degree in sorted(degrees, key=lambda degree: (int(degree.lstrip("b#")), degree_semitones(degree))):
        by_semitones.setdefault(degree_semitones(degree), degree)
    needed = _NEEDED_OF[quality].split() if quality in _NEEDED_OF else _needed(tuple(by_semitones.values()))
    return tuple(Tone(semitones, degree, degree in needed) for semitones, degree in by_semitones.items())


def _needed(degrees: tuple[str, ...]) -> tuple[str, ...]:
    highest = max(int(degree.lstrip("b#")) for degree in degrees)
    optional = {
        "5": len(degrees) > 3,
        "9": highest > 9,
        "11": highest > 11,
    }
    return tuple(degree for degree in degrees if not optional.get(degree, False))


def _note_name(root: str, degree: str) -> str:
    letter = LETTERS[(LETTERS.index(root[0]) + int(degree.lstrip("b#")) - 1) % 7]
    return spelt_on(letter, (pitch_class(root) + degree_semitones(degree)) % 12)


def _degree_between(root: str, note: str) -> str:
    steps = (LETTERS.index(note[0]) - LETTERS.index(root[0])) % 7
    bend = semitones_between(pitch_class(root) + MAJOR_SCALE[steps], pitch_class(note))
    return accidentals(bend) + str(steps + 1)
