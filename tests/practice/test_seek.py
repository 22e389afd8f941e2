"""The ladder seek: where it goes, when it ends, and what it says."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.ladders.ladder import LADDERS, climb
from pedaltrainer.practice.ladders.rungs import EndedBy, Ending, Finding, LadderStart
from pedaltrainer.practice.ladders.seek import seek
from pedaltrainer.practice.rules import FIRST
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM
from tests.practice.answers import is_clean, played, take, void

KNOWN = (PastResult(100, 95, 105, 2),)


@pytest.mark.parametrize("name", [name for name in LADDERS if name != "hold"])
def test_every_ladder_but_the_held_one_begins_and_climbs_by_name(name):
    ladder = LADDERS[name](LadderStart(60))
    assert SLOWEST_BPM <= ladder.tempo_bpm <= 60 * 1.36
    assert ladder.ended is None
    assert ladder.answered(take(ladder.tempo_bpm, True)).tempo_bpm > ladder.tempo_bpm


@pytest.mark.parametrize("mode", ["measure", "practise"])
@given(answers=st.text("pf", max_size=14), first_bpm=st.sampled_from([40, 60, 90]), speak_up=st.booleans())
@settings(max_examples=40)
def test_who_begins_gently_begins_there_and_rises_by_no_more_than_that(mode, answers, first_bpm, speak_up):
    start = LadderStart(first_bpm, first_bpm=first_bpm, most_rise=0.15, speak_up=speak_up, mode=mode)
    ladder = seek(start)
    assert ladder.tempo_bpm == first_bpm
    for answer in answers:
        before_bpm = ladder.tempo_bpm
        ladder = ladder.answered(take(before_bpm, answer == "p"))
        # The slowest tempos are whole numbers further apart than that.
        assert ladder.tempo_bpm <= max(before_bpm * 1.15, SLOWEST_BPM + 1)


@pytest.mark.parametrize("name", LADDERS)
@given(answers=st.text("pfv", max_size=30), start=st.integers(20, 300), speak_up=st.booleans())
@settings(max_examples=25)
def test_tempos_are_whole_and_on_the_ladder_whatever_is_answered(name, answers, start, speak_up):
    ladder = LADDERS[name](LadderStart(start, speak_up=speak_up))
    for answer in answers:
        if ladder.ended:
            break
        tempo_bpm = ladder.tempo_bpm
        assert isinstance(tempo_bpm, int)
        assert SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM
        ladder = ladder.answered(void(tempo_bpm) if answer == "v" else take(tempo_bpm, answer == "p"))
    result = ladder.result()
    assert result.ending.by in EndedBy
    if result.interval_bpm:
        assert 0 < result.interval_bpm[0] < result.interval_bpm[1]


@settings(max_examples=40)
@given(st.text("pf", max_size=25), st.sampled_from(["measure", "practise"]))
def test_no_step_up_frightens(answers, mode):
    ladder = seek(LadderStart(60, mode=mode))
    best, failed, run = None, False, 0
    for answer in answers:
        step = 0.12 if (failed and run < 2) or mode == "practise" else 0.35
        assert ladder.tempo_bpm <= (best or 60) * (1 + step)
        if answer == "p":
            best = max(best or 0, ladder.tempo_bpm)
        failed |= answer == "f"
        run = run + 1 if answer == "p" else 0
        ladder = ladder.answered(take(ladder.tempo_bpm, answer == "p"))


@pytest.mark.parametrize("clean_bpm", [45, 84, 170])
def test_it_ends_when_the_clean_tempo_is_known_and_holds_it(clean_bpm):
    last = played(seek(LadderStart(60)), clean_bpm, 300, seed=5, spread=0.03)[-1]
    result = last.result()
    assert result.ending == Ending(EndedBy.WELL_KNOWN, 5)
    low, high = result.interval_bpm
    assert low < clean_bpm < high
    assert (high / low) ** 0.5 <= 1.05
    assert result.finding is Finding.CLEAN_TEMPO
    assert low < result.clean_bpm < high


def test_it_starts_at_what_was_found_before_and_ends_sooner():
    known, new = LadderStart(60, history=KNOWN), LadderStart(60)
    assert 80 <= seek(known).tempo_bpm <= 106
    lengths = [
        np.mean([len(played(seek(start), 100, 200, seed)) for seed in range(16)]) for start in (known, new)
    ]
    assert lengths[0] < lengths[1]


def test_two_clean_takes_in_a_row_let_it_climb_fast_again_after_an_answer_pressed_wrong():
    ladder = seek(LadderStart(60))
    tempos = []
    for answer in "fppppp":
        tempos.append(ladder.tempo_bpm)
        ladder = ladder.answered(take(ladder.tempo_bpm, answer == "p"))
    assert tempos[2] <= tempos[1] * 1.12
    assert tempos[3] > tempos[2] * 1.2


def test_of_a_drill_known_from_before_every_third_take_is_at_the_clean_tempo():
    ladder = seek(LadderStart(60, history=KNOWN))
    chances = []
    for n in range(9):
        chances.append(clean_chance(ladder))
        ladder = ladder.answered(take(ladder.tempo_bpm, n % 3 == 2))
    assert all(chance == pytest.approx(0.8, abs=0.05) for chance in chances[2::3])
    assert np.mean(chances[3::3] + chances[4::3]) < 0.65


def clean_chance(ladder):
    keeps = np.exp(8 * ct.log_keep(math.log(ladder.tempo_bpm)))
    return float((ladder.posterior.mass * keeps).sum())


def test_a_session_of_the_first_logs_is_measured_by_the_rules_of_its_day():
    """The same answers, the tempos of then: no short steps let go, no spread wider than 13 %."""
    first = seek(LadderStart(60, rules=FIRST))
    assert not first.posterior.mass[ct.SPREADS > 0.13].any()
    ladder = climb(first, [take(81, False), take(60, True), take(66, True)])
    assert ladder.tempo_bpm <= 66 * 1.12


def test_a_related_drill_moves_the_estimate_but_not_the_first_tempo():
    related = (PastResult(140, 135, 145, 1, related=True),)
    ladder = seek(LadderStart(60, history=related))
    assert ladder.estimate.bpm > seek(LadderStart(60)).estimate.bpm
    assert ladder.tempo_bpm <= 60 * 1.35


def test_practise_keeps_to_where_takes_come_clean_four_times_in_five():
    ladder = seek(LadderStart(60, mode="practise"))
    rng = np.random.default_rng(2)
    answers = []
    for _ in range(400):
        passed = is_clean(rng, ladder.tempo_bpm, 90)
        answers.append(passed)
        ladder = ladder.answered(take(ladder.tempo_bpm, passed))
        assert ladder.ended is None
    assert np.mean(answers[50:]) == pytest.approx(0.80, abs=0.05)


def test_undoing_is_climbing_without_the_take_exactly():
    start = seek(LadderStart(60, speak_up=True))
    takes = [take(80, True), take(100, False, press_beat=3.2), take(90, True)]
    all_three, two = climb(start, takes), climb(start, takes[:2])
    assert climb(start, takes[:2]) == two != all_three
    assert (climb(seek(LadderStart(60, speak_up=True)), takes[:2]).posterior.mass == two.posterior.mass).all()


def test_a_void_take_changes_nothing():
    ladder = seek(LadderStart(60)).answered(take(80, True))
    assert ladder.answered(void()) is ladder


def test_what_is_asked_sixty_times_a_second_is_found_once():
    ladder = seek(LadderStart(60))
    assert ladder.answered(take(80, True)) is ladder.answered(take(80, True))


# --- odd days ---------------------------------------------------------------


def found(answers, start=60, **more):
    ladder = seek(LadderStart(start, **more))
    for answer in answers:
        ladder = ladder.answered(take(ladder.tempo_bpm, answer == "p"))
    return ladder.result()


def test_nothing_played_is_nothing_found():
    assert found("").finding is Finding.NONE
    assert found("").interval_bpm is None


def test_all_passes_say_above_and_no_number():
    result = found("pppp")
    assert result.finding is Finding.ABOVE
    assert result.clean_bpm is None


def test_all_passes_to_the_top_end_there():
    result = found("p" * 60)
    assert result.ending == Ending(EndedBy.TOP_REACHED)
    assert result.finding is Finding.ABOVE
    assert result.interval_bpm[0] > FASTEST_BPM


def test_all_fails_say_below_and_no_number():
    result = found("fff")
    assert result.finding is Finding.BELOW
    assert result.best_bpm is None
    assert result.clean_bpm is None


def test_all_fails_to_the_bottom_end_there():
    result = found("f" * 60)
    assert result.ending == Ending(EndedBy.BOTTOM_MISSED, 20)
    assert result.finding is Finding.BELOW
    assert result.interval_bpm[1] < SLOWEST_BPM


def test_a_pass_and_a_miss_are_too_early_to_say():
    assert found("pf").finding is Finding.WITHIN
    assert found("pf").clean_bpm is None


def test_alternating_answers_settle_among_the_tempos_tried():
    ladder = seek(LadderStart(60))
    for n in range(40):
        ladder = ladder.answered(take(ladder.tempo_bpm, n % 2 == 0))
    low, high = ladder.result().interval_bpm
    tried = [rung.tempo_bpm for rung in ladder.rungs()]
    assert min(tried) * 0.8 < low < high < max(tried) * 1.1


def test_ten_thousand_takes_are_borne():
    ladder = seek(LadderStart(60, mode="practise"))
    ladder = climb(ladder, [take(90, n % 5 > 0) for n in range(10_000)])
    assert ladder.result().interval_bpm[0] < 90 < ladder.result().interval_bpm[1] * 1.1


@pytest.mark.parametrize(
    "more", [{"mode": "win"}, {"tight": 0.0}, {"practise_chance": 1.0}, {"step_up": 0.0}]
)
def test_a_start_that_is_none_is_refused(more):
    with pytest.raises(ValueError, match=r"mode|shares|step"):
        seek(LadderStart(60, **more))
