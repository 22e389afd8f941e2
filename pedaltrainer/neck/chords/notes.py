"""Names of notes and their numbers. Pitch classes: C = 0 to B = 11. MIDI: middle C = C4 = 60."""

from __future__ import annotations

LETTERS = "CDEFGAB"
NOTE = "[A-G](?:#{1,2}|b{1,2})?"
"""A note name as a pattern, with its signs as `with_plain_signs` writes them."""
MAJOR_SCALE = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of the major scale above its first note, and of the letters above C."""

_SPELLINGS = str.maketrans({"♯": "#", "♭": "b", "𝄪": "##", "𝄫": "bb", "−": "-", "–": "-", "Ø": "ø"})
_USUAL_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def with_plain_signs(text: str) -> str:
    """The text with unicode accidentals as `#` and `b`, long dashes as `-`."""
    return text.translate(_SPELLINGS)


def pitch_class(name: str) -> int:
    """The pitch class of a note name: a letter A to G and any `#` or `b`, such as `F#` or `Bbb`."""
    return (MAJOR_SCALE[LETTERS.index(name[0])] + name.count("#") - name.count("b")) % 12


def note_name(midi: int) -> str:
    """The usual name of a MIDI note number or pitch class where no chord decides: C# but Eb, Ab and Bb."""
    return _USUAL_NAMES[midi % 12]


def spelt_on(letter: str, sounding: int) -> str:
    """The name on a given letter of a pitch class.

    More than two accidentals, which nobody reads, give way to the usual name.
    """
    bend = semitones_between(pitch_class(letter), sounding)
    return letter + accidentals(bend) if abs(bend) <= 2 else note_name(sounding)


def accidentals(bend: int) -> str:
    """`#` for each semitone up, `b` for each down."""
    return "#" * bend or "b" * -bend


def semitones_between(here: int, there: int) -> int:
    """The shortest way from one pitch class to another, -6 to 5 semitones."""
    return (there - here + 6) % 12 - 6
