"""A song in another key: held against PyChord's own transposing, note by note."""

from __future__ import annotations

from fractions import Fraction

import pychord
import pytest

from pedaltrainer.neck.chords.notes import pitch_class
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.keys import chords_of, easy_capos, in_key, moved_chord
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.songs.song import NO_CHORD
from pedaltrainer.songs.writing import write_chart

CHORDS = ("C", "Am", "F#m7", "Bb7", "Dsus4", "Ebmaj7", "G7", "E/G#", "Cadd9", "Abdim")


def notes(chord: str) -> set[int]:
    root = spell(chord.partition("/")[0])
    return {(root.root_pitch_class + tone.semitones) % 12 for tone in root.tones}


@pytest.mark.parametrize("semitones", [-7, -3, -1, 1, 2, 5, 11])
@pytest.mark.parametrize("chord", CHORDS)
def test_a_moved_chord_has_the_notes_that_pychord_gives_it(chord, semitones):
    reference = pychord.Chord(chord)
    reference.transpose(semitones)
    moved = moved_chord(chord, semitones)
    assert notes(moved) | bass(moved) == {pitch_class(name) for name in reference.components()}


def bass(chord: str) -> set[int]:
    _, slash, note = chord.partition("/")
    return {pitch_class(note)} if slash else set()


def test_a_song_is_moved_with_all_its_bars_and_written_and_read_again():
    for song in demo_songs():
        moved = in_key(song, 2)
        again = parse_chart(write_chart(moved), "again.chart")
        assert again.bars == moved.bars
        assert len(moved.bars) == len(song.bars)
        assert chords_of(in_key(moved, -2)) == chords_of(song)


def test_frets_chosen_for_a_chord_do_not_go_along_and_no_chord_stays_none():
    assert moved_chord("G[320033]", 2) == "A"
    assert moved_chord(NO_CHORD, 2) == NO_CHORD


def test_a_capo_is_offered_where_it_makes_open_chords_of_barred_ones():
    barred = parse_chart("| Bb | Gm | Eb | F |", "b.chart")
    assert easy_capos(barred, 3)[0] == 3
    assert chords_of(in_key(barred, -3)) == ("G", "Em", "C", "D")
    assert easy_capos(parse_chart("| G | C | D |", "g.chart"), 3) == ()


def test_the_beats_of_a_moved_bar_are_where_they_were():
    song = parse_chart("| C / G . | F - x / |", "c.chart")
    assert [slot.beat for slot in in_key(song, 5).bars[0].slots] == [Fraction(beat) for beat in range(4)]
