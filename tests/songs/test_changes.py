"""The changes of a song and the air time of each, against examples worked out by hand."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given

from pedaltrainer.neck.gap import LIFTS, Gap
from pedaltrainer.songs.changes import Change, air_beats, changes_of
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import NO_CHORD, Song
from tests.songs.charts import songs

HALF, QUARTER, THIRD = Fraction(1, 2), Fraction(1, 4), Fraction(1, 3)


def song(bars: str, *heads: str) -> Song:
    return parse_chart("\n".join([*heads, bars]), "test.chart")


def changes(bars: str, *heads: str) -> tuple[Change, ...]:
    return changes_of(song(bars, *heads))


def only_change(bars: str, *heads: str) -> Change:
    (change,) = changes(bars, *heads)
    return change


@pytest.mark.parametrize(
    ("heads", "air_ms"),
    [
        # At 120 a beat lasts 500 ms. The off-beat stroke, half a beat before the landing, is given up.
        (["gap: lifted", "strum: 8ths"], 250),
        (["gap: muted", "strum: 8ths"], 250),
        # All strokes in the last half beat are given up, two of them here.
        (["gap: lifted", "strum: 16ths"], 250),
        # No stroke falls in the last half beat; the one a beat before rings for half of the beat.
        (["gap: lifted", "strum: 4ths"], 250),
        # Of three strokes a beat only the last falls in the last half: 500 / 3.
        (["gap: lifted", "strum: triplets"], 500 / 3),
        # The last stroke sounds for half its length: 250 / 2, 125 / 2, 500 / 2, 167 / 2.
        (["gap: instant", "strum: 8ths"], 125),
        (["gap: instant", "strum: 16ths"], 62.5),
        (["gap: instant", "strum: 4ths"], 250),
        (["gap: instant", "strum: triplets"], 250 / 3),
    ],
)
def test_the_gap_and_the_finest_stroke_decide_the_air_time(heads: list[str], air_ms: float) -> None:
    change = only_change("| Am / / / | G / / / |", "tempo: 120", *heads)
    assert change.air_ms == pytest.approx(air_ms)
    assert (change.here, change.there, change.bar, change.beat, change.at_beats) == ("Am", "G", 1, 0, 4)


@pytest.mark.parametrize("gap", list(Gap))
def test_a_song_in_eighths_leaves_what_the_drill_of_its_gap_leaves(gap: Gap) -> None:
    assert only_change("| Am / G / |", f"gap: {gap}").air_beats == LIFTS[gap]


def test_a_free_beat_before_the_landing_is_all_the_hands() -> None:
    assert only_change("| Am / / - | G |", "tempo: 120").air_ms == 500


def test_two_free_beats_count_from_the_first_of_them() -> None:
    assert only_change("| Am / - - | G |", "tempo: 120").air_ms == 1000


def test_a_free_stretch_shorter_than_the_gap_takes_nothing_from_it() -> None:
    sixteen = "| Am / / / / / / / / / / / / / / - | G |"
    assert only_change(sixteen, "strum: 16ths").air_beats == HALF


def test_a_chord_struck_again_after_a_free_stretch_is_in_the_hand_again() -> None:
    assert only_change("| Am - / / | G |").air_beats == HALF


def test_a_held_chord_rings_on_until_the_gap() -> None:
    assert only_change("| Am . . . | G |").air_beats == HALF
    # Instant in eighths: until a quarter of a beat is left.
    assert only_change("| Am . . . | G |", "gap: instant").air_beats == QUARTER


def test_holding_on_does_not_bring_the_hand_back() -> None:
    assert only_change("| Am - . . | G |").air_beats == 3


def test_a_change_on_the_off_beat_gives_up_the_stroke_on_the_beat() -> None:
    change = only_change("| Am / / / / / / G |", "tempo: 120")
    assert (change.beat, change.air_ms) == (Fraction(7, 2), 250)


def test_a_chord_of_half_a_beat_is_struck_once_and_sounds_for_half_of_it() -> None:
    first, second = changes("| Am / / / / / / G | C |", "tempo: 120")
    assert first.air_ms == 250
    assert (second.here, second.there, second.air_ms) == ("G", "C", 125)


def test_the_last_bar_of_a_repeat_leads_to_its_first() -> None:
    found = changes("|: Am | G :| x3")
    assert [(change.here, change.there, change.bar) for change in found] == [
        ("Am", "G", 1),
        ("G", "Am", 2),
        ("Am", "G", 3),
        ("G", "Am", 4),
        ("Am", "G", 5),
    ]


def test_a_section_played_twice_leads_from_its_end_to_its_beginning() -> None:
    found = changes("| Am | G |", "[Verse] x2")
    assert [(change.here, change.there) for change in found] == [("Am", "G"), ("G", "Am"), ("Am", "G")]


def test_the_air_before_a_new_tempo_is_at_the_old_one() -> None:
    # Half a beat at 120 is 250 ms, although the chord lands at 60.
    change = only_change("| Am |\ntempo: 60\n| G |", "tempo: 120")
    assert (change.air_ms, change.tempo_bpm) == (250, 120)


def test_air_across_a_new_tempo_counts_each_part_at_its_own() -> None:
    # Free for two beats at 120 (1000 ms) and one at 60 (1000 ms): three beats in two seconds.
    change = only_change("| Am / - - |\ntempo: 60\n| - G / / |", "tempo: 120")
    assert change.air_beats == 3
    assert change.air_ms == pytest.approx(2000)
    assert change.tempo_bpm == pytest.approx(90)


def test_in_six_eight_the_last_eighth_is_given_up() -> None:
    # Dotted quarters at 60: an eighth lasts 1000 / 3 ms.
    change = only_change("| Am | G |", "metre: 6/8", "tempo: 60")
    assert (change.air_beats, change.at_beats) == (THIRD, 2)
    assert change.air_ms == pytest.approx(1000 / 3)


def test_in_six_eight_an_instant_change_has_half_an_eighth() -> None:
    change = only_change("| Am / / G / / |", "metre: 6/8", "tempo: 60", "gap: instant")
    assert change.beat == 1
    assert change.air_ms == pytest.approx(1000 / 6)


@pytest.mark.parametrize("gap", list(Gap))
@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("metre: 6/8", "tempo: 40"), ("metre: 6/8 in 6", "tempo: 120")),
        (("metre: 12/8", "tempo: 60"), ("metre: 12/8 in 12", "tempo: 180")),
    ],
)
def test_the_same_music_leaves_the_same_air_however_it_is_counted(one, other, gap: Gap) -> None:
    here, there = (only_change("| Am | G |", f"gap: {gap}", *heads) for heads in (one, other))
    assert here.air_ms == pytest.approx(there.air_ms)


def test_swing_is_the_same_in_triplets_in_twelve_eight_and_by_its_name() -> None:
    # The off-beat stroke of a swung beat lies on its last third: 500 / 3 at 120.
    ways = [
        only_change("| Am | G |", "tempo: 120", "strum: swing"),
        only_change("| Am | G |", "tempo: 120", "strum: triplets"),
        only_change("| Am | G |", "tempo: 120", "metre: 12/8"),
    ]
    assert [change.air_ms for change in ways] == [pytest.approx(500 / 3)] * 3


def test_the_finest_stroke_keeps_its_length_when_the_metre_changes() -> None:
    found = changes("| Am |\nmetre: 6/8\n| G | C |", "tempo: 120", "gap: instant")
    assert [change.air_beats for change in found] == [Fraction(1, 6), Fraction(1, 6)]


def test_no_chord_leaves_the_hand_free_for_its_whole_length() -> None:
    change = only_change("| Am | N.C. / / / | / . x / | G |", "tempo: 120")
    assert (change.here, change.there, change.air_beats, change.air_ms) == ("Am", "G", 8, 4000)


def test_a_song_that_begins_without_a_chord_has_no_change_to_its_first() -> None:
    assert changes("| N.C. | - - x x | Am |") == ()


def test_the_same_chord_again_is_no_change() -> None:
    assert changes("| Am | Am / - Am | N.C. | Am |") == ()
    assert only_change("| Am / Am / | G |").air_beats == HALF


def test_another_fingering_of_the_same_chord_is_a_change() -> None:
    change = only_change("| G[320003] | G[320033] |")
    assert (change.here, change.there) == ("G[320003]", "G[320033]")


def test_a_dull_stroke_before_the_landing_makes_it_a_muted_change() -> None:
    change = only_change("| Am / / x | G |")
    assert (change.gap, change.air_beats) == (Gap.MUTED, 1)


def test_a_free_beat_in_a_song_of_instant_changes_is_a_lifted_gap() -> None:
    found = changes("| Am / / - | G | C |", "gap: instant")
    assert [(change.gap, change.air_beats) for change in found] == [
        (Gap.LIFTED, 1),
        (Gap.INSTANT, QUARTER),
    ]


def test_a_coarse_stroke_still_rings_for_half_of_the_time_it_has() -> None:
    assert air_beats([Fraction(0), Fraction(3)], Fraction(4), Gap.LIFTED, Fraction(1)) == HALF
    assert air_beats([Fraction(7, 2)], Fraction(4), Gap.LIFTED, HALF) == QUARTER


@given(songs())
def test_every_change_leaves_some_air_and_no_more_than_since_the_landing_before(song: Song) -> None:
    found = changes_of(song)
    for change in found:
        assert change.here != change.there
        assert NO_CHORD not in (change.here, change.there)
        assert change.air_beats > 0
        assert change.air_ms > 0
    for before, after in pairwise(found):
        assert before.there == after.here
        assert after.air_beats < after.at_beats - before.at_beats
