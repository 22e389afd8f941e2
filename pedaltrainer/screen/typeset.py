"""How a chord name is set: a large root, its accidental, and a smaller suffix.

All lengths are in units of the root's cap height, x to the right, y
upwards from the base line. As in engraved charts the quality ("m", "maj",
"sus") stands on the base line and the extensions ("7", "b5") are raised to
the cap line; "common practice, no published source".
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from pedaltrainer.screen.letters import ACCIDENTALS, SIGN_ASPECT, measure

ROOT_SIGN_HEIGHT = 0.62
GAP = 0.06

_NAME = re.compile(r"([A-G])([#b♯♭]?)(.*?)(?:/([A-G])([#b♯♭]?))?$")
_QUALITY = re.compile(r"(?:(?![b♭]\d)[A-Za-zøΔ°+])*")
_SIGN_IN_SUFFIX = re.compile(r"([b#♭♯])(?=\d)")


@dataclass(frozen=True, slots=True)
class GlyphRun:
    """A piece of a chord name: letters, or a sign drawn by hand ("flat", "sharp").

    role: "root", "root sign", "quality", "raised" or "bass".
    """

    text: str
    role: str
    sign: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """A run in its place: left edge x, base line y, cap height (all in root cap heights)."""

    run: GlyphRun
    x: float
    y: float
    cap: float


def chord_runs(name: str) -> tuple[GlyphRun, ...]:
    """The runs of a chord name, left to right; a name that is no chord is one root run."""
    match = _NAME.match(name)
    if not match:
        return (GlyphRun(name, "root"),)
    root, sign, suffix, bass, bass_sign = match.groups()
    runs = [GlyphRun(root, "root")]
    if sign:
        runs.append(GlyphRun(ACCIDENTALS[sign], "root sign", sign=True))
    quality = _QUALITY.match(suffix)
    words = quality.group() if quality else ""
    if words:
        runs.append(GlyphRun(words, "quality"))
    for part in _SIGN_IN_SUFFIX.split(suffix[len(words) :]):
        if part:
            accidental = ACCIDENTALS.get(part)
            runs.append(GlyphRun(accidental or part, "raised", sign=accidental is not None))
    if bass:
        runs.append(GlyphRun("/" + bass, "bass"))
        if bass_sign:
            runs.append(GlyphRun(ACCIDENTALS[bass_sign], "bass", sign=True))
    return tuple(runs)


def set_chord(name: str, suffix_ratio: float) -> tuple[tuple[Piece, ...], float]:
    """The pieces of a chord name and its whole width, in root cap heights.

    suffix_ratio is the suffix's cap height divided by the root's, 0..1.
    """
    pieces: list[Piece] = []
    x = 0.0
    for run in chord_runs(name):
        cap, y = 1.0, 0.0
        if run.role == "root sign":
            cap, y = ROOT_SIGN_HEIGHT, 1.04 - ROOT_SIGN_HEIGHT
        elif run.role == "raised":
            # Behind "maj" the 7 rises half-way: at the cap line it would float away from its word.
            lift = 0.55 if any(piece.run.role == "quality" for piece in pieces) else 1.0
            cap, y = suffix_ratio, (1.0 - suffix_ratio) * lift
        elif run.role in ("quality", "bass"):
            cap = suffix_ratio
        if run.sign:
            height = cap if run.role == "root sign" else cap * 1.12
            width = SIGN_ASPECT[run.text] * height
            pieces.append(Piece(run, x, y, height))
        else:
            width = measure(run.text, True) * cap
            pieces.append(Piece(run, x, y, cap))
        x += width + GAP * (cap if run.role != "root" else 0.6)
    last = pieces[-1]
    return tuple(pieces), x - GAP * (last.cap if last.run.role != "root" else 0.6)
