"""Run-throughs: the song as it is played, and what a press in it is about."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.practice.run_through import (
    SAME_MISS_S,
    bar_meant,
    landing_meant,
    part_of,
    pass_of,
    with_mark,
)
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.timing.track import click_samples

SONG = parse_chart(
    "title: Slack\ntempo: 120\n[Verse] x2\n| C | G |\n[Chorus]\nmetre: 3/4\ntempo: 90\n| F | Am - G |\n"
    "[End]\n| N.C. | C |\n",
    "slack",
)


def test_two_bars_are_counted_in_at_the_tempo_and_metre_that_come():
    whole, chorus = pass_of(SONG, 100), pass_of(SONG, 50, 4, 6)
    assert whole.counted_in_s == 2 * 4 * 60 / 120
    assert chorus.counted_in_s == 2 * 3 * 60 / 45
    assert [bar.beats for bar in chorus.track.bars[:2]] == [3, 3]


def test_bars_and_chords_are_where_the_song_has_them_at_a_share_of_its_tempo():
    one = pass_of(SONG, 50)
    assert [bar.start_s for bar in one.bars] == pytest.approx([0, 4, 8, 12, 16, 20, 24, 28])
    assert [(round(chord.at_s, 3), chord.name) for chord in one.chords][:6] == [
        (0, "C"), (4, "G"), (8, "C"), (12, "G"), (16, "F"), (20, "Am"),
    ]  # fmt: skip
    assert [bar.section for bar in one.bars] == ["Verse"] * 4 + ["Chorus"] * 2 + ["End"] * 2
    assert one.end_s == pytest.approx(32)


def test_every_landing_is_a_change_with_its_air_time_at_the_tempo_that_is_played():
    fast, slow = pass_of(SONG, 100), pass_of(SONG, 50)
    assert [landing.drill.chords for landing in slow.landings] == [
        ("C", "G"), ("G", "C"), ("C", "G"), ("G", "F"), ("F", "Am"), ("Am", "G"), ("G", "C"),
    ]  # fmt: skip
    for here, there in zip(fast.landings, slow.landings, strict=True):
        assert there.air_s == pytest.approx(2 * here.air_s)


def test_the_first_chord_of_a_part_is_no_change():
    assert [landing.drill.chords for landing in pass_of(SONG, 100, 4, 6).landings] == [
        ("F", "Am"),
        ("Am", "G"),
    ]


@pytest.mark.parametrize("song", demo_songs(), ids=lambda song: song.title)
@pytest.mark.parametrize("per_cent", [50, 85, 110])
def test_clicks_are_on_the_beats_of_the_bars(song, per_cent):
    one = pass_of(song, per_cent)
    clicks = {sample for sample, _ in click_samples(one.track)}
    for bar in one.bars:
        for beat in range(bar.beats):
            at = round((one.counted_in_s + bar.start_s + beat * bar.beat_s) * 48_000)
            assert {at - 1, at, at + 1} & clicks


def test_sections_and_bars_that_are_asked_for():
    assert part_of(SONG, None, None, None) == (0, 8)
    assert part_of(SONG, "chorus", None, None) == (4, 8)
    assert part_of(SONG, "Verse", "Chorus", None) == (0, 6)
    assert part_of(SONG, None, None, "3-4") == (2, 4)
    assert part_of(SONG, None, None, "8") == (7, 8)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("Bridge", None, None), "its sections are Verse, Chorus, End"),
        ((None, "Bridge", None), "its sections are"),
        (("End", "Verse", None), "does not come after"),
        ((None, None, "0-3"), "bars 1 to 8"),
        ((None, None, "3-9"), "bars 1 to 8"),
        ((None, None, "x"), "bars 1 to 8"),
        (("Verse", None, "1-2"), "not both"),
    ],
)
def test_parts_that_are_not_there_are_told(asked, says):
    with pytest.raises(InputError, match=says):
        part_of(SONG, *asked)


def test_a_second_press_at_once_is_the_same_miss():
    assert with_mark((1.0,), 1.0 + SAME_MISS_S - 0.01) == (1.0,)
    assert with_mark((1.0,), 1.01 + SAME_MISS_S) == (1.0, 1.01 + SAME_MISS_S)


def test_a_press_is_about_the_landing_before_it_as_late_as_the_foot_is():
    one = pass_of(SONG, 100)
    at_s = one.landings[2].at_s
    assert landing_meant(one, at_s + 0.25, 0.25) == 2
    assert landing_meant(one, at_s + 0.05, 0.25) == 2, "so soon after a landing it is still that one's"
    assert landing_meant(one, 0.0, 0.25) is None
    assert bar_meant(one, at_s + 0.25, 0.25) == one.landings[2].bar


@given(st.integers(50, 110), st.floats(0, 1))
def test_a_mark_flags_a_bar_of_the_pass(per_cent, share):
    one = pass_of(SONG, per_cent)
    assert 0 <= bar_meant(one, share * (one.end_s + 1), 0.25) < len(one.bars)


def test_the_count_in_runs_into_a_pick_up():
    song = parse_chart("title: Up\ntempo: 60\nmetre: 1/4\n| G |\nmetre: 4/4\n| C | G |\n", "up")
    one = pass_of(song, 100)
    assert [bar.beats for bar in one.track.bars] == [4, 3, 1, 4, 4]
    assert one.counted_in_s == 7
    assert pass_of(song, 100, 1).counted_in_s == 8
