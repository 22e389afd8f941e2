"""A song in another key, or as it is played over a capo. Pure."""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import hand_symbol
from pedaltrainer.songs.song import NO_CHORD, Bar, Section, Slot, Song

OPEN_CHORDS = frozenset(
    ("C", "A", "G", "E", "D", "Am", "Em", "Dm", "A7", "B7", "C7", "D7", "E7", "G7", "Am7", "Em7", "Dm7",
     "Cmaj7", "Fmaj7", "Gmaj7", "Asus4", "Asus2", "Dsus4", "Dsus2", "Esus4")
)  # fmt: skip
"""Chords that are played with open strings (common practice, no published source)."""
HIGHEST_CAPO = 7


def moved_chord(chord: str, semitones: int) -> str:
    """A chord so much higher, with the usual name of its root; frets chosen for it do not go along."""
    if chord == NO_CHORD:
        return chord
    return str(hand_symbol(parse_chosen(chord).symbol, -semitones % 12 or 12))


def in_key(song: Song, semitones: int) -> Song:
    """The song so much higher, below 0 lower."""
    if not semitones:
        return song

    def slot(one: Slot) -> Slot:
        return one if one.chord is None else replace(one, chord=moved_chord(one.chord, semitones))

    def bar(one: Bar) -> Bar:
        return replace(one, slots=tuple(map(slot, one.slots)))

    def section(one: Section) -> Section:
        return replace(one, bars=tuple(map(bar, one.bars)))

    key = moved_chord(song.key, semitones) if song.key else ""
    return replace(song, sections=tuple(map(section, song.sections)), key=key)


def chords_of(song: Song) -> tuple[str, ...]:
    """The names of its chords, in the order in which they first come."""
    written = (slot.chord for bar in song.bars for slot in bar.slots)
    named = (str(parse_chosen(chord).symbol) for chord in written if chord not in (None, NO_CHORD))
    return tuple(dict.fromkeys(named))


def easy_capos(song: Song, most: int) -> tuple[int, ...]:
    """The frets for a capo over which more of the song's chords are open ones than without, most first."""

    def barred(capo: int) -> int:
        return sum(moved_chord(chord, -capo) not in OPEN_CHORDS for chord in chords)

    chords = chords_of(song)
    better = [capo for capo in range(1, HIGHEST_CAPO + 1) if barred(capo) < barred(0)]
    return tuple(sorted(better, key=lambda capo: (barred(capo), capo))[:most])
