"""Today's practice: which drills, in which order, for how long, and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice.coach.limits import Which, ratio_of
from pedaltrainer.practice.coach.pieces import hold_cost
from pedaltrainer.practice.coach.plan import (
    BLOCK_MIN,
    Task,
    in_turn,
    is_ready,
    plan_today,
    proposals,
    task_of,
)
from pedaltrainer.practice.coach.plan_lines import Mode, Why
from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.practice.drill import Kind, parse_drill
from pedaltrainer.songs.shipped import shape_book
from tests.practice.knowing import TODAY, evidence, known, song

NEEDS = needs_of([song("C F G Am F", 90)])
TASKS = [task_of(need) for need in NEEDS]
FACTS = known(C_F=60, F_G=62, G_Am=85, Am_F=58)


def practised(plan):
    return [line.drill.words for line in plan.lines if line.why is not Why.WARM_UP]


def minutes_of(plan):
    return sum(line.minutes for line in plan.lines)


@settings(max_examples=60)
@given(st.floats(0.5, 120), st.booleans())
def test_the_minutes_are_used_exactly(minutes, something_known):
    plan = plan_today(TASKS, FACTS if something_known else {}, minutes, TODAY)
    assert minutes_of(plan) == pytest.approx(minutes)
    assert all(line.minutes > 0 for line in plan.lines)


def test_the_same_facts_give_the_same_plan():
    assert plan_today(TASKS, FACTS, 20, TODAY) == plan_today(TASKS, FACTS, 20, TODAY)


def test_the_first_day_practises_every_change_in_the_order_of_the_songs():
    plan = plan_today(TASKS, {}, 13, TODAY)
    assert practised(plan) == [need.drill.words for need in NEEDS]
    assert {line.mode for line in plan.lines if line.why is Why.NEW} == {Mode.PRACTISE}


def test_the_change_left_longest_comes_first():
    facts = known(
        evidence("C F", 60, days_ago=1), evidence("F G", 62, days_ago=9), evidence("G Am", 70, days_ago=3)
    )
    assert practised(plan_today(TASKS, facts, 20, TODAY))[:4] == ["Am F", "F G", "G Am", "C F"]


def test_a_change_that_is_ready_is_left_alone_while_others_are_not():
    facts = {**FACTS, **known(G_Am=150)}
    assert "G Am" not in practised(plan_today(TASKS, facts, 30, TODAY))


def test_when_all_are_ready_they_are_gone_round_to_keep_them():
    facts = known(C_F=150, F_G=150, G_Am=150, Am_F=150)
    plan = plan_today(TASKS, facts, 20, TODAY)
    assert set(practised(plan)) == {need.drill.words for need in NEEDS}
    assert {line.why for line in plan.lines} == {Why.WARM_UP, Why.KEPT}


def test_no_block_is_longer_than_three_minutes_where_there_is_more_than_one_change():
    for minutes in (8, 20, 33, 60):
        lines = plan_today(TASKS, FACTS, minutes, TODAY).lines
        assert max(line.minutes for line in lines) <= BLOCK_MIN * 1.5


def test_what_a_teacher_set_is_practised_beside_a_song_that_is_due():
    due = [replace(TASKS[0], by=TODAY + timedelta(days=3)), *TASKS[1:]]
    set_drill = Task(parse_drill("pressure F"), None, ("Week nine",), is_set=True)
    plan = plan_today([*due, set_drill], FACTS, 20, TODAY)
    assert set(practised(plan)) | {line.drill.words for line in plan.lines} >= {"C F", "pressure F"}
    assert {line.drill.words for line in plan.lines} <= {"C F", "pressure F"}


def test_a_plan_begins_with_what_is_next_after_its_warm_up():
    plan = plan_today(TASKS, FACTS, 20, TODAY)
    assert practised(plan)[0] == in_turn(TASKS, FACTS, TODAY)[0].drill.words


def test_ready_asks_for_a_take_and_for_four_in_five():
    need = TASKS[0]
    assert not is_ready(need, {})
    assert not is_ready(need, known(C_F=90))
    assert not is_ready(need, known(evidence("C F", 96, sd=0.15)))
    assert is_ready(need, known(C_F=96))
    assert not is_ready(replace(need, target_bpm=None), known(C_F=300))


def test_what_nothing_asks_a_tempo_of_comes_round_with_the_others():
    set_by_teacher = Task(parse_drill("shared C Am"), None, ("Week 3",))
    plan = plan_today([*TASKS, set_by_teacher], known(C_F=150, F_G=150, G_Am=150, Am_F=150), 20, TODAY)
    assert set(practised(plan)) == {"shared C Am"}


def test_a_song_due_within_two_weeks_is_practised_alone_until_it_is_ready():
    soon = song("C F", 90, "Tin Roof", by=TODAY + timedelta(days=10))
    late = song("G D", 90, "Slow Boat", by=TODAY + timedelta(days=90))
    tasks = [task_of(need) for need in needs_of([soon, late])]
    assert practised(plan_today(tasks, known(C_F=60, G_D=60), 15, TODAY)) == ["C F"]
    assert practised(plan_today(tasks, known(C_F=150, G_D=60), 15, TODAY)) == ["G D"]


def test_a_song_whose_day_has_gone_by_is_practised_no_more_unless_it_is_all_there_is():
    gone = song("C F", 90, "Tin Roof", by=TODAY - timedelta(days=1))
    other = song("G D", 90, "Slow Boat")
    tasks = [task_of(need) for need in needs_of([gone, other])]
    assert practised(plan_today(tasks, {}, 15, TODAY)) == ["G D"]
    assert practised(plan_today(tasks[:1], {}, 15, TODAY)) == ["C F"]


def test_the_warm_up_is_slow_and_of_the_easiest_change():
    first = plan_today(TASKS, FACTS, 20, TODAY).lines[0]
    assert (first.why, first.mode, first.drill.words) == (Why.WARM_UP, Mode.SLOW, "G Am")
    assert first.start_bpm is not None
    assert first.start_bpm < 60


def test_before_anything_was_played_the_warm_up_is_the_easiest_shape():
    book = shape_book()
    first = plan_today(TASKS, {}, 20, TODAY, book).lines[0]
    assert (first.why, first.mode, first.drill.kind) == (Why.WARM_UP, Mode.SLOW, Kind.RE_LAND)
    (chord,) = first.drill.chords
    assert hold_cost(chord, book) == min(hold_cost(other, book) for other in ("C", "F", "G", "Am"))


def test_a_few_minutes_have_no_warm_up():
    assert Why.WARM_UP not in {line.why for line in plan_today(TASKS, FACTS, 3, TODAY).lines}


def test_a_long_session_says_when_to_rest():
    assert plan_today(TASKS, FACTS, 25, TODAY).breaks == ()
    (at, *_) = plan_today(TASKS, FACTS, 45, TODAY).breaks
    assert 17 <= at <= 23


def test_without_songs_there_is_nothing_to_plan_and_no_time_is_refused():
    assert plan_today((), {}, 20, TODAY).lines == ()
    with pytest.raises(ValueError, match="no time"):
        plan_today(TASKS, {}, 0, TODAY)


# --- smaller pieces -----------------------------------------------------------------------


def proposed(facts, changes="C F"):
    needs = needs_of([song(changes, 90)])
    plan = plan_today([task_of(need) for need in needs], facts, 15, TODAY)
    return proposals(plan, ratio_of([need.drill for need in needs], facts), facts, shape_book())


def test_nothing_smaller_is_proposed_while_the_change_moves_or_is_not_known_to_be_flat():
    assert proposed(known(C_F=60, C=120, F=75)) == {}


def test_a_flat_change_that_a_shape_holds_back_is_proposed_as_that_shape_alone():
    facts = known(evidence("C F", 60, flat=True), C=140, F=72)
    ((limit, piece),) = proposed(facts).values()
    assert limit.which is Which.SECOND
    assert piece == parse_drill("F")


FLAT_ALONE = (evidence("C F", 60, flat=True), evidence("F", 72, flat=True))


def test_a_shape_that_is_flat_as_well_is_proposed_to_be_formed_in_the_air():
    ((_, piece),) = proposed(known(*FLAT_ALONE, C=140)).values()
    assert piece == parse_drill("air F")


def test_where_that_is_flat_too_slow_work_is_proposed_in_turn_down_the_neck_where_there_is_a_barre():
    flat, slow = evidence("air F", 72, flat=True), ("ease F", "ring F", "pressure F")
    for played in range(4):
        # The last one was played longest ago, but for those never played.
        since = [evidence(words, 50, days_ago=10 - number) for number, words in enumerate(slow[:played])]
        ((_, piece),) = proposed(known(*FLAT_ALONE, flat, *since, C=140)).values()
        assert piece == parse_drill(slow[played % 3])


def test_a_flat_change_that_the_travel_holds_back_is_proposed_with_less_of_it():
    facts = known(evidence("C Am", 60, flat=True), C=140, Am=140)
    ((limit, piece),) = proposed(facts, "C Am").values()
    assert limit.which is Which.TRAVEL
    assert piece is not None
    assert piece.kind is Kind.SHARED


def test_where_the_limit_is_not_known_the_proposal_is_to_look_for_it():
    facts = known(evidence("C F", 60, flat=True))
    ((limit, piece),) = proposed(facts).values()
    assert limit.which is Which.UNSURE
    assert piece == limit.measure_first
