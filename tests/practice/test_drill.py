"""Drills: what the player asked for, and the time in the air."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.gap import Gap
from pedaltrainer.practice.drill import Drill, air_time_ms, clear_height_mm, parse_drill
from pedaltrainer.practice.kinds import KINDS, Kind
from pedaltrainer.session.settings import Settings


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


# --- the other kinds, and how a drill is written -------------------------------


def test_a_drill_of_another_kind_is_named_first():
    assert parse_drill("level A Bm").kind is Kind.LEVEL
    assert parse_drill("shared C Am +1").added == 1
    assert parse_drill("pressure F").kind is Kind.PRESSURE


def test_the_gap_and_the_beats_may_stand_in_the_drills_own_words():
    drill = parse_drill("C F x4 muted")
    assert (drill.kind, drill.beats_per_chord, drill.gap) == (Kind.CHANGE, 4, Gap.MUTED)
    assert drill.title == "C – F, 4 beats each, muted"


def test_muted_and_instant_changes_are_measured_apart_from_lifted_ones():
    assert len({parse_drill(f"C F {gap}").key for gap in Gap}) == 3


def test_an_instant_change_leaves_half_the_time_in_the_air():
    assert air_time_ms(60, parse_drill("C F instant").lift) == air_time_ms(60) / 2


def test_a_level_drill_depends_on_which_shape_is_moved():
    assert parse_drill("level A Bm").key != parse_drill("level Bm A").key
    assert parse_drill("shared C Am").key == parse_drill("shared Am C").key


def test_a_pressure_drill_takes_a_beat_for_each_of_its_four_stages():
    drill = parse_drill("pressure F")
    assert [stage.word for stage in drill.row.stages] == ["ring", "unload", "clear", "meet"]
    assert drill.beats_per_chord == 4
    assert drill.title == "F, in four stages"


def test_the_fingers_come_off_by_a_millimetre_at_first_and_then_further():
    heights = [clear_height_mm(landing) for landing in range(12)]
    assert heights[0] == 1
    assert heights == sorted(heights)
    assert heights[-1] > 4


def test_the_frets_a_player_chose_are_part_of_the_drill_and_not_of_its_title():
    drill = parse_drill("G[320003] C")
    assert drill.key != parse_drill("G C").key
    assert drill.title == "C – G"


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ("level F", "two different chords"),
        ("pressure C F", "one chord"),
        ("shared C C", "two different chords"),
        ("C F x0", "1 to 16 beats"),
        ("C F x17", "1 to 16 beats"),
        ("shared C C Am +1", "two different chords"),
        (f"C F x{'9' * 5000}", "1 to 16 beats"),
        (f"shared C F +{'9' * 5000}", "4 at most"),
        ("C F +1", "only a shared drill"),
        ("shared C F +5", "4 at most"),
        ("pressure F muted", "neither muted nor instant"),
        ("level", "two different chords"),
        ("passage C", "two chords or more"),
        ("passage C:0 F", "how many beats C lasts"),
        ("passage C:99 F", "to 64 beats"),
        ("passage C F x4", "lengths of their own"),
    ],
)
def test_a_drill_that_cannot_be_is_refused_with_the_mend(words, complaint):
    with pytest.raises(InputError, match=complaint) as refusal:
        parse_drill(words)
    assert "\n" not in str(refusal.value)


def test_the_chords_of_a_passage_have_lengths_of_their_own():
    passage = parse_drill("passage Am:3 G F:3/2 E7:5/2")
    assert [passage.landing_beat(landing) for landing in range(6)] == [0, 3, 4, Fraction(11, 2), 8, 11]
    assert passage.title == "Am – G – F – E7, in rhythm"
    assert passage.key != parse_drill("passage Am:3 G F:2 E7:2").key


def test_a_long_passage_names_its_first_chords_and_its_last():
    assert parse_drill("passage C G Am F C G").title == "C – G – Am – F – … – G, in rhythm"


CHORDS = st.sampled_from(["C", "F#m7", "Bb", "G/B", "G[320003]", "F[133211/134211]", "A[x.10.12.12.12.10]"])


@st.composite
def drills(draw):
    kind = draw(st.sampled_from(list(KINDS)))
    row = KINDS[kind]
    fewest, most = row.chords
    chords = draw(st.lists(CHORDS, min_size=fewest, max_size=min(most, 7), unique=True))
    unseen = draw(st.booleans())
    if kind is Kind.PASSAGE:
        more = draw(st.lists(CHORDS, min_size=2, max_size=9))
        holds = [draw(st.fractions(1, 8, max_denominator=4)) for _ in more]
        return Drill(kind, tuple(more), gap=draw(st.sampled_from(Gap)), holds=tuple(holds), unseen=unseen)
    gap = draw(st.sampled_from(Gap)) if row.gaps else Gap.LIFTED
    added = draw(st.integers(0, 4)) if kind is Kind.SHARED else 0
    picks = draw(st.sampled_from(["", "b1", "b3231323", "54"])) if row.picks else ""
    if row.is_parted:
        return Drill(kind, tuple(chords), len(picks) or row.cycle, unseen=unseen, picks=picks)
    beats = draw(st.integers(2 if row.early else 1, 16))
    return Drill(kind, tuple(chords), beats, gap, added, unseen=unseen)


@given(drills(), st.integers(0, 40))
def test_a_chord_sounds_from_its_landing_to_the_next(drill, landing):
    here, there = drill.landing_beat(landing), drill.landing_beat(landing + 1)
    assert drill.landing_at(float(here) + 1e-6) == landing
    assert drill.landing_at(float(there) - 1e-6) == landing


@given(drills())
def test_a_drills_words_and_its_key_read_back_as_the_same_drill(drill):
    assert parse_drill(drill.words) == drill
    assert parse_drill(drill.key).key == drill.key


@given(st.text(max_size=30))
def test_any_other_words_are_a_drill_or_one_sentence(words):
    try:
        said = parse_drill(words).title
    except InputError as refusal:
        said = str(refusal).removesuffix(".")
        assert said != str(refusal), "not a sentence"  # noqa: PT017
    assert said


# --- loops, pushes and what else is a row ----------------------------------------------


def test_a_loop_plays_its_chords_in_turn_and_ends_where_a_round_does():
    drill = parse_drill("loop C Am F G")
    assert [drill.chord_at(landing) for landing in range(6)] == ["C", "Am", "F", "G", "C", "Am"]
    assert drill.key == "loop C Am F G" != parse_drill("loop Am C F G").key
    assert Settings((drill,), landings=6).landings_of(drill) == 8


def test_a_shuffled_loop_has_each_chord_once_a_round_and_none_twice_in_a_row():
    drill = parse_drill("shuffled C Am F G")
    for turn in range(20):
        order = [replace(drill, turn=turn).chord_at(landing) for landing in range(40)]
        for begin in range(0, 40, 4):
            assert sorted(order[begin : begin + 4]) == ["Am", "C", "F", "G"]
        assert all(here != there for here, there in pairwise(order))
    orders = {tuple(replace(drill, turn=turn).chord_at(at) for at in range(8)) for turn in range(20)}
    assert len(orders) > 15, "another order in each take"
    assert replace(drill, turn=3) == drill, "which take it is makes no other drill"


def test_a_push_lands_on_the_off_beat_before_the_bar_and_begins_on_a_beat():
    drill = parse_drill("push C G")
    assert [drill.landing_beat(landing) for landing in range(4)] == [
        0,
        Fraction(7, 2),
        Fraction(15, 2),
        Fraction(23, 2),
    ]
    assert [drill.landing_at(beat) for beat in (-0.2, 0, 3.4, 3.5, 7.4, 7.5)] == [-1, 0, 0, 1, 1, 2]


def test_a_drill_without_its_picture_has_a_record_of_its_own():
    assert parse_drill("F Am unseen").key == "change Am F unseen" != parse_drill("F Am").key
    assert parse_drill("F Am unseen").title == "Am – F, without its picture"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("loop C G", "a loop drill has 3 to 8 different chords"),
        ("loop C G C", "a loop drill has 3 to 8 different chords"),
        ("air F G C", "an air drill has 1 to 2 different chords"),
        ("push C", "two different chords"),
        ("slide E5 G5 muted", "a slide drill is neither muted nor instant"),
    ],
)
def test_a_kind_with_other_chords_or_words_than_it_takes_is_refused(words, told):
    with pytest.raises(InputError, match=told):
        parse_drill(words)
