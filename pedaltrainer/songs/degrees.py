"""Chords by their place in the key: `1 4 5 6m`, or I IV V vi. Pure.

In a major key the places are those of the major scale, in a minor key those of the natural minor one; a small
Roman numeral is a minor chord (common practice, no published source).
"""

from __future__ import annotations

import re

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import MAJOR_SCALE, NOTE, note_name, pitch_class, with_plain_signs
from pedaltrainer.neck.chords.symbols import parse_chord

MINOR_SCALE = (0, 2, 3, 5, 7, 8, 10)
_ROMAN = {"I": 1, "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7}
_DEGREE = re.compile(
    r"(?P<sign>[b#]?)(?:(?P<number>[1-7])|(?P<roman>VII|VI|IV|V|III|II|I|vii|vi|iv|v|iii|ii|i))"
    r"(?P<quality>[^/]*)(?:/(?P<bass_sign>[b#]?)(?P<bass>[1-7]))?"
)
_KEY = re.compile(rf"(?P<tonic>{NOTE})\s*(?P<mode>m|min|minor|-|major|maj)?", re.IGNORECASE)
_FLAT_KEYS = frozenset({"F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb", "Dm", "Gm", "Cm", "Fm", "Bbm", "Ebm"})
_FLATS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
_SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def parse_key(text: str) -> str | None:
    """A key as it is written in a chart, "D" or "Bm", from "D", "d minor", "Bb major"; None for no key."""
    plain = with_plain_signs(text.strip())
    found = _KEY.fullmatch(plain[:1].upper() + plain[1:])
    if found is None:
        return None
    mode = found["mode"] or ""
    is_minor = mode in {"m", "-"} or mode.lower() in {"min", "minor"}
    return found["tonic"] + ("m" if is_minor else "")


def looks_like_degree(word: str) -> bool:
    """Is it written as a place in the key?"""
    found = _DEGREE.fullmatch(with_plain_signs(word))
    if found is None:
        return False
    try:
        parse_chord(f"C{found['quality']}")
    except InputError:
        return False
    return True


def chord_at(word: str, key: str) -> str | None:
    """The chord at a place in a key: "6m" in D is Bm, "ii7" in C is Dm7; None for what is no place."""
    found = _DEGREE.fullmatch(with_plain_signs(word))
    if found is None:
        return None
    roman = found["roman"]
    place = int(found["number"]) if roman is None else _ROMAN[roman.upper()]
    quality = found["quality"]
    if roman is not None and roman.islower() and not quality.startswith(("dim", "o", "°", "ø", "m7b5")):
        quality = "m" + quality
    chord = _note(key, found["sign"], place) + quality
    return chord + (f"/{_note(key, found['bass_sign'], int(found['bass']))}" if found["bass"] else "")


def _note(key: str, sign: str, place: int) -> str:
    # A sign is about the major scale, in a minor key too: bVI is where VI is.
    scale = MINOR_SCALE if key.endswith("m") and not sign else MAJOR_SCALE
    bend = {"#": 1, "b": -1}.get(sign, 0)
    sounding = (pitch_class(key.removesuffix("m")) + scale[place - 1] + bend) % 12
    if sign:
        return note_name(sounding)
    return (_FLATS if key in _FLAT_KEYS else _SHARPS)[sounding]
