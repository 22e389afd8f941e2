"""Practice tracks of drills and songs as sound."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import drill_track, song_track, take_track
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.metre import Metre
from pedaltrainer.timing.click import ClickPlan, Sound, onsets
from pedaltrainer.timing.track import Track, TrackBar, click_samples
from pedaltrainer.timing.wav import render_track
from tests.timing.hearing import onset_samples
from tests.timing.test_wav import read
from tests.timing.tracks import SONGS, TURNS, tracks

DRILLS = ["Am F", "F", "C F instant", "D A x4", "pressure F", "passage Am:2 G:1 F:3/2 E7:7/2"]


@pytest.mark.parametrize("name", tracks())
def test_every_click_of_a_track_is_on_its_sample_in_the_sound(tmp_path, name):
    track = tracks()[name]
    render_track(tmp_path / "track.wav", track)
    shape, pcm = read(tmp_path / "track.wav")
    assert shape == (1, 2, 48_000)
    assert len(pcm) >= round(track.seconds * 48_000)
    heard, asked = onset_samples(pcm), [sample for sample, _ in click_samples(track)]
    # What begins while another sound rings has no silence before it to be found by.
    ringing = {b for a, b in pairwise(asked) if b - a < 0.07 * 48_000}
    assert set(asked) - set(heard) <= ringing
    assert set(heard) <= set(asked)


@settings(max_examples=150)
@given(
    words=st.sampled_from(DRILLS),
    tempo_bpm=st.integers(20, 300) | st.decimals(20, 300, places=1).map(float),
    bars=st.integers(1, 60),
)
def test_a_take_of_a_track_is_the_take_of_the_stage_sample_for_sample(words, tempo_bpm, bars):
    drill = parse_drill(words)
    lands_on = []
    while (beat := drill.landing_beat(len(lands_on))) < 4 * bars:
        lands_on.append(beat)
    plan = ClickPlan(0, tempo_bpm, 4, 4 * bars, lift=drill.lift, lands_on=tuple(lands_on))
    assert click_samples(drill_track(drill, tempo_bpm, bars=bars)) == onsets(plan)


def test_a_take_lasts_for_eight_landings_and_a_passage_once_through():
    assert len(drill_track(parse_drill("Am F"), 84).bars) == 1 + 2
    assert len(drill_track(parse_drill("D A x4"), 84).bars) == 1 + 8
    assert len(drill_track(parse_drill("passage Am:4 G:4 F:4 E:4 C:4 D:4 Em:4 A:4 B7:4"), 84).bars) == 1 + 9


def test_the_count_in_is_whole_bars_of_four_beats_at_least():
    counted = [sound for _, sound in click_samples(song_track(SONGS["Salt and Rope"], "Chorus"))]
    assert counted.count(Sound.COUNT) == 4  # two bars of two
    waltz = song_track(parse_chart("metre: 3/4\n| G |", "waltz"))
    assert [bar.counts_in for bar in waltz.bars] == [True, True, False]


def test_a_section_is_the_part_of_the_song_as_often_as_it_is_played():
    chorus = song_track(SONGS["Low Water"], "chorus")
    names = [cue.chord for bar in chorus.bars for cue in bar.cues]
    assert names == ["C", "D", "G", "D", "G"] * 2
    assert chorus.title == "Low Water, Chorus, 98 BPM"


def test_another_tempo_keeps_the_song_s_own_changes_of_tempo():
    slower = song_track(TURNS, tempo_bpm=71 / 2)
    assert [bar.tempo_bpm for bar in slower.bars] == pytest.approx([48.65] * 3 + [35.5] * 4)


def test_a_passage_that_begins_on_a_chord_struck_again_names_it():
    song = parse_chart("[A]\n| G |\n[B]\n| / / Am / |", "again")
    first = next(bar for bar in song_track(song, "B").bars if not bar.counts_in)
    assert [(cue.beat, cue.chord) for cue in first.cues] == [(0, "G"), (2, "Am")]


def test_the_hand_lifts_for_the_first_chord_in_the_count_in_and_for_none_beyond_the_end():
    verse = song_track(parse_chart("[A]\n| G |\n[B]\n| Am | C |\n[C]\n| G |", "ends"), "B")
    assert [bar.lifts for bar in verse.bars] == [(Fraction(7, 2),), (Fraction(7, 2),), ()]


def test_a_section_that_is_not_there_is_named_with_those_that_are():
    with pytest.raises(InputError, match=r"no section “Solo”; .* Intro, Verse, Chorus, Bridge, End"):
        song_track(SONGS["Low Water"], "Solo")


def test_a_track_of_over_four_hours_is_refused():
    with pytest.raises(InputError, match="four hours"):
        Track("long", (TrackBar(4, Fraction(1, 4), 20),) * 1201)


@settings(max_examples=150)
@given(
    words=st.sampled_from(DRILLS),
    tempo_bpm=st.integers(20, 300),
    landings=st.integers(1, 40),
    count_in=st.integers(0, 8),
    beats_per_bar=st.integers(1, 7),
)
def test_the_track_of_a_take_has_the_clicks_of_the_stage(words, tempo_bpm, landings, count_in, beats_per_bar):
    drill = parse_drill(words)
    lands_on = tuple(drill.landing_beat(landing) for landing in range(landings))
    plan = ClickPlan(
        *(0, tempo_bpm, count_in, math.ceil(drill.landing_beat(landings)), beats_per_bar),
        lift=drill.lift,
        lands_on=lands_on,
    )
    metre = Metre(beats_per_bar, Fraction(1, 4))
    assert click_samples(take_track(drill, tempo_bpm, landings, count_in, metre)) == onsets(plan)
