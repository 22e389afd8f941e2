"""Drills: what the player asked for, and the time in the air."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import Drill, Kind, air_time_ms, parse_drill


def test_two_chords_are_a_change_that_alternates():
    drill = parse_drill("Am E")
    assert drill.kind is Kind.CHANGE
    assert [drill.chord_at(landing) for landing in range(4)] == ["Am", "E", "Am", "E"]


def test_one_chord_is_landed_again_and_again():
    drill = parse_drill("F")
    assert drill.kind is Kind.RE_LAND
    assert [drill.chord_at(landing) for landing in range(3)] == ["F", "F", "F"]


def test_a_change_is_the_same_drill_from_either_side_but_starts_where_it_was_named():
    assert parse_drill("Am E").key == parse_drill("E Am").key == "change Am E"
    assert parse_drill("E Am").chord_at(0) == "E"


def test_a_chord_changed_to_itself_is_a_re_landing():
    assert parse_drill("F F").key == "re-land F"


def test_four_beats_a_chord_is_another_drill_in_the_log():
    assert parse_drill("Am E", 4).key != parse_drill("Am E").key


def test_unicode_accidentals_are_the_same_chord():
    assert parse_drill("B♭ F♯m") == parse_drill("Bb F#m")


@pytest.mark.parametrize("words", ["", "   ", "Am E F", "H E", "Am hello", "Em E-mail"])
def test_what_is_no_drill_is_refused_in_one_sentence(words):
    with pytest.raises(InputError) as refusal:
        parse_drill(words)
    assert str(refusal.value).count(". ") == 0
    assert str(refusal.value).endswith(".")


def test_half_a_beat_at_60_is_500_ms_in_the_air():
    # Arithmetic: 60 s / 60 beats / 2.
    assert air_time_ms(60) == 500


@given(st.integers(20, 300))
def test_air_time_at_one_landing_a_beat_is_30000_over_the_tempo(tempo_bpm):
    assert air_time_ms(tempo_bpm) == pytest.approx(30_000 / tempo_bpm)


@pytest.mark.parametrize(
    ("tempo_bpm", "lift"), [(0, Fraction(1, 2)), (60, Fraction(0)), (60, Fraction(3, 2))]
)
def test_impossible_air_times_are_refused(tempo_bpm, lift):
    with pytest.raises(ValueError, match="no air time"):
        air_time_ms(tempo_bpm, lift)


def test_a_drill_reads_like_a_players_words():
    assert Drill(Kind.CHANGE, ("Am", "E")).title == "Am – E"
    assert Drill(Kind.RE_LAND, ("F",)).title == "F, landed again"
