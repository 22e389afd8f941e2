"""From a `harmony` element of MusicXML 4.0 (W3C Community Group) to a chord symbol. Pure."""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import with_plain_signs
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.songs.song import NO_CHORD

KINDS = {
    "major": "",
    "minor": "m",
    "augmented": "aug",
    "diminished": "dim",
    "dominant": "7",
    "major-seventh": "maj7",
    "minor-seventh": "m7",
    "diminished-seventh": "dim7",
    "augmented-seventh": "aug7",
    "half-diminished": "m7b5",
    "major-minor": "mmaj7",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "major-ninth": "maj9",
    "minor-ninth": "m9",
    "dominant-11th": "11",
    "major-11th": "maj11",
    "minor-11th": "m11",
    "dominant-13th": "13",
    "major-13th": "maj13",
    "minor-13th": "m13",
    "suspended-second": "sus2",
    "suspended-fourth": "sus4",
    "power": "5",
}
"""The standard's kind-value and the quality as we write it."""
_ALTERS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}
_TRIAD = frozenset({1, 3, 5})
"""Adding one of these to a chord that has it changes nothing."""
_STEP = re.compile("[A-G]")


def chord_symbol(harmony: Element) -> str | None:
    """The chord that a harmony names, NO_CHORD for none, None when it cannot be told.

    The kind's value and the degrees decide; its text does where they cannot be read, and where it names the
    same notes in the writer's own way.
    """
    kind = harmony.find("kind")
    value = (kind.text or "").strip() if kind is not None else ""
    text = kind.get("text", "") if kind is not None else ""
    if value == "none" or text.upper() in ("N.C.", "NC"):
        return NO_CHORD
    root = _note(harmony.find("root"), "root")
    if not root:
        return None
    bass = _note(harmony.find("bass"), "bass")
    slash = f"/{bass}" if bass and bass != root else ""
    degrees = [found for degree in harmony.findall("degree") if (found := _degree(degree))]
    if value not in KINDS:
        return _known(f"{root}{text}{slash}") if text else None
    quality = KINDS[value]
    as_written = _known(f"{root}{with_plain_signs(text)}{slash}") if text else None
    inside = "".join(degrees)
    plain = (
        f"{root}{quality}{inside}" if quality or not inside.startswith(("b", "#")) else f"{root}({inside})"
    )
    ours = _known(plain + slash) or _known(f"{root}{quality}({','.join(degrees)}){slash}")
    if as_written is not None and (ours is None or _sounds_alike(as_written, ours)):
        return as_written
    return ours or (_known(f"{root}{text}{slash}") if text else None)


def _sounds_alike(symbol: str, other: str) -> bool:
    return spell(symbol).pitch_classes == spell(other).pitch_classes


def _known(symbol: str) -> str | None:
    """The symbol, if it is a chord whose notes are known."""
    try:
        return str(spell(symbol).symbol)
    except InputError:
        return None


def _note(element: Element | None, name: str) -> str:
    if element is None:
        return ""
    step = (element.findtext(f"{name}-step") or "").strip().upper()
    alter = _whole(element.findtext(f"{name}-alter") or "0")
    return step + _ALTERS[alter] if _STEP.fullmatch(step) and alter in _ALTERS else ""


def _degree(element: Element) -> str:
    value = _whole(element.findtext("degree-value") or "") or 0
    alter = _whole(element.findtext("degree-alter") or "0") or 0
    kind = (element.findtext("degree-type") or "").strip()
    if kind == "subtract":
        return f"no{value}"
    if not alter:
        return "" if value in _TRIAD else f"add{value}"
    return f"{_ALTERS.get(alter, '')}{value}"


def _whole(text: str) -> int | None:
    found = re.fullmatch(r"\s*(-?[0-9]{1,2})(?:\.0+)?\s*", text)
    return int(found[1]) if found else None
