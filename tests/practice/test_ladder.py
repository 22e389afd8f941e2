"""The steps ladder: up on a pass, down on a fail, finer after the first turn."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.ladder import Ladder, climb
from pedaltrainer.practice.ladders.rungs import EndedBy, Ending
from pedaltrainer.practice.ladders.steps import Steps
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

DRILL = parse_drill("Am E")


def climbed(ladder: Ladder, answers: str) -> list[Ladder]:
    """The ladders after each answer: p for pass, f for fail, v for void; stops where the ladder does."""
    ladders = [ladder]
    for answer in answers:
        if ladders[-1].ended:
            break
        outcome = {"p": Outcome.PASS_, "f": Outcome.FAIL, "v": Outcome.VOID}[answer]
        ladders.append(ladders[-1].answered(Take(DRILL, ladders[-1].tempo_bpm, 8, outcome)))
    return ladders


def tempos(answers: str, start: int = 60, step: int = 8) -> list[int]:
    return [ladder.tempo_bpm for ladder in climbed(Steps(start, step), answers)]


def test_it_climbs_by_whole_steps_until_the_first_turn():
    assert tempos("ppp") == [60, 68, 76, 84]


def test_after_the_first_turn_the_step_is_half_as_large():
    assert tempos("pppf") == [60, 68, 76, 84, 80]
    assert tempos("pppfp") == [60, 68, 76, 84, 80, 84]


def test_the_step_is_made_finer_once_only():
    assert tempos("pfpfp"[:4], start=60, step=8) == [60, 68, 64, 68, 64]


def test_a_first_fail_is_no_turn():
    assert tempos("ff") == [60, 52, 44]


def test_it_ends_when_the_same_rung_was_failed_twice():
    last = climbed(Steps(60, 8), "pppfpf")[-1]
    assert last.ended == Ending(EndedBy.MISSED_TWICE, 84)
    assert last.result().best_bpm == 80


def test_nothing_passed_is_nothing_reported():
    last = climbed(Steps(24, 8), "fff")[-1]
    assert last.ended
    assert last.result().best_bpm is None


def test_the_top_of_the_ladder_ends_it():
    last = climbed(Steps(296, 8), "pp")[-1]
    assert last.ended == Ending(EndedBy.TOP_REACHED)
    assert last.result().best_bpm == FASTEST_BPM


def test_a_void_take_changes_nothing():
    before = climbed(Steps(60, 8), "pp")[-1]
    assert climbed(Steps(60, 8), "ppv")[-1] == before


@given(st.integers(20, 300), st.integers(1, 40), st.text("pf", max_size=80))
def test_tempos_stay_whole_and_on_the_ladder_whatever_is_answered(start, step, answers):
    for tempo_bpm in tempos(answers, start, step):
        assert SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM
        assert tempo_bpm == int(tempo_bpm)


@given(st.integers(20, 300), st.integers(1, 40), st.text("pf", min_size=1, max_size=80))
def test_the_result_is_the_fastest_rung_that_was_passed(start, step, answers):
    ladders = climbed(Steps(start, step), answers)
    passed = [
        before.tempo_bpm for before, answer in zip(ladders[:-1], answers, strict=False) if answer == "p"
    ]
    assert ladders[-1].result().best_bpm == max(passed, default=None)


@given(st.floats(20, 300), st.integers(30, 120))
def test_every_player_with_a_sharp_limit_is_found_within_a_fine_step(limit_bpm, start):
    ladder: Ladder = Steps(start, 8)
    for _ in range(200):
        if ladder.ended:
            break
        outcome = Outcome.PASS_ if ladder.tempo_bpm <= limit_bpm else Outcome.FAIL
        ladder = ladder.answered(Take(DRILL, ladder.tempo_bpm, 8, outcome))
    assert ladder.ended
    best_bpm = ladder.result().best_bpm
    assert best_bpm is not None or limit_bpm < 24
    if best_bpm is not None and best_bpm < FASTEST_BPM:
        assert best_bpm <= limit_bpm < best_bpm + 8


def test_undoing_is_climbing_without_the_take():
    takes = [Take(DRILL, 60, 8, Outcome.PASS_), Take(DRILL, 68, 8, Outcome.FAIL)]
    assert climb(Steps(60, 8), takes[:1]) == climbed(Steps(60, 8), "p")[-1]
