"""Today's practice: which drills, in which order, for how long, and why."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice.coach.plan import plan_today
from pedaltrainer.practice.coach.plan_choices import passages_of
from pedaltrainer.practice.coach.plan_lines import Mode
from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.practice.drill import Kind
from pedaltrainer.songs.shipped import shape_book
from tests.practice.knowing import TODAY, evidence, known, song

NEEDS = needs_of([song("C F G Am F", 90, by=TODAY + timedelta(days=10))])
FACTS = known(C_F=60, F_G=62, G_Am=85, Am_F=58, F=72, C=120, G=120, Am=120)


def minutes_of(plan):
    return sum(line.minutes for line in plan.lines)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 120), st.booleans())
def test_the_minutes_are_used_exactly(minutes, something_known):
    plan = plan_today(NEEDS, FACTS if something_known else {}, minutes, TODAY)
    assert minutes_of(plan) == pytest.approx(minutes)
    assert all(line.minutes > 0 and line.reason for line in plan.lines)


def test_the_same_facts_give_the_same_plan():
    assert plan_today(NEEDS, FACTS, 20, TODAY) == plan_today(NEEDS, FACTS, 20, TODAY)


def test_with_nothing_known_every_change_is_measured_once():
    plan = plan_today(NEEDS, {}, 10, TODAY)
    measured = [line.drill.key for line in plan.lines if line.mode is Mode.MEASURE]
    assert set(measured) >= {need.drill.key for need in NEEDS}
    assert len(set(measured)) == len(measured)


def test_no_drill_follows_itself():
    plan = plan_today(NEEDS, FACTS, 40, TODAY)
    keys = [line.drill.key for line in plan.lines]
    assert all(one != other for one, other in pairwise(keys))


def test_a_shape_that_holds_back_changes_is_landed_alone_and_says_so():
    plan = plan_today(NEEDS, FACTS, 20, TODAY)
    (reason,) = {line.reason for line in plan.lines if line.drill.words == "F"}
    assert reason.startswith("F alone: it holds back")
    assert reason.endswith("%)")


def test_the_warm_up_is_slow_and_of_the_easiest_change():
    first = plan_today(NEEDS, FACTS, 20, TODAY).lines[0]
    assert first.mode is Mode.SLOW
    assert first.drill.words == "G Am"
    assert first.start_bpm is not None
    assert first.start_bpm < 60


def test_a_song_that_is_due_sooner_gets_more_of_the_minutes():
    soon = song("C F", 90, "Tin Roof", by=TODAY + timedelta(days=2))
    late = song("G D", 90, "Slow Boat", by=TODAY + timedelta(days=90))
    facts = known(C_F=60, G_D=60, C=100, F=100, G=100, D=100)
    minutes = {"C F": 0.0, "G D": 0.0}
    for line in plan_today(needs_of([soon, late]), facts, 15, TODAY).lines[1:]:
        minutes[line.drill.words] = minutes.get(line.drill.words, 0) + line.minutes
    assert minutes["C F"] > minutes["G D"]


def test_what_was_not_played_for_long_is_measured_again():
    facts = {**FACTS, **known(evidence("C F", 60, days_ago=20))}
    line = next(line for line in plan_today(NEEDS, facts, 20, TODAY).lines[1:] if line.drill.words == "C F")
    assert line.mode is Mode.MEASURE
    assert "20 days ago" in line.reason


def test_a_shape_that_is_flat_for_long_is_taken_another_way():
    facts = {**FACTS, **known(evidence("F", 72, flat=True))}
    line = next(
        line for line in plan_today(NEEDS, facts, 20, TODAY).lines if line.drill.kind is Kind.PRESSURE
    )
    assert line.drill.chords == ("F",)
    assert line.mode is Mode.SLOW
    assert "flat for long" in line.reason


def test_a_travel_is_made_easier_where_the_shapes_share_fingers():
    needs = needs_of([song("C Am", 90)])
    facts = known(C_Am=60, C=120, Am=120)
    kinds = {line.drill.kind for line in plan_today(needs, facts, 20, TODAY, book=shape_book()).lines}
    assert Kind.SHARED in kinds
    assert Kind.SHARED not in {line.drill.kind for line in plan_today(needs, facts, 20, TODAY).lines}


def test_a_change_that_is_nearly_there_is_played_in_its_song():
    music = song("C F G Am F", 90)
    facts = known(C_F=88, F_G=88, G_Am=88, Am_F=88, F=120, C=120, G=120, Am=120)
    plan = plan_today(needs_of([music]), facts, 20, TODAY, passages=passages_of([music]))
    assert Kind.PASSAGE in {line.drill.kind for line in plan.lines}


def test_when_all_is_ready_there_is_still_something_to_keep():
    facts = known(C_F=150, F_G=150, G_Am=150, Am_F=150, F=200, C=200, G=200, Am=200)
    plan = plan_today(NEEDS, facts, 20, TODAY)
    assert minutes_of(plan) == pytest.approx(20)


def test_a_long_session_says_when_to_rest():
    assert plan_today(NEEDS, FACTS, 25, TODAY).breaks == ()
    (at, *_) = plan_today(NEEDS, FACTS, 45, TODAY).breaks
    assert 17 <= at <= 23


def test_without_songs_there_is_nothing_to_plan_and_no_time_is_refused():
    assert plan_today((), {}, 20, TODAY).lines == ()
    with pytest.raises(ValueError, match="no time"):
        plan_today(NEEDS, {}, 0, TODAY)
