"""What a song needs, and how far the player is from it."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.neck.gap import Gap
from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import chance_at_least
from pedaltrainer.practice.coach.limits import Which
from pedaltrainer.practice.coach.readiness import needs_of, song_standing, standing
from pedaltrainer.practice.drill import Kind, air_time_ms
from pedaltrainer.songs.chart import parse_chart
from tests.practice.knowing import belief, evidence, known, song

SONG = song("C F C G C", tempo_bpm=90)


def test_every_change_is_needed_once_whichever_chord_comes_first():
    needs = needs_of([SONG])
    assert [need.drill.words for need in needs] == ["C F", "C G"]
    assert [need.count for need in needs] == [2, 2]
    assert {need.drill.kind for need in needs} == {Kind.CHANGE}


def test_a_drill_at_the_needed_tempo_leaves_the_songs_air_time():
    for gap in Gap:
        for need in needs_of([song("C F G", tempo_bpm=96, gap=gap)]):
            assert air_time_ms(need.tempo_bpm, need.drill.lift) == pytest.approx(need.air_ms)


def test_a_free_half_beat_asks_for_the_songs_own_tempo():
    # Half a beat at 96 BPM is 312.5 ms, as in a lifted drill at 96.
    (need, *_) = needs_of([song("C F", tempo_bpm=96)])
    assert need.air_ms == pytest.approx(312.5)
    assert need.tempo_bpm == pytest.approx(96)


def test_two_songs_ask_for_the_least_air_time_and_the_nearest_date():
    slow = song("C F C", 80, "Slow Boat", by=date(2027, 4, 1))
    fast = song("F C", 120, "Tin Roof", by=date(2027, 5, 1))
    (need,) = needs_of([slow, fast, song("F C", 60, "Old Gate")])
    assert need.tempo_bpm == pytest.approx(120)
    assert need.by == date(2027, 4, 1)
    assert need.songs == ("Slow Boat", "Tin Roof", "Old Gate")
    assert need.count == 4


def test_the_way_through_the_gap_makes_it_another_change():
    lifted, muted = needs_of([SONG])[0], needs_of([song("C F", gap=Gap.MUTED)])[0]
    assert lifted.drill.key != muted.drill.key


def test_a_clean_tempo_right_at_the_need_is_even_odds():
    (need, *_) = needs_of([SONG])
    found = standing(need, known(C_F=90))
    assert found.readiness == pytest.approx(1, rel=0.01)
    assert found.chance == pytest.approx(0.5, abs=0.05)
    assert not found.is_ready


def test_ready_is_said_only_when_it_is_likely():
    (need, *_) = needs_of([SONG])
    assert standing(need, known(C_F=96)).is_ready
    assert not standing(need, known(evidence("C F", 96, sd=0.15))).is_ready


def test_what_no_one_ever_played_has_no_readiness():
    found = song_standing(SONG, {})
    assert all(one.readiness is None and one.clean is None for one in found.standings)
    assert found.whole_bpm is None
    assert found.bottleneck is not None
    assert all(one.limit.which is Which.UNSURE for one in found.standings)


def test_a_change_never_played_is_judged_by_its_relatives_and_not_called_ready():
    found = standing(needs_of([SONG])[0], known(C_G=200, F_G=200))
    assert found.readiness is not None
    assert found.readiness > 1
    assert found.takes == 0
    assert not found.is_ready


def test_the_hardest_change_comes_first_and_is_the_bottleneck():
    found = song_standing(SONG, known(C_F=60, C_G=85))
    assert [one.need.drill.words for one in found.standings] == ["C F", "C G"]
    assert found.bottleneck is found.standings[0]


def test_a_song_of_eight_landings_of_one_change_is_whole_one_time_in_two_where_a_take_is():
    # Eight landings are clean four times in five at the clean tempo; by the logistic of the model one time in
    # two is log 4 spreads above: with a spread of 5 %, exp(0.05 * 1.386) = 1.072 times as fast.
    eight = song("C F C F C F C F C", tempo_bpm=90)
    found = song_standing(eight, known(evidence("C F", 60, sd=0.001)))
    assert found.whole_bpm == pytest.approx(60 * 1.072, rel=0.02)


def test_the_more_landings_a_song_has_the_slower_it_comes_out_whole():
    short, long = (song(" ".join(["C F"] * times), tempo_bpm=90) for times in (4, 40))
    facts = known(C_F=60)
    assert song_standing(long, facts).whole_bpm < song_standing(short, facts).whole_bpm


@pytest.mark.parametrize("sd", [0.02, 0.04, 0.07])
def test_hands_as_they_are_believed_play_the_song_whole_one_time_in_two_however_well_they_are_known(sd):
    found = song_standing(SONG, known(evidence("C F", 60, sd), evidence("C G", 64, sd)))
    rng = np.random.default_rng(3)
    whole = np.ones(4000)
    for one in found.standings:
        mass = one.belief.mass.ravel()
        spread, tempo = np.divmod(rng.choice(len(mass), 4000, p=mass), len(ct.LOG_TEMPOS))
        asked = math.log(one.need.tempo_bpm * found.whole_bpm / found.tempo_bpm)
        z = (ct.LOG_TEMPOS[tempo] - asked) / ct.SPREADS[spread] + ct.CLEAN_LOGIT
        whole *= (1 / (1 + np.exp(-z))) ** (one.need.count / ct.CLEAN_LANDINGS)
    assert whole.mean() == pytest.approx(0.5, abs=0.03)


def test_how_fast_a_song_can_be_played_is_not_told_while_a_change_was_never_played():
    assert song_standing(SONG, known(C_F=60)).whole_bpm is None


def test_a_bar_without_a_chord_asks_for_no_drill_slower_than_a_beat_in_the_air():
    rest = parse_chart("tempo: 120\n| Am | N.C. | G |", "test.chart")
    (need,) = needs_of([rest])
    assert (need.air_ms, need.tempo_bpm) == (500, 60)


def test_a_change_with_less_time_than_the_fastest_drill_leaves_is_known_for_one():
    sixteenths = parse_chart("tempo: 160\ngap: instant\nstrum: 16ths\n| Am | G |", "test.chart")
    (need,) = needs_of([sixteenths])
    assert need.tempo_bpm == pytest.approx(320)
    assert need.is_beyond_a_drill
    assert not needs_of([SONG])[0].is_beyond_a_drill


def test_a_song_without_changes_has_nothing_in_the_way():
    found = song_standing(song("C C C"), known(C_F=60))
    assert found.standings == ()
    assert found.bottleneck is None


def test_a_songs_tempo_is_that_of_most_of_its_beats():
    assert SONG.tempo_bpm == 90


@given(st.floats(20, 300), st.floats(1.001, 2))
def test_a_faster_song_is_never_likelier_to_be_ready(tempo_bpm, faster):
    now = belief(85, 0.1)
    assert chance_at_least(now, tempo_bpm) >= chance_at_least(now, tempo_bpm * faster)
    assert 0 <= chance_at_least(now, tempo_bpm) <= 1
