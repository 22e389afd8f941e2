"""Tunings: the notes of the open strings, and a capo."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.notes import NOTE, note_name, pitch_class, semitones_between, with_plain_signs
from pedaltrainer.system.amounts import counted

HIGHEST_FRET = 24
HIGHEST_CAPO = 11
FEWEST_STRINGS, MOST_STRINGS = 4, 8

# F#1 B1 E2 A2 D3 G3 B3 E4. Six strings are the guitar; seven and eight add strings below, as such guitars
# do; four and five are its upper strings (common practice, no published source).
_STANDARD = (30, 35, 40, 45, 50, 55, 59, 64)
_LOWEST_NOTE, _HIGHEST_NOTE = 12, 108
BY_NAME: Mapping[str, str] = {
    "guitar": "E2 A2 D3 G3 B3 E4",
    "ukulele": "G4 C4 E4 A4",
    "baritone ukulele": "D3 G3 B3 E4",
    "bass": "E1 A1 D2 G2",
    "five-string bass": "B0 E1 A1 D2 G2",
    "mandolin": "G3 D4 A4 E5",
    "tenor guitar": "C3 G3 D4 A4",
}
"""Instruments by their usual tuning (common practice, no published source)."""
_NOTE = re.compile(rf"(?P<name>{NOTE})(?P<octave>[0-9])?")
_GAPS = re.compile(r"[\s,;-]+")


@dataclass(frozen=True, slots=True)
class Tuning:
    """open_midi: MIDI note numbers of the open strings without the capo, lowest string first.

    Frets are counted from the capo, as players and chord boxes count them. string_names keeps how the
    player wrote the notes (Gb or F#); two tunings that sound alike are equal.
    """

    open_midi: tuple[int, ...]
    capo: int = 0
    string_names: tuple[str, ...] = field(default=(), compare=False)

    @property
    def strings(self) -> int:
        return len(self.open_midi)

    @property
    def highest_fret(self) -> int:
        """The highest fret that can be pressed, counted from the capo."""
        return HIGHEST_FRET - self.capo

    @property
    def name(self) -> str:
        """The open strings as `parse_tuning` reads them: `D A D G B E`; with octaves where it would not
        find them by itself: `G4 C4 E4 A4`."""
        names = self.string_names or tuple(note_name(midi) for midi in self.open_midi)
        if self.open_midi == _nearest(names):
            return " ".join(names)
        return " ".join(
            f"{name}{(midi - _in_octave(name, -1)) // 12 - 1}"
            for name, midi in zip(names, self.open_midi, strict=True)
        )

    @property
    def called(self) -> tuple[str, ...]:
        """The strings as players call them, lowest first: "low E", "A" and on; numbered, the highest being
        "string 1", in any other tuning than that of a guitar."""
        if self.open_midi == STANDARD_TUNING.open_midi:
            return ("low E", "A", "D", "G", "B", "high E")
        return tuple(f"string {self.strings - string}" for string in range(self.strings))

    def note(self, string: int, fret: int) -> int:
        """The MIDI note number that a string (0 = lowest) gives at a fret."""
        return self.open_midi[string] + self.capo + fret


def standard_tuning(strings: int, capo: int = 0) -> Tuning:
    """The usual tuning of an instrument with 4 to 8 strings.

    Six are E A D G B E; seven and eight have B, then F# below; four and five are the upper strings.
    Raises InputError for another number of strings or a capo out of reach.
    """
    if not FEWEST_STRINGS <= strings <= MOST_STRINGS:
        raise InputError(
            f"A neck with {strings} strings is not known here; choose {FEWEST_STRINGS} to {MOST_STRINGS}."
        )
    return Tuning(_standard_notes(strings), _checked_capo(capo))


def parse_tuning(text: str, capo: int = 0) -> Tuning:
    """Read a tuning: note names, lowest string first, such as `D A D G B E`, `DADGBE` or `G4 C4 E4 A4`.

    Instead of notes an instrument of BY_NAME may be named. Names without an octave are put into the octave
    nearest to the same string of the standard tuning with as many strings, the lower one when both are as
    far. With octaves (C4 is middle C) on every string, any order is possible.
    Raises InputError unless there are 4 to 8 such notes and the capo is in reach.
    """
    words = _words(BY_NAME.get(" ".join(text.casefold().split()), text))
    notes = [_NOTE.fullmatch(word) for word in words]
    octaves = [note["octave"] for note in notes if note]
    if not words or None in notes or any(octaves) != all(octaves):
        raise InputError(
            f"“{text}” is not a tuning; write the open strings' notes, lowest first, such as D A D G B E "
            f"(all with an octave, such as D2, or none), or one of {', '.join(BY_NAME)}."
        )
    if not FEWEST_STRINGS <= len(words) <= MOST_STRINGS:
        raise InputError(
            f"The tuning “{text}” has {counted(len(words), 'string')}; "
            f"give the notes of {FEWEST_STRINGS} to {MOST_STRINGS}."
        )
    names = tuple(note["name"] for note in notes if note)
    midi = tuple(map(_in_octave, names, map(int, octaves))) if all(octaves) else _nearest(names)
    _check_register(text, midi)
    return Tuning(midi, _checked_capo(capo), names)


def check_frets(frets: Sequence[int | None], tuning: Tuning) -> None:
    """Refuse frets that are not on this neck.

    frets: one entry a string, lowest first, counted from the capo; None = not played, 0 = open.
    Raises InputError for a fret beyond the neck or an entry too many or too few.
    """
    if len(frets) != tuning.strings:
        raise InputError(
            f"{len(frets)} frets are given for the {tuning.strings} strings of {tuning.name}; "
            "give one for each string, x where it is not played."
        )
    for fret in frets:
        if fret is not None and not 0 <= fret <= tuning.highest_fret:
            beyond = f" above the capo at {tuning.capo}" if tuning.capo else ""
            raise InputError(f"There is no fret {fret}{beyond}; give 0 to {tuning.highest_fret}.")


def _words(text: str) -> list[str]:
    plain = with_plain_signs(text).strip()
    words = [word for word in _GAPS.split(plain) if word]
    if len(words) == 1:
        joined = [found.group() for found in _NOTE.finditer(plain)]
        return joined if "".join(joined) == plain else words
    return [word[0].upper() + word[1:] for word in words]


def _standard_notes(strings: int) -> tuple[int, ...]:
    return _STANDARD[len(_STANDARD) - strings :]


def _nearest(names: Sequence[str]) -> tuple[int, ...]:
    usual = _standard_notes(len(names))
    return tuple(
        midi + semitones_between(midi, pitch_class(name)) for midi, name in zip(usual, names, strict=True)
    )


def _in_octave(name: str, octave: int) -> int:
    """The octave belongs to the letter: B#3 sounds as C4 does, Cb4 as B3."""
    return 12 * (octave + 1) + pitch_class(name[0]) + name.count("#") - name.count("b")


def _check_register(text: str, midi: Sequence[int]) -> None:
    if not all(_LOWEST_NOTE <= note <= _HIGHEST_NOTE for note in midi):
        raise InputError(f"The tuning “{text}” is out of hearing; use octaves from 0 to 7.")


def _checked_capo(capo: int) -> int:
    if not 0 <= capo <= HIGHEST_CAPO:
        raise InputError(
            f"A capo at fret {capo} is out of reach; put it at 1 to {HIGHEST_CAPO}, or 0 for none."
        )
    return capo


STANDARD_TUNING = standard_tuning(6)
"""E2 A2 D3 G3 B3 E4, with middle C = C4 = 60."""
